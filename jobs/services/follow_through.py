"""What follows from entries beyond their job's chain: outcomes, condemnation, follow-up, kit movements, suspension."""

from datetime import datetime
from uuid import UUID

from jobs.domain.bench import Bench
from jobs.domain.effects.applying import TOUCHES
from jobs.domain.ends import ends_of, is_followed_up
from jobs.domain.remembered import Ends, KitIssued
from jobs.domain.rules import r707_forked_across_jobs
from jobs.models.release import Condemnation, FollowUpCompletion, Release
from jobs.queries.job_rows import JobRow
from jobs.queries.photos_awaited import photos_awaited
from jobs.services.move_issued_kits import move_issued_kits
from jobs.services.raise_availability import raise_availability
from jobs.services.write_suspension import THE_RECORD, write_suspension
from shops.domain.access import Grant
from shops.queries.prepared import run

_VERIFIED = """
INSERT INTO verification_outcomes (company_id, id, job_id, entry_id, adjustment, passed, recorded_at)
VALUES (%s, %s, %s, %s, %s, true, %s) ON CONFLICT (company_id, id) DO NOTHING
"""


def state_after(company: UUID, job: JobRow, bench: Bench) -> str:
    """The job's state once the bench is as it is: a follow-up is complete when all photos that it asks for are here."""
    if job.state != "open":
        return job.state
    if bench.concurred_by is not None:
        return "condemned"
    if job.purpose == "follow_up" and is_followed_up(bench) and not photos_awaited(company, bench):
        return "completed"
    return "open"


def follow_through(
    grant: Grant, job: JobRow, bench: Bench, before: Ends, now: datetime, *, state: str, facts_are_new: bool = False
) -> None:
    """Write the rows that the change from `before` to now calls for; `state` is the job's now.

    `facts_are_new`: the job was derived with other facts the last time, so that a kit may have been issued with credit
    since without an entry.
    """
    after = ends_of(bench)
    if state == "completed" and job.state == "open":
        _complete_follow_up(grant, job, bench, now)
    if job.state == "completed":
        _suspend_unfollowed(grant, job, bench, before, after, now)
    if after == before and not facts_are_new:
        return
    if after.verification is not None and after.verification != before.verification:
        record_verification(grant, job, bench, now)
    if after.concurred_by is not None and before.concurred_by is None and after.condemned_by is not None:
        _condemn(grant, job, after.condemned_by, after.concurred_by, now)
    known = () if facts_are_new else before.kits
    issued = [kit for kit in bench.kits if kit.entry not in known and not _has_moved(bench, job, kit)]
    withdrawn = set(before.kits) - set(after.kits)
    if issued or withdrawn:
        move_issued_kits(company=grant.company, job=job, issued=issued, withdrawn=withdrawn)
    if job.purpose == "follow_up" and after.failed_readings - before.failed_readings:
        _suspend_followed(grant, job, bench, now)
    if job.state == "released":
        _suspend_undermined(grant, job, before, after, now)
        _suspend_doubted(grant, job, bench, after.doubted - before.doubted, now)
        if after.released_by is not None:
            _suspend_forked(grant, job, bench, after.forked - before.forked, now)


def _has_moved(bench: Bench, job: JobRow, kit: KitIssued) -> bool:
    """Whether the facts that the job was derived with know of the movement already."""
    found = bench.facts.kits.get(kit.serial)
    return found is not None and any(move.job == job.id and move.at == kit.at for move in found.moves)


def record_verification(grant: Grant, job: JobRow, bench: Bench, now: datetime) -> None:
    """The outcome row that the gate's foreign key needs; its id is the deciding cycle's."""
    if bench.verification is None or bench.adjustment is None:
        return
    run(_VERIFIED, (grant.company, bench.verification, job.id, bench.verification, bench.adjustment, now))


def _condemn(grant: Grant, job: JobRow, condemned_by: UUID, concurred_by: UUID, now: datetime) -> None:
    """A casting is condemned for ever, and once: by an earlier job, or before a late entry threw doubt on it."""
    if Condemnation.objects.filter(top_plate_id=job.top_plate).exists():
        return
    Condemnation.objects.create(
        company_id=grant.company,
        id=concurred_by,
        top_plate_id=job.top_plate,
        job_id=job.id,
        entry_id=condemned_by,
        concurring_entry_id=concurred_by,
        condemned_at=now,
    )
    raise_availability(grant.company, job.unit)


