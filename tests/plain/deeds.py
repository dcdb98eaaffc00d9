"""What was done on a job, in plain values, and the order in which it was done.

Nothing of the engine is imported here or in `model.py`: both say again, from docs/rules.md alone, what it should do.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from tests.plain.revisions import Revision
from tests.plain.things import GAUGES, LOTS, Gauge, Kit

SCOPES = {
    "RM": {"rebuild", "measure", "adjust"},
    "SV": {"rebuild", "measure", "adjust", "verify"},
    "OK": {"rebuild", "measure", "verify"},
    "JD": {"measure", "verify", "release"},
    "EY": {"verify", "release"},
}
"""Who may do what until it is taken from them."""


@dataclass(frozen=True)
class Deed:
    """One entry that was accepted: `at` is the time of the act by the server's clock, before its place is known."""

    id: UUID
    who: str
    phone: str
    number: int
    at: datetime
    kind: str
    says: dict[str, Any]
    digest: str
    previous: str | None
    under: int = 1  # the revision that the phone showed; 0 for none that was ever published

    @property
    def said_kind(self) -> str:
        """The kind that it speaks of: an amendment speaks of another entry's."""
        return str(self.says["content"]["kind"]) if self.kind == "amendment" else self.kind

    @property
    def content(self) -> dict[str, Any]:
        said = self.says["content"] if self.kind == "amendment" else self.says
        return {name: value for name, value in said.items() if name != "evidence"}

    @property
    def photos(self) -> set[str]:
        return set(self.says.get("evidence", ()))


@dataclass
class Taken:
    """What has been taken back: phones and qualifications, each from a time on; kits, gauges, and newer revisions."""

    phones: dict[str, datetime] = field(default_factory=dict)
    people: dict[str, datetime] = field(default_factory=dict)
    kits: dict[str, Kit] = field(default_factory=lambda: {serial: Kit(lot) for serial, lot in LOTS.items()})
    gauges: dict[str, Gauge] = field(default_factory=lambda: {code: Gauge() for code in (*GAUGES, "TK-03")})
    revisions: dict[int, Revision] = field(default_factory=dict)

    def may(self, who: str, scope: str, at: datetime) -> bool:
        since = self.people.get(who)
        return scope in SCOPES[who] and (since is None or at < since)

    def is_good(self, phone: str, at: datetime) -> bool:
        since = self.phones.get(phone)
        return since is None or at < since


def in_order(deeds: Sequence[Deed]) -> list[tuple[datetime, Deed]]:
    """A phone's own numbers rule within it, and its time never runs backwards; between phones time, then id."""
    queues: dict[str, list[tuple[datetime, Deed]]] = {}
    for deed in sorted(deeds, key=lambda one: (one.number, one.id)):
        queue = queues.setdefault(deed.phone, [])
        queue.append((max(deed.at, queue[-1][0]) if queue else deed.at, deed))
    placed = []
    while any(queues.values()):
        first = min((queue for queue in queues.values() if queue), key=lambda queue: (queue[0][0], queue[0][1].id))
        placed.append(first.pop(0))
    return placed
