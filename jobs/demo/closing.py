"""Where to look next: addresses, tokens to try, and commands that work while the server runs."""

import sys

from jobs.demo.act_morning import UNIT
from jobs.demo.stage import Stage

SERVE_ADDRESS = "http://127.0.0.1:8300"
_TOKENS = {
    "PHONE": "RM's phone",
    "LEAD": "JD, lead of shop A",
    "QUALITY": "PI, quality",
    "DISPATCH": "DQ, dispatch",
    "AUDITOR": "NU, auditor",
    "ADMINISTRATOR": "the administrator of this run",
}
_QUESTIONS = (
    ("PHONE", "what a job needs, cautions first", "/v1/jobs/$JOB/steps"),
    ("LEAD", "what is stuck, and how far each job is", "/v1/jobs"),
    ("LEAD", "what stood, or stands, between a job and its release", "/v1/jobs/$JOB/gate"),
    ("QUALITY", "the published procedures", "/v1/procedure_revisions"),
    ("DISPATCH", "may unit 4107 go?", "/v1/units/$UNIT/availability"),
    ("AUDITOR", "everything that was recorded, with the bytes as signed", "/v1/entries.ndjson"),
    ("AUDITOR", "the signed state of the log, to be kept", "/v1/log/checkpoints/latest"),
)
_FETCH = 'curl -H "Authorization: Bearer $AUDITOR" -w "%{size_download} bytes\\n"'


def where_to_look(stage: Stage, job: str, *, stays: bool) -> None:
    telling, base = stage.telling, stage.base if stays else SERVE_ADDRESS
    telling.heading("Where to look next")
    if stays:
        telling.say(f"The server runs until you press Ctrl-C. The whole API, to try out: {base}/docs")
    else:
        telling.say(
            "The demo's own server stops now; the data stays. Start `manage.py serve` to go on looking: it serves at "
            f"{base}, with the API to try out at {base}/docs."
        )
    telling.plain(f"\n    export API={base} UNIT={stage.world.unit(UNIT).id} JOB={job}")
    telling.plain("\n  Tokens to try")
    for name, who in _TOKENS.items():
        telling.plain(f"  {who}")
        telling.plain(f"    export {name}={_token(stage, name)}")
    telling.plain("\n  Questions to ask with them")
    for name, question, path in _QUESTIONS:
        telling.plain(f"  {question}")
        telling.plain(f'    curl -H "Authorization: Bearer ${name}" "$API{path}"')
    telling.plain("  the printed record; and the job as a file, to be verified without the server")
    telling.plain(f'    {_FETCH} -o /tmp/record.pdf "$API/v1/jobs/$JOB/printed_record"')
    telling.plain(f'    {_FETCH} -o /tmp/job.zip "$API/v1/jobs/$JOB/bundle"')
    log_key = stage.offices["auditor"].read("/v1/log/key")["vkey"]
    telling.plain(f"    {sys.executable} -m jobs.verify /tmp/job.zip --log-key '{log_key}'")
    telling.plain("\n  These tokens are the demo's own, and expire; a real one is shown once, to the one who holds it.")


def _token(stage: Stage, name: str) -> str:
    caller = stage.hands["RM"] if name == "PHONE" else stage.offices[name.lower()]
    return str(caller.token)
