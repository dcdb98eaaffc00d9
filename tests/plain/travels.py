"""Where a job is: which of two shops has it, what was offered to whom, and when a shop gave it away."""

from dataclasses import dataclass, field
from datetime import datetime
from uuid import UUID


@dataclass(frozen=True)
class Offer:
    id: UUID
    to: str
    by: str


@dataclass
class Whereabouts:
    """The shops are A, which had it first, and B; "AB" is somebody who sees to both."""

    here: str = "A"
    offer: Offer | None = None
    given: dict[str, datetime] = field(default_factory=dict)

    def has(self, shops: str) -> bool:
        return self.here in shops

    def takes(self, shops: str, at: datetime) -> bool:
        """A shop sends what was done while it had the job; who has it now, whatever was done."""
        return self.has(shops) or any(at <= since for shop, since in self.given.items() if shop in shops)

    def may_offer(self, shops: str, to: str) -> bool:
        return self.has(shops) and self.offer is None and to != self.here

    def may_accept(self, shops: str, who: str, named: UUID) -> bool:
        """By the other shop, and by somebody else."""
        return self.may_decline(named) and self.offer is not None and self.offer.to in shops and self.offer.by != who

    def may_decline(self, named: UUID) -> bool:
        return self.offer is not None and self.offer.id == named

    def accept(self, now: datetime) -> None:
        if self.offer is not None:
            self.given[self.here] = now
            self.here, self.offer = self.offer.to, None
