"""Photos that a job's entries name, for steps that ask for some, and that have not arrived. The company is entered."""

from uuid import UUID

from jobs.domain.bench import Bench
from jobs.domain.evidence_named import named_files
from jobs.domain.gate import Blocker
from jobs.domain.photos_awaited import photo_blockers
from jobs.queries.evidence_files import arrivals_of


def photos_awaited(company: UUID, bench: Bench) -> tuple[Blocker, ...]:
    """One blocker for each step that waits for photos; nothing is asked where none is named."""
    digests = [one.digest for one in named_files(bench)]
    return photo_blockers(bench, arrivals_of(company, digests)) if digests else ()
