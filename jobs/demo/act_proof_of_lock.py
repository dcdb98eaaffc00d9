"""The afternoon: adjust, verify, pull test; who verifies has not adjusted, and verifies after the last adjustment."""

from uuid import uuid4

import orjson

from jobs.demo.caller import JOSE, Answer
from jobs.demo.readings import SEEN, quantity, typed
from jobs.demo.telling import Tone
from jobs.demo.work import Work

CYCLES = (("13:55", 1), ("13:57", 2), ("13:59", 3), ("14:01", 4))


def adjust(work: Work) -> None:
    work.stage.telling.heading("Adjusting and proving the lock")
    claim = _claims(work)
    early = [work.sign("OK", clock, "verification_cycle", _cycle(n)) for clock, n in (("13:38", 1), ("13:40", 2))]
    turns = {"turns_back": quantity("1 1/4", "turn")}
    work.step("RM", "13:42", "adjust", adjustment=turns, what="Adjust: drag on the test kingpin, back 1 1/4 turns")
    asked_too_early(work)
    _syncs(work, claim, early)


def verify(work: Work) -> bytes:
    """Four cycles and the play, by a second person; the last signed entry."""
    what = "Cycle 1, by the one who adjusted"
    cycle = _cycle(1)
    work.log("RM", "13:50", "verification_cycle", cycle, what=what, without_credit="not_independent")
    for clock, number in CYCLES:
        what = f"Verification cycle {number}: jaws, yoke, handle, daylight"
        work.log("OK", clock, "verification_cycle", _cycle(number), what=what)
    play = typed("play", "0.013", instrument="TK-03", state="test kingpin pushed and pulled")
    reading = {"step": "verify", "readings": [play]}
    last = work.log("OK", "14:04", "reading", reading, what="Play 0.013 in, pushed and pulled")
    _what_if(work)
    return last


def _cycle(number: int) -> dict[str, object]:
    return {"step": "verify", "cycle": number, "observations": SEEN, "instrument": "TK-03"}


def _claims(work: Work) -> str:
    """OK takes the job into the yard, where there is no signal."""
    claim = str(uuid4())
    key = work.stage.phones["OK"].key
    work.pack("OK")
    work.stage.hands["OK"].post(f"jobs/{work.job}/claims", {"id": claim, "key": key})
    work.stage.telling.act("13:36", "OK", "Takes the job offline: the gate waits for his phone", "claimed", Tone.PLAIN)
    return claim


def asked_too_early(work: Work) -> None:
    """JD asks for the release: every unmet condition comes back at once, and nothing is stored."""
    answer = sign_release(work, "13:45")
    work.refused("JD", "13:45", "Release, asked too early", answer, 409, "gate-closed")
    codes = {blocker["code"] for blocker in answer.json().get("blockers", [])}
    wanted = {"no_verification", "device_holds_claim"}
    work.stage.telling.check(wanted <= codes, f"all blockers are listed at once: {sorted(codes)}")


def sign_release(work: Work, clock: str, head: str | None = None) -> Answer:
    """Sign a release over the chain head (as it is now, unless an older one is given) and send it."""
    stage = work.stage
    head = head or stage.offices["lead"].read(f"/v1/jobs/{work.job}")["chain_head"]
    phone = stage.phones["JD"]
    before = phone.sequence, phone.previous
    body = {"chain_head": head, "statement": "Rebuilt by PR-11 and verified. It says nothing of a trailer's kingpin."}
    answer = stage.offices["lead"].send("POST", "/v1/releases", work.sign("JD", clock, "release", body), JOSE)
    if not answer.ok:
        work.forget_last("JD", *before)
    return answer


def _syncs(work: Work, claim: str, early: list[bytes]) -> None:
    """OK's phone comes back with two cycles that he made before RM had adjusted."""
    batch = {"entries": [token.decode() for token in early]}
    results = work.stage.hands["OK"].send("POST", "/v1/entry_batches", orjson.dumps(batch)).json()["results"]
    work.stage.telling.say("13:48: OK's phone has signal again and sends what it holds, in one batch.")
    for clock, number, result in zip(("13:38", "13:40"), (1, 2), results, strict=True):
        work.entries += 1
        what = f"Cycle {number}, made before the adjustment"
        work.tell("OK", clock, what, result.get("entry", result), "prerequisite_missing")
    last = work.stage.phones["OK"].sequence
    work.stage.hands["OK"].post(f"claims/{claim}/ends", {"id": str(uuid4()), "last_sequence": last})


def _what_if(work: Work) -> None:
    """RM asks what another turn of the screw would undo; nothing is stored."""
    phone = work.stage.phones["RM"]
    before = phone.sequence, phone.previous
    body = {"step": "adjust", "reason": "One more turn?", "adjustment": {"turns_back": quantity("1 1/4", "turn")}}
    answer = work.post("RM", work.sign("RM", "14:05", "rework", body), "/v1/entry_previews").json()
    work.forget_last("RM", *before)
    undone = [work.titles[key] for key in answer["would_undo"]]
    work.stage.telling.act("14:05", "RM", "Asks: what if I adjusted once more?", "nothing stored", Tone.PLAIN)
    work.stage.telling.why(f"It would undo: {', '.join(undone)}.", "Then OK would make all four cycles again.")
    work.stage.telling.check(
        "verify" in answer["would_undo"], f"another adjustment would undo the verification: {answer}"
    )
