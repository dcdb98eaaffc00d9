"""The exact answer, where the sweep finds none: look at the states themselves, up to a bound.

Every state that honest work can reach is listed, forward from the empty one; then, backward from release,
every state from which doing steps for credit leads there. A state in the first list and not in the second is
a dead end. The number of states is exponential in the number of steps, hence the bound.
"""

from dataclasses import dataclass

from jobs.domain.proof.acts import Acts

MOST_STATES = 20_000
_LOOKED_AT = 20


@dataclass(frozen=True, slots=True)
class DeadEnd:
    """What was done to get there, what then has credit, and which steps can never have it again."""

    way: tuple[str, ...]
    credited: tuple[str, ...]
    lost: tuple[str, ...]


class TooManyStatesError(Exception):
    """There are more states than the bound: nothing is known."""


def find_dead_end(acts: Acts, most: int = MOST_STATES) -> DeadEnd | None:
    """A dead end few acts away, if possible one that names what is lost; None when there is none.

    Raises `TooManyStatesError` when the states are more than `most`.
    """
    came_from = _reachable(acts, most)
    alive = _leading_to(acts.goal, acts, came_from)
    dead = [state for state in came_from if state not in alive][:_LOOKED_AT]
    found = [_dead_end(acts, came_from, state) for state in dead]
    return next((end for end in found if end.lost), found[0] if found else None)


Origins = dict[int, tuple[int, str] | None]


def _reachable(acts: Acts, most: int) -> Origins:
    found: Origins = {0: None}
    order = [0]
    for state in order:
        for what, following in acts.moves(state):
            if following not in found:
                found[following] = (state, what)
                order.append(following)
        if len(found) > most:
            raise TooManyStatesError
    return found


def _leading_to(goal: int, acts: Acts, states: Origins) -> set[int]:
    before: dict[int, list[int]] = {}
    for state in states:
        for doing in acts.doings:
            if doing.may_be_done(state):
                before.setdefault(doing.done(state), []).append(state)
    alive = {goal} & states.keys()
    waiting = list(alive)
    while waiting:
        for state in before.get(waiting.pop(), ()):
            if state not in alive:
                alive.add(state)
                waiting.append(state)
    return alive


def _dead_end(acts: Acts, came_from: Origins, dead: int) -> DeadEnd:
    way: list[str] = []
    state = dead
    while (origin := came_from[state]) is not None:
        state, what = origin
        way.append(what)
    lost = acts.goal & ~_ever_again(acts, dead)
    return DeadEnd(tuple(reversed(way)), acts.names(dead), acts.names(lost))


def _ever_again(acts: Acts, dead: int) -> int:
    """Every step that has credit in some state that can still be reached by doing steps."""
    seen, waiting, ever = {dead}, [dead], dead
    while waiting and len(seen) < MOST_STATES:
        state = waiting.pop()
        for doing in acts.doings:
            following = doing.done(state)
            if doing.may_be_done(state) and following not in seen:
                seen.add(following)
                waiting.append(following)
                ever |= following
    return ever
