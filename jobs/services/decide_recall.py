"""A second person publishes a proposed recall, and its kits are swept in the same transaction; or it is declined."""

from datetime import datetime
from uuid import UUID

from jobs.domain.recall_set import KitReceived
from jobs.domain.second_person import is_same_person
from jobs.models.recall import Recall, RecallDecision
from jobs.queries.recalled_kits import RecallRead, kits_hit, recall_read
from jobs.services.company_lock import LockKey, wait_for_lock
from jobs.services.sweep_recall import sweep_kits
from shops.domain.access import Grant
from shops.domain.errors import BadInput, Conflict, FieldProblem, NotFound, NotPermitted
from shops.services.create_once import Created, Taken, create_once

TAKEN = {"recall_decisions_once": Taken("/id", "The recall has been decided already, under another id.", "Read it.")}
_CONTENT = ("recall_id", "kind", "hits", "reason")


def publish_recall(
    *, grant: Grant, identifier: UUID, recall: UUID, hits: int, reason: str | None, now: datetime
) -> Created[RecallDecision]:
    """`hits` is the number of kits that the publisher was shown. Sent again, it sweeps what has come since.

    Raises NotFound; NotPermitted for who proposed it; Conflict if it takes another number of kits by now, or was
    declined; BadInput if that is not the supplier's number and no reason is given; AlreadyExists.
    """
    found = _found(grant, recall)
    if is_same_person(grant, token=found.token, technician=found.technician, recorded_by=found.recorded_by):
        raise NotPermitted("A second person publishes a recall, not who proposed it.")
    kits = kits_hit(found.wanted)
    row = _decision(grant, identifier, recall, "published", reason, now)
    row.hits = hits
    if not RecallDecision.objects.filter(recall_id=recall).exists():
        _require_count(found, kits, hits, reason)
    created = create_once(row, content=_CONTENT, taken=TAKEN)
    sweep_kits(company=grant.company, recall=found, kits=kits, by=grant.by, now=now)
    return created


def decline_recall(
    *, grant: Grant, identifier: UUID, recall: UUID, reason: str, now: datetime
) -> Created[RecallDecision]:
    """Nothing happens to any kit. Raises NotFound, AlreadyExists once it is decided otherwise."""
    _found(grant, recall)
    row = _decision(grant, identifier, recall, "declined", reason, now)
    return create_once(row, content=_CONTENT, taken=TAKEN)


def _found(grant: Grant, recall: UUID) -> RecallRead:
    wait_for_lock(grant.company, LockKey.KITS)
    row = Recall.objects.filter(id=recall).first()
    if row is None:
        raise NotFound("There is no such recall.")
    return recall_read(row)


def _decision(
    grant: Grant, identifier: UUID, recall: UUID, kind: str, reason: str | None, now: datetime
) -> RecallDecision:
    return RecallDecision(
        id=identifier,
        company_id=grant.company,
        recall_id=recall,
        kind=kind,
        reason=reason,
        decided_at=now,
        recorded_by=grant.by,
    )


def _require_count(recall: RecallRead, kits: list[KitReceived], hits: int, reason: str | None) -> None:
    if len(kits) != hits:
        detail = f"The recall takes {len(kits)} kits by now, not {hits}: look at it again."
        raise Conflict(detail, members={"count": len(kits)})
    if recall.supplier_count not in {None, hits} and not reason:
        detail = f"The supplier speaks of {recall.supplier_count} kits, the recall takes {hits}."
        cure = "Decline it and propose the right set; or send a reason why the numbers differ."
        raise BadInput(detail, problems=[FieldProblem("/reason", detail, cure)])
