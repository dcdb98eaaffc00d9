"""Published revisions, parsed once a process: a digest always means the same procedure."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import lru_cache

import orjson
from django.db import connection

from jobs.domain.procedure import Procedure
from jobs.domain.procedure_document import procedure_from_document

FOLLOW_UP = "follow_up"
_CANONICAL = "SELECT canonical FROM procedure_revisions WHERE digest = %s"


def procedure_of(digest: str, purpose: str = "rebuild") -> Procedure:
    """The published revision with this digest in the entered company; for a follow-up job, its follow-up steps.

    The parsed form is kept beside the text's digest, so another company's revision is only ever shared with who
    has published the same bytes.
    """
    with connection.cursor() as cursor:
        cursor.execute(_CANONICAL, [digest])
        row = cursor.fetchone()
    if row is None:
        raise LookupError(digest)
    return parsed(row[0], digest, purpose)


class PublishedProcedures(Mapping[str, Procedure]):
    """The entered company's published revisions by digest, each read when it is asked for: few jobs are ever moved."""

    def __getitem__(self, digest: str) -> Procedure:
        try:
            return procedure_of(digest)
        except LookupError:
            raise KeyError(digest) from None

    def __iter__(self) -> Iterator[str]:
        return iter(_digests())

    def __len__(self) -> int:
        return len(_digests())


def _digests() -> list[str]:
    with connection.cursor() as cursor:
        cursor.execute("SELECT digest FROM procedure_revisions ORDER BY digest")
        return [row[0] for row in cursor.fetchall()]


@lru_cache(maxsize=256)
def parsed(canonical: str, digest: str, purpose: str) -> Procedure:
    procedure = procedure_from_document(orjson.loads(canonical), digest)
    if purpose == FOLLOW_UP and procedure.follow_up is not None:
        return replace(procedure, steps=procedure.follow_up.steps, follow_up=None)
    return procedure
