"""Midday: the new parts go in, in the one order that works, and the fits are measured."""

from jobs.demo.act_morning import read_values
from jobs.demo.readings import jaw_gap, lock_readings, tightened
from jobs.demo.telling import Tone
from jobs.demo.work import Work


def assemble(work: Work) -> None:
    work.stage.telling.heading("Assembly: the yoke enters from the throat; once the right jaw is in, it cannot")
    work.step("RM", "11:32", "left-jaw")
    wrong = {"pin-paste": "bearing grease"}
    what = "Left jaw pin, pasted with bearing grease"
    work.step("RM", "11:38", "left-jaw-pin", consumables=wrong, without_credit="consumable_not_allowed", what=what)
    cleaned = {"step": "left-jaw-pin", "reason": "Pin cleaned to bare metal.", "consumables": {"pin-paste": "AS-7"}}
    work.log("RM", "11:47", "rework", cleaned, what="Left jaw pin, cleaned, pasted with AS-7")
    what = "Right jaw, while the yoke is on the bench"
    work.step("RM", "11:52", "right-jaw", without_credit="prerequisite_missing", what=what)
    work.stage.telling.say("RM takes the right jaw out again. What he did stays in the record; it earned nothing.")
    work.step("RM", "12:03", "yoke")
    work.step("RM", "12:10", "right-jaw")
    work.step("RM", "12:16", "right-jaw-pin", consumables={"pin-paste": "AS-7"})
    work.step("RM", "12:27", "cam-and-handle")
    _sent_twice(work, work.step("RM", "12:35", "cam-bolt-finger-tight"))


def _sent_twice(work: Work, token: bytes) -> None:
    """The phone did not hear the answer and sends the same bytes again."""
    again = work.post("RM", token)
    held = work.stage.offices["lead"].read(f"/v1/jobs/{work.job}")["entries"]
    telling = work.stage.telling
    telling.act("12:36", "RM", "His phone did not hear the answer and sends the same again", "same entry", Tone.GOOD)
    telling.check(again.status == 200, f"the second POST is answered with the first receipt: {again.status}")  # noqa: PLR2004
    telling.check(held == work.entries, f"one entry results: the job has {held} entries, {work.entries} were logged")


def measure(work: Work) -> None:
    work.stage.telling.heading("Measuring the lock, jaws closed on the test kingpin")
    typo = {"step": "measure-lock", "readings": [jaw_gap("5.6", "5.6", "5.5")]}
    what = "Jaw gap typed as 5.6 in"
    work.log("RM", "12:48", "reading", typo, what=what, without_credit="reading_not_judged")
    right = {"step": "measure-lock", "readings": lock_readings()}
    work.log("RM", "12:55", "reading", right, what="Jaw gap .218 .221 .219, yoke overlap 0.74, handle travel 3.50")
    found = read_values(work, "measure-lock")
    gap = f"{float(found['jaw-gap']):.3f}"
    work.stage.telling.say(
        f"Jaw gap {gap} in: inside 0.180 to 0.260 even with the feeler's uncertainty of 0.0102 taken off both ends."
    )
    work.stage.telling.check(gap == "0.219", f"the gap is 0.219 in: {found}")
    work.step(
        "RM", "13:20", "refit", fasteners=[tightened("base-bolts", 12, "150")], what="Refit on the base, 12 bolts"
    )
    bolt = [tightened("cam-bolt", 1, "120")]
    work.step("RM", "13:35", "cam-bolt-torque", fasteners=bolt, what="Torque the cam bolt, 120 lbf-ft")
