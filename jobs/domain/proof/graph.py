"""A list of steps as a graph: who comes after whom, who takes away whose credit."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from jobs.domain.procedure import Step


def closure(keys: Iterable[str], edges: Mapping[str, Iterable[str]]) -> frozenset[str]:
    """`keys` and all that can be reached from them along `edges`; names without edges are left out."""
    found: set[str] = set()
    waiting = list(keys)
    while waiting:
        key = waiting.pop()
        if key in edges and key not in found:
            found.add(key)
            waiting.extend(edges[key])
    return frozenset(found)


def first_cycle(edges: Mapping[str, Iterable[str]]) -> tuple[str, ...]:
    """A cycle along `edges`, each node once; empty when there is none. Linear in nodes and edges."""
    done: set[str] = set()
    for start in edges:
        path: list[str] = []
        stack = [(start, iter(edges[start]))] if start not in done else []
        while stack:
            key, rest = stack[-1]
            if not path or path[-1] != key:
                path.append(key)
            step = next((other for other in rest if other in edges and other not in done), None)
            if step in path:
                return tuple(path[path.index(step) :])
            if step is None:
                done.add(path.pop())
                stack.pop()
            else:
                stack.append((step, iter(edges[step])))
    return ()


@dataclass(frozen=True)
class Graph:
    """Steps with the closures that the proof asks for; `pointer` is where their list stands."""

    steps: Sequence[Step]
    pointer: str = "/steps"

    @cached_property
    def by_key(self) -> dict[str, Step]:
        return {step.key: step for step in self.steps}

    @cached_property
    def after(self) -> dict[str, tuple[str, ...]]:
        return {step.key: step.after for step in self.steps}

    @cached_property
    def ancestors(self) -> dict[str, frozenset[str]]:
        """For each step, all that it comes after, directly or not."""
        return {key: closure(names, self.after) for key, names in self.after.items()}

    @cached_property
    def voided(self) -> dict[str, frozenset[str]]:
        """For each step, all others that lose their credit when it is done."""
        edges = {step.key: step.voids for step in self.steps}
        return {step.key: closure(step.voids, edges) - {step.key} for step in self.steps}

    def taken_with(self, keys: Iterable[str]) -> frozenset[str]:
        """`keys` and all that lose their credit with them."""
        return closure(keys, {step.key: step.voids for step in self.steps})

    def at(self, key: str, *below: str | int) -> str:
        """The pointer of a step, or of a part of it."""
        index = next(index for index, step in enumerate(self.steps) if step.key == key)
        return "/".join([self.pointer, str(index), *(str(part) for part in below)])

    def named(self, keys: Iterable[str], joint: str = ", ") -> str:
        """Keys in quotation marks, for a message."""
        return joint.join(f"“{key}”" for key in keys)