def _complete_follow_up(grant: Grant, job: JobRow, bench: Bench, now: datetime) -> None:
    if job.follows_release is None or bench.last_entry is None:
        return
    FollowUpCompletion.objects.create(
        company_id=grant.company,
        id=bench.last_entry.id,
        release_id=job.follows_release,
        job_id=job.id,
        entry_id=bench.last_entry.id,
        completed_at=now,
    )
    raise_availability(grant.company, job.unit)


def _suspend_followed(grant: Grant, job: JobRow, bench: Bench, now: datetime) -> None:
    """The follow-up found something moved: what was released has not stayed as it was."""
    if job.follows_release is None:
        return
    failed = [
        spec.characteristic.title
        for step in bench.procedure.steps
        for spec in step.readings
        if (step.key, spec.key) in bench.asked
    ]
    write_suspension(
        company=grant.company,
        release=job.follows_release,
        unit=job.unit,
        code="follow_up_failed",
        reason=f"The follow-up found it out of limits: {', '.join(failed)}.",
        recorded_by=THE_RECORD,
        now=now,
    )


_UNFOLLOWED = "What the follow-up found good does not count any more, or was worked on, held or condemned since."


def _suspend_unfollowed(grant: Grant, job: JobRow, bench: Bench, before: Ends, after: Ends, now: datetime) -> None:
    """A follow-up that was complete is so no more, or more was done to it since; a failed reading tells its own."""
    if job.follows_release is None or after.followed_up or after.failed_readings - before.failed_readings:
        return
    if before.followed_up or any(bench.entries[entry].kind in TOUCHES for entry in bench.changed):
        write_suspension(
            company=grant.company,
            release=job.follows_release,
            unit=job.unit,
            code="undermined",
            reason=_UNFOLLOWED,
            recorded_by=THE_RECORD,
            now=now,
        )


_GATE_WAS_CLOSED = "What came to be known after the release shows that a condition of the gate was not met."
_WORKED_SINCE = "An entry says that the coupling was worked on, or held, after the release."


def _suspend_undermined(grant: Grant, job: JobRow, before: Ends, after: Ends, now: datetime) -> None:
    """Late entries may show that the gate was not open, later ones that what was released is no more as it was."""
    if after.released_by is None and before.released_by is not None:
        reason = _GATE_WAS_CLOSED
    elif after.undermining - before.undermining:
        reason = _WORKED_SINCE
    else:
        return
    write_suspension(
        company=grant.company,
        release=Release.objects.values_list("id", flat=True).get(job_id=job.id),
        unit=job.unit,
        code="undermined",
        reason=reason,
        recorded_by=THE_RECORD,
        now=now,
    )


def _suspend_doubted(grant: Grant, job: JobRow, bench: Bench, doubted: frozenset[UUID], now: datetime) -> None:
    """What came in late rests on a gauge that was reported, or a kit that was recalled, when nobody knew of it."""
    readings = [found.doubt.reason for found in bench.measured.values() if found.doubt and found.entry in doubted]
    kit = bench.recalled_kit
    kits = [f"The recalled kit {kit.serial} is in the coupling."] if kit is not None and kit.entry in doubted else []
    for code, reasons in (("gauge_found_bad", readings), ("recalled_kit", kits)):
        if reasons:
            write_suspension(
                company=grant.company,
                release=Release.objects.values_list("id", flat=True).get(job_id=job.id),
                unit=job.unit,
                code=code,
                reason=" ".join(reasons),
                recorded_by=THE_RECORD,
                now=now,
            )


def _suspend_forked(grant: Grant, job: JobRow, bench: Bench, forked: frozenset[UUID], now: datetime) -> None:
    """The phone of an entry of the job went on with the same number on another: one of them may not be its owner's."""
    if not forked:
        return
    twins = (
        r707_forked_across_jobs.finding(bench.entries[entry].signed.device_seq, bench.facts.forks[entry]).what
        for entry in sorted(forked)
    )
    write_suspension(
        company=grant.company,
        release=Release.objects.values_list("id", flat=True).get(job_id=job.id),
        unit=job.unit,
        code=r707_forked_across_jobs.RULE.code,
        reason=" ".join(twins),
        recorded_by=THE_RECORD,
        now=now,
    )
