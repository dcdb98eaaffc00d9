"""The polynomial argument: one order of work that leads from every state to release.

A *sweep* lists every required step once, with removers between them, so that

1. a step stands after all that it comes after, and before all that it voids, directly or in turn;
2. a step stands before the parts that wall it in;
3. a step that can be walled in stands after a *remover* of that wall: a step that voids the wall and can be
   done again whatever has credit, since each of its own walls has a remover before it.

From any state, go through the list: do each remover, and each step that has no credit. When a step's turn
comes, all that it comes after have credit and keep it (1), and every part that walls it in was taken out and
is not in again (2, 3); so it earns credit. At the end everything that release rests on has credit.

A wall W of S is *harmless* when W never has credit while S has none: a chain leads from S to W along `after`,
in which everything that takes away the credit of a link takes away that of the next. Rule 3 leaves it out.

See docs/procedure-proof.md for the proof and the cost, O(n^3) in the number of steps n.
"""

from dataclasses import dataclass, field

from jobs.domain.procedure import Step
from jobs.domain.proof.acts import Acts


@dataclass(frozen=True, slots=True)
class Blocked:
    """A step that no sweep reaches, and the wall that nothing takes out, if that is why."""

    step: str
    wall: str | None


@dataclass(slots=True)
class Sweep:
    """The list so far; `removed` are walls that a remover in the list takes out."""

    acts: Acts
    order: list[str] = field(default_factory=list)
    removed: set[str] = field(default_factory=set)
    known: dict[tuple[str, str], bool] = field(default_factory=dict)

    def run(self) -> Blocked | None:
        """Build the list; answer the first step that cannot be placed, or None when the sweep is whole."""
        waiting = [step for step in self.acts.procedure.steps if not step.is_release]
        while chosen := self._next(waiting):
            step, again = chosen
            waiting.remove(step)
            self.order.append(step.key)
            if again:
                self.removed |= self.acts.graph.voided[step.key]
        left = [step for step in waiting if not step.optional]
        return self._blocked(left) if left else None

    def _next(self, waiting: list[Step]) -> tuple[Step, bool] | None:
        """The next step to place; one that may be done again whatever has credit goes first."""
        ready = [step for step in waiting if self._is_in_turn(step, waiting) and self._is_early(step)]
        ready.sort(key=lambda step: not step.optional)
        again = next((step for step in ready if self.removed.issuperset(step.walled_in_by)), None)
        if again is not None:
            return again, True
        once = next((step for step in ready if not step.optional and not self._standing(step)), None)
        return (once, False) if once is not None else None

    def _is_in_turn(self, step: Step, waiting: list[Step]) -> bool:
        voided, after = self.acts.graph.voided, set(step.after)
        for other in waiting:
            if other is step:
                continue
            if other.key in after:
                return False
            if step.optional or other.optional:
                continue  # see _is_early
            if step.key in voided[other.key] or step.key in other.walled_in_by:
                return False
        return True

    def _is_early(self, step: Step) -> bool:
        """An optional step never stands after what it voids, or after what walls it in."""
        late = self.acts.graph.voided[step.key] | set(step.walled_in_by)
        return not step.optional or late.isdisjoint(self.order)

    def _standing(self, step: Step) -> list[str]:
        """Walls that may be in when the step's turn comes."""
        walls = [wall for wall in step.walled_in_by if wall not in self.removed]
        return [wall for wall in walls if not self._is_harmless(step.key, wall)]

    def _is_harmless(self, step: str, wall: str) -> bool:
        if (step, wall) not in self.known:
            self.known[step, wall] = is_harmless(self.acts, step, wall)
        return self.known[step, wall]

    def _blocked(self, left: list[Step]) -> Blocked:
        for step in left:
            if self._is_in_turn(step, left):
                return Blocked(step.key, next(iter(self._standing(step)), None))
        return Blocked(left[0].key, None)


def is_harmless(acts: Acts, step: str, wall: str) -> bool:
    """Whether `wall` can have credit only while `step` has it too."""
    taken = [*(doing.takes for doing in acts.doings), *(taking.takes for taking in acts.takings)]
    reached, waiting = {step}, [step]
    while waiting:
        key = waiting.pop()
        for other in acts.procedure.steps:
            if key in other.after and other.key not in reached and _goes_with(acts, taken, key, other.key):
                reached.add(other.key)
                waiting.append(other.key)
    return wall in reached


def _goes_with(acts: Acts, taken: list[int], key: str, other: str) -> bool:
    bit, its = acts.bits([key]), acts.bits([other])
    return all(takes & its for takes in taken if takes & bit)
