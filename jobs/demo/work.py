"""One job of the story: what people log on it, and whether each entry earns what the story says."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from jobs.demo.caller import JOSE, Answer
from jobs.demo.stage import Stage
from jobs.demo.telling import Tone
from shops.domain.jws import parse_payload, read_compact

LATE = "received_late"
CREDIT, NO_CREDIT = "credit", "STORED, NO CREDIT"


def entry_id(token: bytes) -> str:
    return str(parse_payload(read_compact(token).payload)["entry"])


@dataclass(slots=True)
class Work:
    """A job that is open; `entries` counts what the record must hold of it in the end."""

    stage: Stage
    job: str
    procedure: str
    day: int = 1
    titles: dict[str, str] = field(default_factory=dict)
    entries: int = 0

    def __post_init__(self) -> None:
        steps = self.stage.offices["lead"].read(f"/v1/jobs/{self.job}/steps")["items"]
        self.titles = {step["key"]: step["title"] for step in steps}

    def sign(self, who: str, clock: str, kind: str, body: Mapping[str, Any]) -> bytes:
        at = self.stage.calendar.at(clock, self.day)
        return self.stage.phones[who].entry(self.job, self.procedure, kind, at, body)

    def pack(self, who: str) -> dict[str, Any]:
        """All that the job needs offline; from now on this phone's entries name the log's newest checkpoint."""
        pack: dict[str, Any] = self.stage.hands[who].read(f"/v1/jobs/{self.job}/offline_pack")
        self.stage.phones[who].see(pack["checkpoint"])
        return pack

    def post(self, who: str, token: bytes, path: str = "/v1/entries") -> Answer:
        return self.stage.hands[who].send("POST", path, token, JOSE)

    def log(
        self, who: str, clock: str, kind: str, body: Mapping[str, Any], *, what: str = "", without_credit: str = ""
    ) -> bytes:
        """Sign and post one entry. `without_credit` is the code of the finding that the story expects."""
        token = self.sign(who, clock, kind, body)
        answer = self.post(who, token)
        self.entries += 1
        self.tell(who, clock, what or self.titles.get(body.get("step", ""), kind), answer.json(), without_credit)
        return token

    def step(self, who: str, clock: str, step: str, *, without_credit: str = "", what: str = "", **body: Any) -> bytes:
        return self.log(who, clock, "step", {"step": step, **body}, what=what, without_credit=without_credit)

    def tell(self, who: str, clock: str, what: str, entry: Mapping[str, Any], without_credit: str = "") -> None:
        """Tell an entry's credit or the findings that withhold it, and hold it against the story."""
        telling = self.stage.telling
        findings = entry.get("findings", [])
        if entry.get("credit"):
            telling.act(clock, who, what, CREDIT, Tone.GOOD)
            telling.count(CREDIT)
        else:
            telling.act(clock, who, what, NO_CREDIT, Tone.HELD_BACK)
            telling.count(NO_CREDIT)
        for finding in findings:
            if finding["code"] == LATE:
                continue  # all of the story is received late; that is told once
            telling.why(f"{finding['what']} (rule {finding['rule']})", finding["cure"])
        codes = {finding["code"] for finding in findings}
        if without_credit:
            telling.check(
                entry.get("credit") is False and without_credit in codes,
                f"“{what}” at {clock} is stored without credit ({without_credit}): {entry}",
            )
        else:
            telling.check(entry.get("credit") is True, f"“{what}” at {clock} earns credit: {entry}")

    def refused(self, who: str, clock: str, what: str, answer: Answer, status: int, problem: str) -> None:
        """Tell that something was refused, and check that it was refused for this reason."""
        telling, document = self.stage.telling, answer.json()
        telling.act(clock, who, what, f"REFUSED ({answer.status})", Tone.REFUSED)
        telling.count("REFUSED")
        blockers = document.get("blockers", [])
        for found in [*blockers, *document.get("errors", [])]:
            telling.why(found.get("what") or found["detail"], found["cure"])
        if not blockers and not document.get("errors"):
            telling.why(document["detail"])
        telling.check(
            answer.status == status and document["type"].endswith(f":{problem}"),
            f"“{what}” is refused with {status} {problem}: {document}",
        )

    def forget_last(self, who: str, sequence: int, previous: str | None) -> None:
        """What was refused is not in the record: the phone's own chain goes on from what is."""
        phone = self.stage.phones[who]
        phone.sequence, phone.previous = sequence, previous
