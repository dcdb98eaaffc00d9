"""Pull test and release; and what others tried on the way: a changed entry, a strange key, another company's token."""

from base64 import urlsafe_b64decode, urlsafe_b64encode
from typing import Any
from uuid import uuid4

import orjson

from jobs.demo.act_photos import late_photo
from jobs.demo.act_proof_of_lock import sign_release
from jobs.demo.caller import JOSE
from jobs.demo.phone import Phone
from jobs.demo.readings import typed
from jobs.demo.stage import today
from jobs.demo.telling import Tone
from jobs.demo.work import Work


def release(work: Work) -> dict[str, Any]:
    """The release document."""
    telling = work.stage.telling
    telling.heading("Pull test and release")
    late_photo(work, "heap")
    head = work.stage.offices["lead"].read(f"/v1/jobs/{work.job}")["chain_head"]
    telling.act("14:08", "JD", "Reads the job to release it", f"head {head[:8]}…", Tone.PLAIN)
    work.step("RM", "14:10", "pull-test")
    answer = sign_release(work, "14:12", head)
    work.refused("JD", "14:12", "Release, signed over what he saw at 14:08", answer, 409, "chain-head-moved")
    answer = sign_release(work, "14:25")
    document: dict[str, Any] = answer.json()
    telling.check(answer.status == 201, f"the release is accepted: {document}")  # noqa: PLR2004
    work.entries += 1
    version, due = document["version"], document["follow_up_due_at"]
    telling.act(
        "14:25", "JD", "Releases the unit: a signed document over the chain head", f"version {version}", Tone.GOOD
    )
    telling.say(f"Limited until the re-torque, due by {due[:10]} at the latest.")
    telling.check(version == 1, f"it is the unit's first release: {document}")
    telling.check(document["limited_until_follow_up"] is True, "the release is limited until the re-torque")
    return document


def attacks(work: Work, last: bytes) -> None:
    """Entries that cannot be trusted as entries are refused and leave nothing behind."""
    telling = work.stage.telling
    telling.heading("Today: what cannot be trusted is refused, and leaves nothing")
    before = work.stage.offices["lead"].read(f"/v1/jobs/{work.job}")["entries"]
    _forged(work, last)
    _strange_key(work)
    _edit(work)
    after = work.stage.offices["lead"].read(f"/v1/jobs/{work.job}")["entries"]
    telling.check(before == after, f"nothing was left of them: {before} entries before, {after} after")
    _foreign_token(work)


def _forged(work: Work, token: bytes) -> None:
    """A note put into an entry that OK signed; the signature stays as it was."""
    header, payload, signature = token.split(b".")
    text = urlsafe_b64decode(payload + b"=" * (-len(payload) % 4))
    content = orjson.loads(text)
    content["note"] = "All well."
    changed = urlsafe_b64encode(orjson.dumps(content)).rstrip(b"=")
    answer = work.post("RM", b".".join((header, changed, signature)))
    what = "Somebody adds “All well.” to an entry that OK signed"
    work.refused("?", today(work.stage), what, answer, 422, "signature-invalid")


def _strange_key(work: Work) -> None:
    stranger = Phone.with_ed25519("?")
    at = work.stage.calendar.at("14:11")
    token = stranger.entry(work.job, work.procedure, "step", at, {"step": "pull-test"})
    answer = work.post("RM", token)
    work.refused("?", today(work.stage), "A phone that nobody enrolled sends an entry", answer, 422, "key-unknown")


def _edit(work: Work) -> None:
    answer = work.stage.offices["administrator"].send("DELETE", f"/v1/jobs/{work.job}/entries")
    what = "An administrator tries to delete the job's entries"
    work.refused("adm", today(work.stage), what, answer, 405, "method-not-allowed")


def _foreign_token(work: Work) -> None:
    """The other company's administrator asks for our job; the answer is that of an id that nobody has."""
    stranger = work.stage.offices["stranger"]
    answer = stranger.get(f"/v1/jobs/{work.job}")
    work.refused("HG", today(work.stage), "Harrowgate's administrator reads our job", answer, 404, "not-found")
    nowhere = stranger.get(f"/v1/jobs/{uuid4()}").json()
    same = {**answer.json(), "request_id": None} == {**nowhere, "request_id": None}
    work.stage.telling.check(same, "another company's job looks exactly like one that does not exist")


def new_phone(work: Work) -> None:
    """RM enrols a second phone, over HTTP: first with a proof that is not the key's, then rightly."""
    stage, person = work.stage, work.stage.world.person("RM")
    stage.telling.heading("Today: RM gets a second phone")
    asked = {"id": str(uuid4()), "technician": str(person.id), "expires_at": stage.soon().isoformat()}
    code = str(stage.offices["lead"].post("enrolment_codes", asked)["code"])
    phone, other = Phone.with_p256("RM"), Phone.with_ed25519("?")
    name = "RM's second phone"
    body = {"id": str(uuid4()), "code": code, "jwk": dict(phone.jwk.canonical), "device_name": name}
    wrong = orjson.dumps({**body, "proof": other.proof(code, name)})
    answer = stage.offices["nobody"].send("POST", "/v1/device_keys", wrong)
    what = "Enrols a key without holding its private half"
    work.refused("RM", today(stage), what, answer, 422, "enrolment-refused")
    made = stage.offices["nobody"].post("device_keys", {**body, "proof": phone.proof(code, name)})
    stage.telling.act(
        today(stage), "RM", "Enrols his second phone with the lead's one-time code", "enrolled", Tone.GOOD
    )
    stage.telling.check(made["thumbprint"] == phone.key, "the key is named by its RFC 7638 thumbprint")
    _dated_back(work, phone)


def _dated_back(work: Work, phone: Phone) -> None:
    """A key counts from its enrolment on: what it dates before that is kept, and counts for nothing."""
    reading = {"step": "as-found", "readings": [typed("as-found-play", "0.30")]}
    token = phone.entry(work.job, work.procedure, "reading", work.stage.calendar.at("07:25"), reading)
    answer = work.stage.hands["RM"].send("POST", "/v1/entries", token, JOSE)
    work.entries += 1
    what = "With it, logs a play of 0.30 in as of day 1, 07:25"
    work.tell("RM", today(work.stage), what, answer.json(), "key_not_valid")
