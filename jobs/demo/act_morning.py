"""The morning: intake, authorisation, strip, clean, cool, inspect the casting, issue the kit."""

from uuid import uuid4

from jobs.demo.act_photos import photo, send_photo
from jobs.demo.readings import bore_diameters, plate_flatness, typed
from jobs.demo.stage import KIT, Stage
from jobs.demo.telling import Tone
from jobs.demo.work import Work, entry_id

UNIT = "4107"


def intake(stage: Stage) -> Work:
    stage.telling.heading(f"Day 1, {stage.calendar.named(1)}, shop A Ashlock: unit {UNIT} comes in")
    work = open_job(stage, revision=4, purpose="rebuild", reference=f"WO-{UNIT}-{stage.run:03}", clock="07:05")
    _fetch(work)
    hold = work.log(
        "RM", "07:08", "hold", {"reason": "Waits for the lead's authorisation."}, what="Hold until it is authorised"
    )
    note = "412 306 mi. Out-of-service tag OOS-A-0391."
    odometer = {"text": "412306", "unit": "mi"}
    work.step("RM", "07:10", "identify", note=note, odometer=odometer, evidence=[photo("tag OOS-A-0391")])
    send_photo(work, "RM", "07:12", "tag OOS-A-0391")
    as_found = [typed("as-found-play", "0.34"), typed("as-found-handle-travel", "3.6")]
    work.log("RM", "07:20", "reading", {"step": "as-found", "readings": as_found}, what="As found: play 0.34 in")
    authorised = {"hold": entry_id(hold), "reason": "Authorised: rebuild by PR-11 rev 4."}
    work.log("JD", "07:35", "clear", authorised, what="Authorises the work, clears the hold")
    return work


def open_job(stage: Stage, *, revision: int, purpose: str, reference: str, clock: str, day: int = 1) -> Work:
    """Dispatch opens a job with its own reference, twice: the second time is the same job."""
    unit, shop = stage.world.unit(UNIT), stage.world.shop("A")
    request = {
        "id": str(uuid4()),
        "shop": str(shop.id),
        "unit": str(unit.id),
        "procedure": "PR-11",
        "revision": revision,
        "purpose": purpose,
        "reference": reference,
    }
    made = stage.offices["dispatch"].post("jobs", request)
    again = stage.offices["dispatch"].post("jobs", request)
    stage.telling.act(
        clock, "DQ", f"Dispatch opens a {purpose.replace('_', '-')} job, reference {reference}", "open", Tone.GOOD
    )
    stage.telling.check(made["id"] == again["id"], "the same request again answers the same job")
    return Work(stage, made["id"], made["procedure"]["digest"], day)


def _fetch(work: Work) -> None:
    """RM's phone takes along all that the job needs offline; cautions come before the step."""
    pack = work.pack("RM")
    found = f"{len(pack['steps'])} steps, {len(pack['people'])} people, {len(pack['instruments'])} instruments"
    work.stage.telling.act("07:06", "RM", "Fetches the job for offline work, in one call", found, Tone.PLAIN)
    step = next(step for step in pack["steps"] if step["key"] == "strip")
    common = pack["procedure"]["cautions"]
    own = [caution for caution in step["cautions"] if caution not in common]
    work.stage.telling.say(
        f"Before every step his phone shows the procedure's {len(common)} cautions ({common[0]} …) and the step's own; "
        f"before “{step['title']}”: {' '.join(own)}"
    )
    work.stage.telling.check(bool(common and own), "the cautions of a step are there before it")


def strip_and_inspect(work: Work) -> None:
    at = work.stage.calendar.at
    work.step("RM", "08:05", "lift-off")
    heap = [typed("pieces-in", "19", unit="1"), typed("pieces-destroyed", "19", unit="1")]
    work.step("RM", "08:55", "strip", started_at=at("08:10").isoformat(), readings=heap, evidence=[photo("heap")])
    work.step("RM", "09:30", "clean", started_at=at("08:56").isoformat())
    work.step("RM", "10:20", "cool", started_at=at("09:35").isoformat())
    readings = [plate_flatness(), bore_diameters()]
    work.log("RM", "10:40", "reading", {"step": "inspect-casting", "readings": readings})
    _casting_is_good(work)
    work.step("RM", "11:00", "base-and-fasteners", evidence=[photo("base")])
    send_photo(work, "RM", "11:02", "base")
    work.step("RM", "11:20", "issue-kit", kit={"serial": KIT}, what=f"Issue the kit {KIT}")


def _casting_is_good(work: Work) -> None:
    found = read_values(work, "inspect-casting")
    work.stage.telling.say(
        f"Flatness by minimum zone {found['flatness']} in (at most 0.060), worst bore {found['bore-elongation']} in "
        "(at most 0.030): the casting may be used. A casting is used as it is or condemned, never repaired."
    )
    work.stage.telling.check(found["bore-elongation"] == "0.008", f"the worst bore is 0.008 in: {found}")
    work.stage.telling.check(found["flatness"].startswith("0.009"), f"the minimum zone is 0.0096 in: {found}")


def read_values(work: Work, step: str) -> dict[str, str]:
    """What the record holds now for the characteristics of a step."""
    steps = work.stage.offices["lead"].read(f"/v1/jobs/{work.job}/steps")["items"]
    readings = next(found["readings"] for found in steps if found["key"] == step)
    return {reading["characteristic"]: str(reading["value"]) for reading in readings}
