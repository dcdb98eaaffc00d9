"""The chain of a phone over all its jobs: which of its numbers never came, which came twice, which do not follow.

Rules, in plain sentences:

- A phone numbers its entries from 1 and names in each the SHA-256 of the one before.
- **A gap** is numbers that never came below one that did, or below the last that the phone told when it ended a claim.
- **A fork** is one number on two entries: the phone was copied, or somebody else has its key.
- **A broken link** is an entry that names another one before it than the one that came: there was a fork, and one
  branch of it was not sent.
- What a phone still holds is for the jobs that it has claimed. Once its key is revoked it can send nothing more of
  what it signs later, and what it had signed is lost unless it comes in after all.

Example: 31 to 33 and 35 came in: 34 is a gap since 35 came in; what was it, and on which job?
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from uuid import UUID


@dataclass(frozen=True, slots=True)
class Link:
    """An entry of a phone, as far as its chain goes; digests in hex."""

    number: int
    entry: UUID
    job: UUID
    received_at: datetime
    digest: str
    previous: str | None


@dataclass(frozen=True, slots=True)
class HeldClaim:
    """A phone's claim on a job. `told` is the last number that it said it had sent; None while the claim is open."""

    id: UUID
    job: UUID
    claimed_at: datetime
    told: int | None
    ended_at: datetime | None


@dataclass(frozen=True, slots=True)
class Gap:
    """Numbers first to last never came. `since` is when that could be seen; `jobs` are those around it, or claimed."""

    first: int
    last: int
    since: datetime
    jobs: tuple[UUID, ...]


@dataclass(frozen=True, slots=True)
class Fork:
    """One number on several entries, the first that came in first."""

    number: int
    links: tuple[Link, ...]

    @property
    def since(self) -> datetime:
        return self.links[1].received_at


@dataclass(frozen=True, slots=True)
class Unsent:
    """The phone may hold entries after number `after` for this job."""

    job: UUID
    claim: UUID
    claimed_at: datetime
    after: int


@dataclass(frozen=True, slots=True)
class DeviceChain:
    """`last` is the highest number that came, 0 for none."""

    last: int
    gaps: tuple[Gap, ...]
    forks: tuple[Fork, ...]
    broken: tuple[Link, ...]
    unsent: tuple[Unsent, ...]


def device_chain(links: Sequence[Link], claims: Sequence[HeldClaim]) -> DeviceChain:
    """`links` in whatever order."""
    by_number: dict[int, list[Link]] = {}
    for link in sorted(links, key=lambda one: (one.number, one.received_at, one.entry)):
        by_number.setdefault(link.number, []).append(link)
    last = max(by_number, default=0)
    return DeviceChain(
        last=last,
        gaps=(*_gaps(by_number, claims), *_tail(by_number, last, claims)),
        forks=tuple(Fork(number, tuple(made)) for number, made in by_number.items() if len(made) > 1),
        broken=tuple(link for made in by_number.values() for link in made if not _follows(link, by_number)),
        unsent=tuple(Unsent(claim.job, claim.id, claim.claimed_at, last) for claim in claims if claim.told is None),
    )


def _gaps(by_number: dict[int, list[Link]], claims: Sequence[HeldClaim]) -> list[Gap]:
    found, before = [], 0
    for number, made in by_number.items():
        if number > before + 1:
            since = min(link.received_at for link in made)
            around = [*by_number.get(before, ()), *made]
            held = [claim.job for claim in claims if claim.claimed_at <= since]
            jobs = tuple(dict.fromkeys([*(link.job for link in around), *held]))
            found.append(Gap(before + 1, number - 1, since, jobs))
        before = number
    return found


def _tail(by_number: dict[int, list[Link]], last: int, claims: Sequence[HeldClaim]) -> list[Gap]:
    """What the phone said that it had sent, and never came."""
    told = [claim for claim in claims if claim.told is not None and claim.ended_at is not None and claim.told > last]
    if not told:
        return []
    since = min(claim.ended_at for claim in told if claim.ended_at is not None)
    jobs = dict.fromkeys([*(link.job for link in by_number.get(last, ())), *(claim.job for claim in told)])
    return [Gap(last + 1, max(claim.told or 0 for claim in told), since, tuple(jobs))]


def _follows(link: Link, by_number: dict[int, list[Link]]) -> bool:
    """Whether it names one of those that came with the number before; what never came says nothing."""
    if link.number == 1:
        return link.previous is None
    before = by_number.get(link.number - 1)
    return before is None or link.previous in {one.digest for one in before}
