"""What is said in plain words, as a phone signs it."""

from collections.abc import Sequence
from typing import Any
from uuid import UUID

from tests.acts import typed
from tests.machine.world import Bench
from tests.plain.procedure import PHOTOS, VALUES
from tests.plain.things import GAUGES


def on_the_wire(bench: Bench, kind: str, says: dict[str, Any], *, again: bool = False) -> dict[str, Any]:
    """`again`: it is said in a follow-up, where the steps have keys of their own."""
    wire = {name: str(value) if isinstance(value, UUID) else value for name, value in says.items()}
    if kind == "reading":
        value, gauge = VALUES[wire.pop("value")], wire.pop("gauge", GAUGES[0])
        wire["readings"] = [typed("jaw-gap-again" if again else "jaw-gap", value, instrument=gauge)]
    elif kind == "verification_cycle":
        seen = {"jaws_round_shank": True, "no_daylight": wire.pop("good")}
        wire |= {"observations": seen, "instrument": "TK-03"}
    elif kind == "correction":
        wire |= {"characteristic": "jaw-gap", "correction": "grind"}
    elif kind == "hand_over" and "to" in wire:
        wire["to"] = str(bench.people[wire["to"]])
    elif kind == "amendment":
        content = dict(wire["content"])
        said = content.pop("kind")
        wire["content"] = {"kind": said, **on_the_wire(bench, said, content, again=again)}
    elif kind == "move":
        wire["revision"] = bench.digest(wire["revision"])
    if again and wire.get("step") == "gap":
        wire["step"] = "gap-again"
    if "kit" in wire:
        wire["kit"] = {"serial": wire["kit"]}
    return wire


def with_photos(body: dict[str, Any], photos: Sequence[str]) -> dict[str, Any]:
    return {**body, "evidence": list(photos)} if body["step"] in PHOTOS and photos else body


def with_turns(body: dict[str, Any], turns: str = "1 1/4") -> dict[str, Any]:
    return {**body, "adjustment": {"turns_back": {"text": turns, "unit": "turn"}}} if body["step"] == "adjust" else body


def with_kit(body: dict[str, Any], kit: str | None) -> dict[str, Any]:
    return {**body, "kit": kit} if body["step"] == "kit" else body
