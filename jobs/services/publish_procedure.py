"""Publish a procedure revision: read, prove, store by its digest. Published once, it never changes."""

from dataclasses import dataclass
from datetime import datetime

from django.db import IntegrityError, transaction

from inspections.queries.instrument_facts import instrument_facts
from jobs.domain.procedure import Procedure
from jobs.domain.procedure_document import canonical_bytes, publishable
from jobs.domain.procedure_errors import ProcedureError, ProcedureProblem
from jobs.domain.procedure_warnings import ProcedureWarning, warnings_of
from jobs.models.procedure_revision import ProcedureRevision
from shops.domain.access import Grant
from shops.domain.errors import AlreadyExists, FieldProblem, ProcedureRefused
from shops.services.new_id import new_id


@dataclass(frozen=True, slots=True)
class Published:
    digest: str
    procedure: Procedure
    is_new: bool
    warnings: tuple[ProcedureWarning, ...] = ()


def _told(problem: ProcedureProblem) -> FieldProblem:
    """With the line of the text that was sent, where it has one."""
    where = f"Line {problem.line}: " if problem.line else ""
    return FieldProblem(problem.pointer, f"{where}{problem.message}", problem.cure)


def publish_procedure(*, grant: Grant, text: str, now: datetime) -> Published:
    """Publish the YAML in `text`. ProcedureRefused lists everything that is wrong; the same text again is no error."""
    try:
        document, digest, procedure = publishable(text)
    except ProcedureError as error:
        raise ProcedureRefused(problems=[_told(problem) for problem in error.problems]) from None
    warnings = tuple(warnings_of(procedure, list(instrument_facts().values())))
    if ProcedureRevision.objects.filter(digest=digest).exists():
        return Published(digest, procedure, False, warnings)
    row = ProcedureRevision(
        id=new_id(now),
        company_id=grant.company,
        code=procedure.code,
        revision=procedure.revision,
        digest=digest,
        title=procedure.title,
        coupling=procedure.coupling,
        in_force_from=procedure.in_force_from,
        safety_critical=procedure.safety_critical,
        canonical=canonical_bytes(document).decode(),
        published_at=now,
        published_by=grant.by,
    )
    try:
        with transaction.atomic():
            row.save(force_insert=True)
    except IntegrityError:
        detail = f"{procedure.code} rev {procedure.revision} is published already, with other content."
        cure = "Give the change a revision number of its own."
        raise AlreadyExists(detail, problems=[FieldProblem("/revision", detail, cure)]) from None
    return Published(digest, procedure, True, warnings)
