"""Plays the story of a clean rebuild from intake to release, re-torque and proof, against a running server."""

from datetime import datetime

from jobs.demo.act_assembly import assemble, measure
from jobs.demo.act_auditor import audit
from jobs.demo.act_bundle import verify_offline
from jobs.demo.act_dispatch import after_release, before_release, retorque
from jobs.demo.act_log import prove_release
from jobs.demo.act_morning import intake, strip_and_inspect
from jobs.demo.act_proof_of_lock import adjust, verify
from jobs.demo.act_release import attacks, new_phone, release
from jobs.demo.stage import Stage, set_stage
from jobs.demo.telling import Telling

LEAST_SHOWN = 6
"""How many things stored without credit or refused the story must show."""


def play(base: str, telling: Telling, now: datetime) -> tuple[Stage, str]:
    """The stage as it is left, and the id of the job that was played.

    All that is told is what the server at `base` answered; `telling.surprises` says what came out otherwise.
    """
    telling.heading("A rebuild of one coupling, told by the record")
    telling.say(
        "The world of this demo is invented: its companies, people, couplings and procedures, and every limit. "
        "Nothing in it is a value to work to. The record checks; it does not replace the coupling maker's current "
        "instructions, local codes, or licensed and qualified people."
    )
    stage = set_stage(base, telling, now)
    calendar = stage.calendar
    telling.say(
        f"The story keeps its times of day (shop A, {calendar.zone.key}) and runs from {calendar.named(1)} to "
        f"{calendar.named(8)}. It is told now, so the server receives all of it now: its receipts say so, and every "
        "entry is flagged as received late, which is not repeated below (rule 702). The three phones "
        "of the story are enrolled by the demo as of three days before; all else goes over HTTP."
    )
    work = intake(stage)
    strip_and_inspect(work)
    assemble(work)
    before_release(stage)
    measure(work)
    adjust(work)
    last = verify(work)
    released = release(work)
    after_release(stage)
    follow_up = retorque(stage)
    new_phone(work)
    attacks(work, last)
    audit(stage, (work, follow_up))
    kept = prove_release(stage, released["id"])
    if kept is not None:
        verify_offline(stage, work.job, kept)
    _weigh(telling)
    return stage, work.job


def _weigh(telling: Telling) -> None:
    held_back = sum(number for kind, number in telling.shown.items() if kind != "credit")
    telling.check(held_back >= LEAST_SHOWN, f"at least {LEAST_SHOWN} things are held back or refused: {held_back}")
    telling.heading("In the end")
    if telling.surprises:
        telling.say(f"{len(telling.surprises)} things came out other than the story says; they are marked above.")
    else:
        shown = ", ".join(f"{number} {kind.lower()}" for kind, number in telling.shown.items())
        telling.say(f"All came out as the story says ({shown}).")
