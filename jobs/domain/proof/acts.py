"""What can happen to a job's credit, as a machine over sets of steps.

A state is the set of required steps that have credit, as bits of an integer. See docs/procedure-proof.md.

- Doing a step earns credit when all that it comes after have credit and nothing that walls it in has; it
  takes away the credit of what it voids. A step that only measures may also earn it by a reading, which takes
  nothing away.
- Doing an optional step, under the same condition, only takes away.
- A reading that fails takes away its step's credit; one that calls for rework also that of the step to do
  again and of what that voids; a correction also that of what it voids. These can happen at any time.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import cached_property

from jobs.domain.procedure import Outcome, Procedure, Step
from jobs.domain.proof.graph import Graph


@dataclass(frozen=True, slots=True)
class Doing:
    """A step as an act: bits needed, bits in the way, bits taken away, the bit earned (0 if optional)."""

    key: str
    after: int
    walls: int
    takes: int
    earns: int
    by_reading: bool

    def may_be_done(self, state: int) -> bool:
        return state & self.after == self.after and not state & self.walls

    def done(self, state: int) -> int:
        return state & ~self.takes | self.earns


@dataclass(frozen=True, slots=True)
class Taking:
    """Something found or corrected that takes credit away."""

    what: str
    takes: int


@dataclass(frozen=True)
class Acts:
    """All acts of a procedure whose `after` has no cycle."""

    procedure: Procedure
    graph: Graph

    @cached_property
    def keys(self) -> tuple[str, ...]:
        return tuple(step.key for step in self.procedure.steps if step.key in self.procedure.required)

    @cached_property
    def _bits(self) -> dict[str, int]:
        return {key: 1 << index for index, key in enumerate(self.keys)}

    def bits(self, keys: Iterable[str]) -> int:
        """The state in which exactly these have credit; optional steps and the release have no bit."""
        found = 0
        for key in keys:
            found |= self._bits.get(key, 0)
        return found

    def names(self, state: int) -> tuple[str, ...]:
        return tuple(key for key, bit in self._bits.items() if state & bit)

    @cached_property
    def goal(self) -> int:
        """Everything that release rests on."""
        return self.bits(self.keys)

    @cached_property
    def doings(self) -> tuple[Doing, ...]:
        return tuple(self._doing(step) for step in self.procedure.steps if not step.is_release)

    def _doing(self, step: Step) -> Doing:
        return Doing(
            key=step.key,
            after=self.bits(step.after),
            walls=self.bits(step.walled_in_by),
            takes=self.bits(self.graph.voided[step.key]),
            earns=self.bits([step.key]),
            by_reading=not step.needs_performing and not step.optional,
        )

    @cached_property
    def takings(self) -> tuple[Taking, ...]:
        found: dict[int, Taking] = {}
        for step in self.procedure.steps:
            for what, keys in _takings(step, self.graph):
                found.setdefault(self.bits(keys), Taking(what, self.bits(keys)))
        return tuple(taking for taking in found.values() if taking.takes)

    def moves(self, state: int) -> Iterator[tuple[str, int]]:
        """What honest work can make of a state: a description and the next state, itself left out."""
        for doing in self.doings:
            if doing.may_be_done(state):
                yield doing.key, doing.done(state)
                if doing.by_reading:
                    yield doing.key, state | doing.earns
        for taking in self.takings:
            yield taking.what, state & ~taking.takes


def _takings(step: Step, graph: Graph) -> Iterator[tuple[str, frozenset[str]]]:
    own = frozenset({step.key})
    if step.readings or step.verification:
        yield f"{step.key} fails", own
    for reading in step.readings:
        for band in reading.bands:
            if band.then is Outcome.REWORK and band.rework and band.rework != step.key:
                yield f"{reading.key} calls for {band.rework} again", own | graph.taken_with([band.rework])
        for correction in reading.corrections:
            yield f"{correction.key} is done", graph.taken_with([step.key, *correction.voids])
