"""Several bundles in one file: a unit's history, or an auditor's sample. docs/bundle-format.md tells it to strangers.

Rules, in plain sentences:

- The *population* is the list of all jobs that the selection is about, in the order of their ids; it stands in
  `population.txt`, an id a line, so that everybody can draw again.
- A unit's history has the bundle of every job of the population. A sample has those of the first n jobs in the order
  of SHA-256(seed:job): no language's random generator, a shell can do it.
- Each member `jobs/<id>.zip` is a bundle as it would be alone. All are made in one snapshot, so they state the same
  checkpoint. They are stored, not packed again.

Example: seed "dice 4 1 6", job 0195…07 is ordered by the digest of the text "dice 4 1 6:0195…07".
"""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from hashlib import sha256
from typing import IO, Any, Final
from uuid import UUID
from zipfile import ZIP_STORED, ZipFile

from jobs.domain.bundle import MANIFEST, BundleTooLargeError, member_info
from jobs.domain.canonical_json import canonical_json
from jobs.domain.receipt import utc_text

FORMAT: Final = "rebuild-bundles"
VERSION: Final = 1
POPULATION: Final = "population.txt"
METHOD: Final = "the jobs in the order of the SHA-256 of the text seed:job in hex; the first n of them"
JOB_NAME: Final = re.compile(r"jobs/([0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12})\.zip")
NAME: Final = re.compile(rf"manifest\.json|population\.txt|{JOB_NAME.pattern}")
FILE_LIMIT: Final = 1024 * 1024 * 1024
MEMBERS_LIMIT: Final = 1_000
UNPACKED_LIMIT: Final = 4 * 1024 * 1024 * 1024
EVIDENCE_TOGETHER: Final = 512 * 1024 * 1024
"""How much the photos of all jobs may take, the same share for each."""
SAMPLE_LIMIT: Final = 200
SEED_LIMIT: Final = 100
SEED: Final = re.compile(r"[ -~]{1,100}")


class SelectionKind(StrEnum):
    UNIT = "unit"
    SAMPLE = "sample"


@dataclass(frozen=True, slots=True)
class Selection:
    """What was asked for. `filters` are those that were given; `scope` is what the asker's token narrows to."""

    kind: SelectionKind
    unit: UUID | None = None
    n: int | None = None
    seed: str | None = None
    filters: Mapping[str, str] = field(default_factory=dict)
    scope: Mapping[str, Sequence[str]] = field(default_factory=dict)

    def document(self) -> dict[str, Any]:
        narrowed = {"filters": dict(self.filters), "scope": {name: list(ids) for name, ids in self.scope.items()}}
        if self.kind is SelectionKind.UNIT:
            return {"kind": self.kind.value, "unit": str(self.unit), **narrowed}
        return {"kind": self.kind.value, "n": self.n, "seed": self.seed, "method": METHOD, **narrowed}


@dataclass(frozen=True, slots=True)
class SelectionSource:
    """What the file says beside its bundles; `population` are job ids in lower case."""

    company: UUID
    slug: str
    made_at: datetime
    selection: Selection
    population: Sequence[str]

    def drawn(self) -> list[str]:
        chosen = self.selection
        if chosen.seed is None or chosen.n is None:
            return sorted(self.population)
        return draw(self.population, chosen.seed, chosen.n)


def draw(population: Iterable[str], seed: str, n: int) -> list[str]:
    """The first `n` jobs in the order of the SHA-256 of the text `seed:job`."""
    return sorted(population, key=lambda job: sha256(f"{seed}:{job}".encode()).digest())[:n]


def population_member(population: Iterable[str]) -> bytes:
    return "".join(f"{job}\n" for job in sorted(population)).encode()


def write_selection(file: IO[bytes], source: SelectionSource, bundles: Iterable[tuple[str, bytes]]) -> None:
    """The zip, member by member; `bundles` are (job, its bundle), made as they are written.

    Raises `BundleTooLargeError`.
    """
    listed: dict[str, dict[str, Any]] = {}
    with ZipFile(file, "w", ZIP_STORED) as archive:

        def write(name: str, content: bytes) -> None:
            listed[name] = {"sha256": sha256(content).hexdigest(), "size": len(content)}
            if len(listed) >= MEMBERS_LIMIT or sum(one["size"] for one in listed.values()) > FILE_LIMIT - (1 << 20):
                raise BundleTooLargeError(f"The jobs have more than {MEMBERS_LIMIT} bundles or {FILE_LIMIT} bytes.")
            archive.writestr(member_info(name, ZIP_STORED), content)

        write(POPULATION, population_member(source.population))
        for job, raw in bundles:
            write(f"jobs/{job}.zip", raw)
        archive.writestr(member_info(MANIFEST, ZIP_STORED), selection_manifest(source, listed))


def selection_manifest(source: SelectionSource, listed: Mapping[str, Mapping[str, Any]]) -> bytes:
    return canonical_json(
        {
            "format": FORMAT,
            "version": VERSION,
            "company": {"id": str(source.company), "slug": source.slug},
            "made_at": utc_text(source.made_at),
            "selection": source.selection.document(),
            "members": {name: dict(one) for name, one in listed.items()},
        }
    )
