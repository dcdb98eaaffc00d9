"""One entry at the moment it is judged, with what every rule asks of it worked out once."""

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from jobs.domain.entry import Body, Entry, EntryKind
from jobs.domain.procedure import Scope, Step


@dataclass(frozen=True, slots=True)
class Act:
    """`kind` and `body` are the amended ones where the entry is an amendment; `scope` is what the act needs."""

    entry: Entry
    kind: EntryKind
    body: Body
    step: Step | None
    scope: Scope | None
    at: datetime  # when it was done, by the server's clock; for an amendment, when the amended act was done
    placed: datetime  # its place in the act order
    initials: str
    redo_allowed: bool = False  # a rework, or an amendment

    @property
    def person(self) -> UUID:
        return self.entry.technician

    @property
    def title(self) -> str:
        return self.step.title if self.step else self.kind.value

    @property
    def day(self) -> str:
        """The day of the act as the shop's clock showed it: in the offset that the device sent."""
        return f"{self.at.astimezone(self.entry.performed_at.tzinfo):%Y-%m-%d}"
