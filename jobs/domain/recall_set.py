"""Which kits a recall takes back. All that the set says has to fit; a set that says nothing takes none.

Rules, in plain sentences:

1. A set names a lot, a list of serials, a range of serials or a range of the days on which kits were received. A
   model of coupling narrows it, and is no set by itself.
2. A serial is a text that ends in a number. Serials are in a range if all before the number is the same and the number
   is between the two, both included: K-T2-99 comes before K-T2-100, whatever their letters say.
3. Times are half-open: received from the first, up to but without the second.

Example: serials K-T2-0400 to K-T2-0430 take 31 kits; lot LT-26-009, which the supplier means, takes 7.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

_SERIAL = re.compile(r"(.*?)(\d{1,18})", re.DOTALL | re.ASCII)


@dataclass(frozen=True, slots=True)
class KitReceived:
    """A kit as parts received it."""

    id: UUID
    serial: str
    lot: str
    coupling: str
    received_at: datetime


@dataclass(frozen=True, slots=True)
class RecallSet:
    """None means that this is not asked."""

    coupling: str | None = None
    lot: str | None = None
    serial_from: str | None = None
    serial_to: str | None = None
    serials: frozenset[str] | None = None
    received_from: datetime | None = None
    received_to: datetime | None = None

    def hits(self, kit: KitReceived) -> bool:
        """Whether the recall takes the kit. Ask `problems_of` first."""
        return (
            self.coupling in {None, kit.coupling}
            and self.lot in {None, kit.lot}
            and (self.serials is None or kit.serial in self.serials)
            and (self.serial_from is None or self.serial_to is None or self._is_between(kit.serial))
            and (self.received_from is None or self.received_from <= kit.received_at)
            and (self.received_to is None or kit.received_at < self.received_to)
        )

    def _is_between(self, serial: str) -> bool:
        low, high, found = _parts(self.serial_from or ""), _parts(self.serial_to or ""), _parts(serial)
        if low is None or high is None or found is None:
            return False
        return found[0] == low[0] and low[1] <= found[1] <= high[1]


def problems_of(wanted: RecallSet) -> Iterator[tuple[str, str]]:
    """What is wrong with a set: the member, and why."""
    ranges = (wanted.serial_from, wanted.serial_to)
    times = (wanted.received_from, wanted.received_to)
    if wanted.lot is None and wanted.serials is None and not any(ranges) and not any(times):
        yield "", "A recall names a lot, serials, a range of serials, or when the kits were received."
    if any(ranges):
        yield from _range_problems(*ranges)
    if wanted.received_from and wanted.received_to and wanted.received_from >= wanted.received_to:
        yield "received_to", "This is not after received_from."


def _range_problems(first: str | None, last: str | None) -> Iterator[tuple[str, str]]:
    if first is None or last is None:
        yield "serial_to" if last is None else "serial_from", "A range of serials has two ends."
        return
    low, high = _parts(first), _parts(last)
    if low is None or high is None or low[0] != high[0]:
        yield "serial_to", "Both ends of a range are the same up to the number at their end."
    elif low[1] > high[1]:
        yield "serial_to", "This is before serial_from."


def _parts(serial: str) -> tuple[str, int] | None:
    found = _SERIAL.fullmatch(serial)
    return None if found is None else (found[1], int(found[2]))
