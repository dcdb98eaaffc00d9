"""Photos: named by the signed entry, sent when there is reception, waited for at the gate."""

from jobs.demo.picture import picture, picture_digest
from jobs.demo.telling import Tone
from jobs.demo.work import Work
from jobs.domain.evidence_media import JPEG
from jobs.domain.upload_fields import sha_256_field

_PARTIAL = "application/partial-upload"


def photo(of: str) -> str:
    """The digest of a photo, as an entry names it."""
    return picture_digest(picture(of))


def send_photo(work: Work, who: str, clock: str, of: str) -> None:
    """The whole photo in one request."""
    content = picture(of)
    digest = sha_256_field(photo(of))
    answer = work.stage.hands[who].send("POST", _uploads(work), content, JPEG, Repr_Digest=digest)
    work.stage.telling.act(clock, who, f"Sends the photo of the {of}", "arrived", Tone.GOOD)
    work.stage.telling.check(answer.ok, f"the photo is accepted: {answer.body.decode()}")


def late_photo(work: Work, of: str) -> None:
    """A photo that is still on RM's phone: the gate names it. Then it comes in two parts, with a lost line between."""
    telling, lead = work.stage.telling, work.stage.offices["lead"]
    gate = lead.read(f"/v1/jobs/{work.job}/gate")
    missing = next((found for found in gate["blockers"] if found["code"] == "photo_not_arrived"), None)
    telling.act("14:02", "JD", "Looks at the gate", "CLOSED", Tone.HELD_BACK)
    telling.check(missing is not None, f"the gate waits for the photo of the {of}: {gate}")
    if missing is not None:
        telling.why(missing["what"], missing["cure"])
    _send_in_parts(work, of)
    gate = lead.read(f"/v1/jobs/{work.job}/gate")
    told = [found["code"] for found in gate["blockers"]]
    telling.check("photo_not_arrived" not in told, f"the gate waits for no photo any more: {told}")


def _send_in_parts(work: Work, of: str) -> None:
    telling, hand, content = work.stage.telling, work.stage.hands["RM"], picture(of)
    half = len(content) // 2
    digest = sha_256_field(photo(of))
    begun = hand.send(
        "POST",
        _uploads(work),
        content[:half],
        JPEG,
        Repr_Digest=digest,
        Upload_Complete="?0",
        Upload_Length=str(len(content)),
    )
    upload = str(begun.headers["Location"])
    wrong = hand.send("PATCH", upload, content[half:], _PARTIAL, Upload_Offset="0", Upload_Complete="?1")
    telling.check(wrong.status == 409, f"another offset is refused: {wrong.body.decode()}")  # noqa: PLR2004
    offset = int(hand.send("HEAD", upload).headers["Upload-Offset"])
    telling.act("14:04", "RM", f"His phone lost the line; it asks how far it came: {offset} bytes", "kept", Tone.PLAIN)
    rest = content[offset:]
    done = hand.send("PATCH", upload, rest, _PARTIAL, Upload_Offset=str(offset), Upload_Complete="?1")
    telling.act("14:05", "RM", f"Sends the rest of the photo of the {of}", "arrived", Tone.GOOD)
    telling.check(done.ok and done.json()["complete"], f"the photo has arrived: {done.body.decode()}")


def _uploads(work: Work) -> str:
    return f"/v1/jobs/{work.job}/evidence_uploads"
