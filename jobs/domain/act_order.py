"""Act order: one deterministic total order of a job's entries, whatever order they arrived in.

Rules, in plain sentences:

1. Within a device its own sequence rules; the clock of a device never runs backwards against its sequence.
2. Across devices the skew-corrected time of the act rules.
3. Ties go by the entry's id.

Example: a phone that was offline for a day files its cycles where they happened, not where they arrived.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from heapq import heapify, heappop, heappush

from jobs.domain.entry import Entry

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MICROSECOND = timedelta(microseconds=1)


@dataclass(frozen=True, slots=True)
class Place:
    """An entry's time in microseconds since 1970, corrected for its device's clock and its sequence."""

    at: int
    entry: Entry


def corrected_time(entry: Entry) -> int:
    """Microseconds since 1970: the time of the act by the server's clock."""
    return as_microseconds(entry.performed_at) + entry.skew_ms * 1000


def as_microseconds(at: datetime) -> int:
    return (at - _EPOCH) // _MICROSECOND


def as_datetime(at: int) -> datetime:
    return _EPOCH + timedelta(microseconds=at)


def in_act_order(entries: Iterable[Entry]) -> list[Place]:
    """All entries in act order; O(n log n)."""
    heap = [(places[0].at, places[0].entry.id, places, 0) for places in _by_device(entries) if places]
    heapify(heap)
    ordered: list[Place] = []
    while heap:
        _, _, places, index = heappop(heap)
        ordered.append(places[index])
        if index + 1 < len(places):
            following = places[index + 1]
            heappush(heap, (following.at, following.entry.id, places, index + 1))
    return ordered


def _by_device(entries: Iterable[Entry]) -> list[list[Place]]:
    devices: dict[str, list[Entry]] = {}
    for entry in entries:
        devices.setdefault(entry.key, []).append(entry)
    return [_in_sequence(device) for device in devices.values()]


def _in_sequence(entries: list[Entry]) -> list[Place]:
    entries.sort(key=lambda entry: (entry.signed.device_seq, entry.id))
    places: list[Place] = []
    latest: int | None = None
    for entry in entries:
        at = corrected_time(entry)
        latest = at if latest is None else max(latest, at)
        places.append(Place(latest, entry))
    return places


def place_at_end(ordered: list[Place], entry: Entry) -> Place | None:
    """The place of `entry` if it comes after all of `ordered`, else None: then the order is made anew."""
    at = corrected_time(entry)
    for place in reversed(ordered):
        if place.entry.key == entry.key:
            if place.entry.signed.device_seq >= entry.signed.device_seq:
                return None
            at = max(at, place.at)
            break
    if ordered and not _comes_after(ordered[-1], at, entry):
        return None
    return Place(at, entry)


def _comes_after(last: Place, at: int, entry: Entry) -> bool:
    return at > last.at or (at == last.at and last.entry.key == entry.key)
