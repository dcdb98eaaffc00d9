"""Dispatch asks which units may go, takes note of the answer, and opens the follow-up a week later."""

from typing import Any
from uuid import uuid4

import orjson

from jobs.demo.act_morning import UNIT, open_job
from jobs.demo.readings import tightened, typed
from jobs.demo.stage import Stage
from jobs.demo.telling import Tone
from jobs.demo.work import Work

_TONES = {"available": Tone.GOOD, "limited": Tone.HELD_BACK}


def before_release(stage: Stage) -> None:
    """While the job is open the unit may not go, and the answer says why."""
    found = _ask(stage, "12:40")
    stage.telling.check(found["state"] == "not_available", f"in the middle of the rebuild it may not go: {found}")


def after_release(stage: Stage) -> None:
    stage.telling.heading("Dispatch, a machine, asks which of its units may go")
    found = _ask(stage, "14:27")
    stage.telling.check(found["state"] == "limited", f"released, it is limited until the re-torque: {found}")
    _ask_for_all(stage)
    version = found["availability_version"]
    body = {"id": str(uuid4()), "availability_version": version}
    stage.offices["dispatch"].post(f"units/{stage.world.unit(UNIT).id}/acknowledgements", body)
    stage.telling.act("14:29", "DQ", f"Acknowledges unit {UNIT} at availability version {version}", "noted", Tone.GOOD)
    again = _read(stage)
    stage.telling.check(again["acknowledged_version"] == version, f"the acknowledgement is on record: {again}")


def _read(stage: Stage) -> dict[str, Any]:
    found: dict[str, Any] = stage.offices["dispatch"].read(f"/v1/units/{stage.world.unit(UNIT).id}/availability")
    return found


def _ask(stage: Stage, clock: str) -> dict[str, Any]:
    found = _read(stage)
    state = found["state"]
    stage.telling.act(clock, "DQ", f"May unit {UNIT} go?", state.replace("_", " "), _TONES.get(state, Tone.REFUSED))
    for reason in found["reasons"]:
        stage.telling.why(reason["what"], reason["cure"])
    return found


def _ask_for_all(stage: Stage) -> None:
    """All units in one call; one id that nobody has is among them."""
    units = {str(unit.id): unit.number for unit in stage.world.units}
    asked = orjson.dumps({"units": [*units, str(uuid4())]})
    answer = stage.offices["dispatch"].send("POST", "/v1/availability_queries", asked).json()
    states: dict[str, list[str]] = {}
    for item in answer["items"]:
        states.setdefault(item["state"], []).append(units.get(item["unit"], "an id that nobody has"))
    for state, numbers in states.items():
        stage.telling.say(f"{state.replace('_', ' ')}: {', '.join(numbers)}")
    stage.telling.check(states.get("limited") == [UNIT], f"only {UNIT} may go: {states}")
    stage.telling.check(
        states.get("not_found") == ["an id that nobody has"], f"an unknown id is said to be one: {states}"
    )


def retorque(stage: Stage) -> Work:
    """Day 8, 353 miles later: twelve of twelve bolts have not moved."""
    stage.telling.heading(f"Day 8, {stage.calendar.named(8)}: the re-torque, at 412 659 mi (353 mi later)")
    reference = f"FU-{UNIT}-{stage.run:03}"
    work = open_job(stage, revision=4, purpose="follow_up", reference=reference, clock="08:30", day=8)
    unmoved = [typed("bolts-unmoved", "12", unit="1")]
    bolts = [tightened("base-bolts-again", 12, "150", unmoved=12)]
    what = "Base bolts at full torque: 12 of 12 did not move"
    work.step("RM", "09:10", "retorque", readings=unmoved, fasteners=bolts, note="412 659 mi.", what=what)
    head = stage.offices["lead"].read(f"/v1/jobs/{work.job}")
    stage.telling.check(head["state"] == "completed", f"the follow-up job is completed: {head['state']}")
    found = _ask(stage, "09:20")
    stage.telling.check(found["state"] == "available", f"now it may go without limits: {found}")
    return work
