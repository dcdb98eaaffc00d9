"""Where to look next: addresses, tokens to try, and commands that work while the server runs."""

from jobs.demo.act_morning import UNIT
from jobs.demo.stage import Stage

_FACES = (
    ("dispatch", "May unit {unit} go?", "/v1/units/{id}/availability"),
    ("lead", "Which jobs are there, and how far?", "/v1/jobs"),
    ("quality", "Which procedures are published?", "/v1/procedure_revisions"),
    ("auditor", "Everything that was ever recorded, with the bytes as signed", "/v1/entries.ndjson"),
    ("technician", "What does a phone's token reach?", "/v1/me"),
)


def where_to_look(stage: Stage, *, stays: bool) -> None:
    telling = stage.telling
    telling.heading("Where to look next")
    if stays:
        telling.say(f"The server runs until you press Ctrl-C. The whole API, to try out: {stage.base}/docs")
    else:
        telling.say(
            "The server of the demo has stopped; the data stays. `python manage.py serve` starts it again at "
            "http://127.0.0.1:8300, with the API to try out at /docs."
        )
    base = stage.base if stays else "http://127.0.0.1:8300"
    telling.plain("")
    unit = stage.world.unit(UNIT)
    for role, question, path in _FACES:
        token = (stage.hands["RM"] if role == "technician" else stage.offices[role]).token
        telling.plain(f"  # {role}: {question.format(unit=UNIT)}")
        telling.plain(f"  curl -H 'Authorization: Bearer {token}' {base}{path.format(id=unit.id)}")
    telling.plain("")
    telling.say(f"An administrator of this run: {stage.offices['administrator'].token}")
