"""How the record speaks: times of the shop, people by initials and name, entries by position, the reader's unit."""

from dataclasses import dataclass
from datetime import UTC, datetime, tzinfo
from typing import Final
from uuid import UUID
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from inspections.domain.typed_reading import TypedValue
from jobs.domain.entry import Entry, EntryKind
from jobs.printed_record.contents import Contents

LONGEST_NAME: Final = 100
KINDS: Final = {
    EntryKind.STEP: "done",
    EntryKind.READING: "reading",
    EntryKind.CORRECTION: "correction",
    EntryKind.REWORK: "rework",
    EntryKind.VERIFICATION_CYCLE: "verification cycle",
    EntryKind.HOLD: "hold",
    EntryKind.CLEAR: "hold cleared",
    EntryKind.PAUSE: "pause",
    EntryKind.RESUME: "resumed",
    EntryKind.HAND_OVER: "hand-over",
    EntryKind.MOVE: "revision",
    EntryKind.AMENDMENT: "amendment",
    EntryKind.CONDEMN: "condemned",
    EntryKind.RELEASE: "release",
}


@dataclass(frozen=True, slots=True)
class Voice:
    """`unit` is the reader's unit of length, None for each characteristic's own."""

    contents: Contents
    zone: tzinfo
    zone_name: str
    unit: str | None
    positions: dict[UUID, int]
    names: dict[str, str]

    def time(self, at: datetime | str | None) -> str | None:
        """In the shop's zone, with its offset: `2026-03-02 07:10:00 -06:00`."""
        if at is None:
            return None
        moment = datetime.fromisoformat(at) if isinstance(at, str) else at
        local = moment.astimezone(self.zone)
        offset = f"{local:%z}"
        return f"{local:%Y-%m-%d %H:%M:%S} {offset[:3]}:{offset[3:5]}"

    def act_time(self, entry: Entry) -> str:
        """When it was done by the server's clock."""
        return self.time(self.contents.bench.times.get(entry.id, entry.performed_at)) or ""

    def person(self, person: UUID | str) -> str:
        """Initials, and the name where the register has one."""
        initials = self.contents.bench.initials(UUID(str(person)))
        name = self.names.get(str(person))
        if not name or name == initials:
            return initials
        return name if name.startswith(f"{initials},") else f"{initials} ({name})"

    def initials(self, entry: Entry) -> str:
        return self.contents.bench.initials(entry.technician)

    def number(self, entry: UUID) -> str:
        """An entry by its position in the job: `#14`."""
        return f"#{self.positions[entry]}" if entry in self.positions else f"entry {entry}"

    def step(self, key: str | None) -> str:
        """A step's title; of a step that the present revision does not have, from the one the job was opened with."""
        if key is None:
            return ""
        opened = self.contents.folded.opened_with.by_key.get(key)
        found = self.contents.bench.step(key) or opened
        return found.title if found else key

    def is_struck(self, entry: UUID) -> bool:
        return entry in self.contents.amended

    def has_credit(self, entry: UUID) -> bool:
        outcome = self.contents.bench.outcomes.get(entry)
        return outcome is not None and outcome.credit


def voice_of(contents: Contents, unit: str | None) -> Voice:
    zone_name = str(contents.shop.get("time_zone") or "UTC")
    zone = _zone(zone_name)
    people = contents.register["people"]
    return Voice(
        contents=contents,
        zone=zone,
        zone_name="UTC" if zone is UTC else zone_name,
        unit=unit or contents.shop.get("length_unit"),
        positions={entry.signed.id: entry.sent.position for entry in contents.entries},
        names={person["id"]: _short(person["name"]) for person in people if person.get("name")},
    )


def _short(name: str) -> str:
    """On one line, and no longer than a name may be on the server."""
    plain = " ".join(name[: 2 * LONGEST_NAME].split())
    return plain if len(plain) <= LONGEST_NAME else plain[:LONGEST_NAME] + "…"


def _zone(name: str) -> tzinfo:
    try:
        return ZoneInfo(name)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        return UTC


def typed(value: TypedValue | None) -> str | None:
    """As it was typed, with its unit."""
    if value is None:
        return None
    return value.text.strip() if value.unit == "1" else f"{value.text.strip()} {value.unit}".strip()
