"""The proof that no state is a dead end, against a search that knows nothing of it.

The oracle below is written from the plain rules alone, with sets of names: it visits every state that honest
work can reach and asks of each whether release can still be reached. The proof must say the same, both ways.
"""

from dataclasses import replace
from datetime import UTC, datetime
from fractions import Fraction

from hypothesis import event, given, settings
from hypothesis import strategies as st

from inspections.domain.characteristic import Characteristic, DecisionRule, Limits, Method, RuleKind
from jobs.domain.procedure import Band, Correction, Direction, Outcome, Procedure, ReadingSpec, Scope, Step
from jobs.domain.proof.acts import Acts
from jobs.domain.proof.dead_ends import dead_end_problems
from jobs.domain.proof.graph import Graph
from jobs.domain.proof.order import cycle_problems, reach_problems, release_problems
from jobs.domain.proof.sweep import Sweep


def step(key, after=(), voids=(), walled_in_by=(), **more):
    return Step(
        key, key, key, Scope.REBUILD, after=tuple(after), voids=tuple(voids), walled_in_by=tuple(walled_in_by), **more
    )


def procedure(*steps):
    return Procedure("P", 1, "p", "C", "0" * 64, datetime(2026, 1, 1, tzinfo=UTC), False, tuple(steps))


def release(*after):
    return replace(step("release", after), scope=Scope.RELEASE)


def reading(rework=None, voids=None):
    bands = [Band(None, False, Fraction(0), True, Outcome.PASS)]
    if rework is not None:
        bands.append(Band(Fraction(0), False, None, False, Outcome.REWORK, rework=rework))
    corrections = ()
    if voids is not None:
        correction = Correction(
            "grind", "g", "g", (), "pad", Direction.DECREASES, Scope.REBUILD, tuple(voids), 3
        )
        corrections = (correction,)
    characteristic = Characteristic(
        "gap", "gap", "length", "in", Method.SINGLE, Limits(None, Fraction(0)), DecisionRule(RuleKind.SIMPLE)
    )
    return ReadingSpec(characteristic, tuple(bands), corrections)


# --- the oracle -------------------------------------------------------------------------------------------


def with_what_they_void(names, steps):
    lost = set()
    while names:
        lost |= set(names)
        names = {other for name in names for other in steps[name].voids} - lost
    return frozenset(lost)


class Oracle:
    def __init__(self, procedure):
        self.steps = {s.key: s for s in procedure.steps}
        self.needed = frozenset(self.rests_on("release"))

    def rests_on(self, key):
        found = set()
        for other in self.steps[key].after:
            found |= {other} | self.rests_on(other)
        return found

    def creditable(self, state, s):
        return set(s.after) <= state and not set(s.walled_in_by) & state

    def do(self, state, s):
        kept = state - with_what_they_void(set(s.voids), self.steps) - {s.key}
        return frozenset(kept | {s.key}) & self.needed

    def work(self, state):
        return {
            self.do(state, s)
            for s in self.steps.values()
            if s.scope is not Scope.RELEASE and self.creditable(state, s)
        }

    def happen(self, state):
        for s in self.steps.values():
            only_read = bool(s.readings) and not s.optional
            if only_read:
                yield state - {s.key}
                if self.creditable(state, s):
                    yield (state | {s.key}) & self.needed
            for r in s.readings:
                for band in r.bands:
                    if band.rework and band.rework != s.key:
                        yield state - {s.key} - with_what_they_void({band.rework}, self.steps)
                for correction in r.corrections:
                    yield state - with_what_they_void({s.key, *correction.voids}, self.steps)

    def closure(self, start, moves):
        seen, waiting = {start}, [start]
        while waiting:
            for following in moves(waiting.pop()):
                if following not in seen:
                    seen.add(following)
                    waiting.append(following)
        return seen

    def states(self):
        return self.closure(frozenset(), lambda state: {*self.work(state), *self.happen(state)})

    def always_ends(self):
        return all(self.needed in self.closure(state, self.work) for state in self.states())

    def each_is_reached(self):
        states = self.states()
        return all(any(self.creditable(state, s) for state in states) for s in self.steps.values())


def told(p):
    lines = [f"{s.key} after {s.after} voids {s.voids} walls {s.walled_in_by}" for s in p.steps]
    more = [(s.key, s.optional, [r.bands[-1].rework for r in s.readings]) for s in p.steps]
    return "\n".join([*lines, str(more)])


def is_proved(p):
    graph = Graph(p.steps)
    order = [*cycle_problems(graph), *release_problems(p, graph), *reach_problems(graph)]
    return not order and not list(dead_end_problems(p, graph))


# --- procedures of up to six steps --------------------------------------------------------------------------


@st.composite
def procedures(draw, most=6, walls=True):
    count = draw(st.integers(2, most))
    keys = [f"s{i}" for i in range(count)]
    optional = draw(st.sets(st.sampled_from(keys), max_size=1))
    steps = []
    for i, key in enumerate(keys):
        earlier = [k for k in keys[:i] if k not in optional]
        others = [k for k in keys if k != key]
        after = draw(st.sets(st.sampled_from(earlier), max_size=2)) if earlier else set()
        later = keys[i + 1 :] or others
        voids = draw(st.sets(st.sampled_from(draw(st.sampled_from([later, later, others]))), max_size=3))
        solid = [k for k in others if k not in optional]
        wall = draw(st.sets(st.sampled_from(solid), max_size=1)) if walls and solid else set()
        readings = ()
        if key not in optional and draw(st.integers(0, 3)) == 0:
            rework = draw(st.none() | st.sampled_from([k for k in keys[: i + 1] if k not in optional]))
            corrected = draw(st.none() | st.sets(st.sampled_from(keys), max_size=2))
            readings = (reading(rework, corrected),)
        steps.append(step(key, sorted(after), sorted(voids), sorted(wall), readings=readings, optional=key in optional))
    used = {k for s in steps if not s.optional for k in s.after}
    ends = [k for k in keys if k not in used and k not in optional]
    return procedure(*steps, release(*ends))


@settings(max_examples=1500, deadline=None)
@given(procedures())
def test_the_proof_and_a_search_of_all_states_agree_both_ways(p):
    oracle = Oracle(p)
    proved, ends = is_proved(p), oracle.always_ends() and oracle.each_is_reached()
    event(f"proved={proved}")
    assert proved == ends, told(p)


@settings(max_examples=1500, deadline=None)
@given(procedures())
def test_what_the_sweep_alone_proves_is_true(p):
    graph = Graph(p.steps)
    if list(release_problems(p, graph)) or list(reach_problems(graph)):
        return
    if Sweep(Acts(p, graph)).run() is None:
        event("swept")
        assert Oracle(p).always_ends()
    else:
        event("not swept, ends anyway" if Oracle(p).always_ends() else "not swept, dead end")
