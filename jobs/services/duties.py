"""What the worker does for every company, again and again. Add a duty here and the worker has it."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final, Protocol
from uuid import UUID

from jobs.services.complete_follow_ups import complete_follow_ups
from jobs.services.deliver_web_hooks import deliver_web_hooks
from jobs.services.escalate import escalate
from jobs.services.forget_old_uploads import forget_old_uploads
from jobs.services.judge_again import judge_again
from jobs.services.keep_log import keep_log
from jobs.services.remove_evidence import remove_evidence
from jobs.services.report_bad_calibrations import report_bad_calibrations
from jobs.services.tell_due_times import tell_due_times


class DutyToCompany(Protocol):
    """Does some of the work for one company, in transactions of its own; True while more of it waits."""

    def __call__(self, *, company: UUID, now: datetime) -> bool: ...


@dataclass(frozen=True, slots=True)
class Duty:
    """`rest`: how long a company of which nothing waits is left alone, so that many quiet ones cost little."""

    name: str
    run: DutyToCompany
    rest: timedelta = timedelta(0)


_SECOND: Final = timedelta(seconds=1)


DUTIES: Final = (
    Duty("gauges found bad", report_bad_calibrations, _SECOND),
    Duty("facts taken back", judge_again, _SECOND),
    Duty("follow-ups", complete_follow_ups, 2 * _SECOND),
    Duty("escalations", escalate, 5 * _SECOND),
    Duty("due times", tell_due_times, 30 * _SECOND),
    Duty("old uploads", forget_old_uploads, 60 * _SECOND),
    Duty("deleted evidence", remove_evidence, 5 * _SECOND),
    Duty("log", keep_log),
)
"""In the order in which they are done; the log last, so that it has what the others write in the same round.

A duty that fails rests a while, and keeps no other from its turn.
"""

OUTWARD_DUTIES: Final = (Duty("web hooks", deliver_web_hooks),)
"""Done by a thread of its own: they wait for others' servers, and no checkpoint should wait for those."""

REST_AFTER_FAILURE: Final = timedelta(seconds=10)
Resting = dict[tuple[str, UUID], datetime]
"""Until when a duty to a company rests, because it failed or because nothing waits."""


def do_duties(
    *,
    companies: Callable[[], list[UUID]],
    clock: Callable[[], datetime],
    failed: Callable[[Duty, UUID, Exception], None],
    resting: Resting,
    duties: tuple[Duty, ...] = DUTIES,
) -> bool:
    """One round over all companies; True while more work waits. `failed` hears of every duty that raised."""
    more = False
    for company in companies():
        for duty in duties:
            now, key = clock(), (duty.name, company)
            if key in resting and now < resting[key]:
                continue
            try:
                waits = duty.run(company=company, now=now)
                resting[key] = now if waits else now + duty.rest
                more |= waits
            except Exception as error:  # noqa: BLE001 (one company's trouble must not stop the others)
                resting[key] = now + REST_AFTER_FAILURE
                failed(duty, company, error)
    return more
