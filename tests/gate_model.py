"""A tiny model of the gate, written apart from the fold: when may it be open at all?

It believes every act (all are qualified, all gauges are good), so it says yes too often; where it says no, the fold
must say no. Acts come in the order in which they were done, each after the one before.

1. Every step that release rests on was done after the last act that undid it.
2. After the last adjustment, or whatever else undid the verification, one person made cycles 1 to N with every
   observation true, and no cycle in between failed.
3. That person never adjusted, welded or corrected anything on this job before those cycles.
4. No hold is open, nobody paused the job without anybody resuming it, and nobody condemned the casting.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from jobs.domain.procedure import Procedure
from tests.acts import Act
from tests.strategies import Placed


@dataclass
class _Model:
    procedure: Procedure
    done: set[str] = field(default_factory=set)
    touched: set[str] = field(default_factory=set)
    run: list[tuple[str, int]] = field(default_factory=list)
    holds: list[int] = field(default_factory=list)
    paused: bool = False
    condemned: bool = False

    def undo(self, keys: Sequence[str]) -> None:
        waiting, seen = list(keys), set()
        while waiting:
            key = waiting.pop()
            if key in seen or key not in self.procedure.by_key:
                continue
            seen.add(key)
            self.done.discard(key)
            if self.procedure.by_key[key].verification:
                self.run = []
            waiting += self.procedure.by_key[key].voids


def may_be_open(procedure: Procedure, placed: Sequence[Placed]) -> bool:
    """Whether anything but a closed gate is thinkable after these acts."""
    model = _Model(procedure)
    for number, one in enumerate(placed):
        _take(model, one.act, number)
    wanted = {step.key for step in procedure.steps if not (step.is_release or step.optional or step.verification)}
    in_the_way = model.holds or model.paused or model.condemned
    return wanted <= model.done and _verified(model) and not in_the_way


def _take(model: _Model, act: Act, number: int) -> None:
    step = model.procedure.by_key.get(act.step or "")
    if act.kind == "amendment":  # words, not work: what it says counts, and undoes nothing
        model.done.add(act.body["content"].get("step"))
    elif act.kind in {"step", "rework"} and step is not None:
        model.undo([step.key, *step.voids] if act.kind == "rework" else step.voids)
        model.done.add(step.key)
        if step.scope.value == "adjust":
            model.touched.add(act.who)
    elif act.kind in {"reading", "said_step", "said_reading"} and step is not None:
        model.done.add(step.key)
    elif act.kind == "correction":
        model.touched.add(act.who)
        if step is not None:
            model.undo([step.key])
    elif act.kind == "verification_cycle" and step is not None and step.verification:
        _look(model, act, step.verification.observations)
    else:
        _decide(model, act, number)


def _look(model: _Model, act: Act, observations: Sequence[str]) -> None:
    seen = act.body["observations"]
    if set(seen) != set(observations) or not all(seen.values()):
        model.run = []
    elif act.who not in model.touched:
        model.run.append((act.who, act.body["cycle"]))


def _decide(model: _Model, act: Act, number: int) -> None:
    if act.kind == "hold":
        model.holds.append(number)
    elif act.kind == "clear":  # whatever it named: the model believes it named the right one
        del model.holds[-1:]
        model.condemned = False
    elif act.kind == "pause":
        model.paused = True
    elif act.kind in {"resume", "hand_over"}:
        model.paused = False
    elif act.kind == "condemn" and "concurs_with" not in act.body:
        model.condemned = True


def _verified(model: _Model) -> bool:
    verification = next(step.verification for step in model.procedure.steps if step.verification)
    numbers: dict[str, set[int]] = {}
    for who, number in model.run:
        numbers.setdefault(who, set()).add(number)
    return any(made >= set(range(1, verification.cycles + 1)) for made in numbers.values())
