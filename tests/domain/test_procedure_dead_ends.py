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
        correction = Correction("grind", "g", "g", (), "pad", Direction.DECREASES, Scope.REBUILD, tuple(voids), 3)
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
            self.do(state, s) for s in self.steps.values() if s.scope is not Scope.RELEASE and self.creditable(state, s)
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
    order = [*cycle_problems(graph), *release_problems(p, graph), *reach_problems(p, graph)]
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


@settings(max_examples=400, deadline=None)
@given(procedures())
def test_the_proof_and_a_search_of_all_states_agree_both_ways(p):
    oracle = Oracle(p)
    proved, ends = is_proved(p), oracle.always_ends() and oracle.each_is_reached()
    event(f"proved={proved}")
    assert proved == ends, told(p)


@settings(max_examples=400, deadline=None)
@given(procedures())
def test_what_the_sweep_alone_proves_is_true(p):
    graph = Graph(p.steps)
    if list(release_problems(p, graph)) or list(reach_problems(p, graph)):
        return
    if Sweep(Acts(p, graph)).run() is None:
        event("swept")
        assert Oracle(p).always_ends()
    else:
        event("not swept, ends anyway" if Oracle(p).always_ends() else "not swept, dead end")


@settings(max_examples=300, deadline=None)
@given(procedures(most=5))
def test_from_any_credits_whatever_logging_steps_leads_to_release(p):
    graph = Graph(p.steps)
    if list(release_problems(p, graph)) or list(reach_problems(p, graph)) or Sweep(Acts(p, graph)).run():
        return
    event("swept")
    oracle = Oracle(p)

    def log(state):
        for s in oracle.steps.values():
            if s.scope is not Scope.RELEASE:
                kept = state - with_what_they_void({s.key, *s.voids}, oracle.steps)
                yield frozenset(kept | {s.key} if oracle.creditable(state, s) else kept) & oracle.needed

    needed = sorted(oracle.needed)
    for bits in range(1 << len(needed)):
        start = frozenset(key for i, key in enumerate(needed) if bits >> i & 1)
        assert oracle.needed in oracle.closure(start, log), told(p)


def refusals(p):
    return list(dead_end_problems(p, Graph(p.steps)))


def test_a_part_that_may_be_fitted_before_the_one_it_walls_in_is_a_dead_end():
    p = procedure(
        step("bench"),
        step("yoke", ["bench"], walled_in_by=["right-jaw"]),
        step("right-jaw", ["bench"]),
        release("yoke", "right-jaw"),
    )
    (problem,) = refusals(p)
    assert problem.steps == ("yoke", "right-jaw")
    assert problem.pointer == "/steps/1/walled_in_by/0"
    assert "bench then right-jaw" in problem.message


def test_a_wall_that_comes_after_what_it_walls_in_is_no_dead_end():
    p = procedure(step("yoke", walled_in_by=["right-jaw"]), step("right-jaw", ["yoke"]), release("right-jaw"))
    assert refusals(p) == []


def test_voiding_a_part_and_not_what_walls_it_in_is_a_dead_end():
    def steps(*voids):
        return procedure(
            step("yoke", walled_in_by=["right-jaw"]),
            step("right-jaw", ["yoke"]),
            step("wash", voids=voids, optional=True),
            release("right-jaw"),
        )

    (problem,) = refusals(steps("yoke"))
    assert problem.steps == ("yoke", "right-jaw")
    assert "yoke then right-jaw then wash" in problem.message
    assert refusals(steps("yoke", "right-jaw")) == []


def test_a_step_that_voids_what_it_rests_on_for_good_is_refused_by_name():
    p = procedure(
        step("yoke", walled_in_by=["right-jaw"]),
        step("right-jaw", ["yoke"]),
        step("wash", ["right-jaw"], ["yoke"]),
        release("wash"),
    )
    (problem,) = refusals(p)
    assert problem.steps == ("yoke", "right-jaw")


def test_a_correction_that_takes_a_part_and_not_its_wall_is_a_dead_end():
    def steps(voids):
        return procedure(
            step("yoke", walled_in_by=["right-jaw"]),
            step("right-jaw", ["yoke"]),
            step("measure", ["right-jaw"], readings=(reading(voids=voids),)),
            release("measure"),
        )

    assert [problem.steps for problem in refusals(steps(["yoke"]))] == [("yoke", "right-jaw")]
    assert refusals(steps(["yoke", "right-jaw"])) == []


def test_rework_of_a_walled_part_needs_a_way_to_take_the_wall_out():
    def steps(*voids, take_out=()):
        return procedure(
            step("yoke", voids=voids, walled_in_by=["right-jaw"]),
            step("right-jaw", ["yoke"]),
            step("measure", ["right-jaw"], readings=(reading(rework="yoke"),)),
            *take_out,
            release("measure"),
        )

    assert [problem.steps for problem in refusals(steps())] == [("yoke", "right-jaw")]
    assert refusals(steps("right-jaw")) == []
    way_out = step("take-out-the-right-jaw", voids=["right-jaw"], optional=True)
    assert refusals(steps(take_out=[way_out])) == []


def test_two_steps_that_undo_each_other_are_refused_by_name():
    p = procedure(step("a", voids=["b"]), step("b", voids=["a"]), release("a", "b"))
    assert [problem.steps for problem in reach_problems(p, Graph(p.steps))] == [("a", "b")]


def test_a_step_that_must_be_done_twice_is_proved_by_the_search():
    p = procedure(step("clean"), step("grind", ["clean"], ["clean"]), release("clean", "grind"))
    assert Sweep(Acts(p, Graph(p.steps))).run() is not None
    assert refusals(p) == []
    assert Oracle(p).always_ends()


def test_a_step_that_comes_after_its_own_wall_can_never_be_reached():
    p = procedure(
        step("right-jaw"),
        step("pin", ["right-jaw"]),
        step("yoke", ["pin"], walled_in_by=["right-jaw"]),
        release("yoke"),
    )
    assert [problem.steps for problem in reach_problems(p, Graph(p.steps))] == [("yoke", "right-jaw")]
    assert not Oracle(p).each_is_reached()
