"""The auditor takes the job as a file and verifies it without a server; then somebody changes one digit in it."""

import base64
import io
import time
from hashlib import sha256
from zipfile import ZIP_DEFLATED, ZipFile

import orjson

from jobs.demo.stage import Stage, today
from jobs.demo.telling import Tone
from jobs.domain.signed_note import read_note_key
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_finding import Kind, Report
from jobs.domain.verification_log import Trust

LOOK_SECONDS = 0.5
MOST_LOOKS = 60
_ALL_MATCHES = 0
_TYPED, _FORGED = b'".219"', b'".210"'


def verify_offline(stage: Stage, job: str, kept: str) -> None:
    """`kept` is a checkpoint that the auditor fetched before."""
    telling = stage.telling
    telling.heading("Today: the auditor verifies without the server")
    log_key = read_note_key(stage.offices["auditor"].read("/v1/log/key")["vkey"])
    trust = Trust(log_keys=(log_key,), checkpoint=kept.encode())
    bundle, report = _bundle(stage, job, trust)
    steps = f"all {len(report.checked)} steps match" if report.exit_code == _ALL_MATCHES else "something is wrong"
    telling.act(today(stage), "NU", f"Verifies the job's bundle, {len(bundle) // 1024} KiB", steps, Tone.GOOD)
    found = [remark.what for remark in report.remarks if remark.kind is not Kind.NOTE]
    telling.check(report.exit_code == _ALL_MATCHES, f"the bundle verifies: {found}")
    forged, position = _one_digit_changed(bundle)
    told = verify_bundle(forged, trust)
    wrong = [remark for remark in told.remarks if remark.kind is Kind.MISMATCH]
    what = f"Somebody makes .219 in entry {position} of the file .210"
    telling.act(today(stage), "?", what, "FOUND", Tone.REFUSED)
    telling.check(bool(wrong) and f"{position:06d}" in wrong[0].where, f"the verifier names the entry: {wrong}")
    if wrong:
        telling.why(wrong[0].what)
    _print(stage, job)


def _bundle(stage: Stage, job: str, trust: Trust) -> tuple[bytes, Report]:
    """The bundle, once the log's worker has signed over all of it."""
    for _ in range(MOST_LOOKS):
        raw = stage.offices["auditor"].get(f"/v1/jobs/{job}/bundle").body
        report = verify_bundle(raw, trust)
        if report.exit_code == _ALL_MATCHES:
            break
        time.sleep(LOOK_SECONDS)
    return raw, report


def _one_digit_changed(bundle: bytes) -> tuple[bytes, int]:
    """The bundle with another value of one reading, its manifest made to fit; and the position of that entry."""
    with ZipFile(io.BytesIO(bundle)) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    name, token = next((n, raw) for n, raw in members.items() if n.endswith(".jws") and _TYPED in _payload(raw))
    header, _, signature = token.split(b".")
    payload = base64.urlsafe_b64encode(_payload(token).replace(_TYPED, _FORGED)).rstrip(b"=")
    members[name] = b".".join((header, payload, signature))
    manifest = orjson.loads(members["manifest.json"])
    manifest["members"][name] = {"sha256": sha256(members[name]).hexdigest(), "size": len(members[name])}
    members["manifest.json"] = orjson.dumps(manifest)
    written = io.BytesIO()
    with ZipFile(written, "w", ZIP_DEFLATED) as archive:
        for member, raw in members.items():
            archive.writestr(member, raw)
    return written.getvalue(), int(name.removeprefix("entries/").removesuffix(".jws"))


def _payload(token: bytes) -> bytes:
    part = token.split(b".")[1]
    return base64.urlsafe_b64decode(part + b"=" * (-len(part) % 4))


def _print(stage: Stage, job: str) -> None:
    answer = stage.offices["auditor"].get(f"/v1/jobs/{job}/printed_record")
    pages = answer.body.count(b"/Type /Page\n")
    stage.telling.act(today(stage), "NU", "Prints the record", f"{pages} pages", Tone.PLAIN)
    stage.telling.check(answer.ok and pages > 0, f"the record is printed: {answer.status}")
