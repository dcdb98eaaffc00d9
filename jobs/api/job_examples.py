"""Examples from the invented world for the job resources."""

from typing import Any

from jobs.api.entry_answers import RECORDED_EXAMPLE
from jobs.api.log_schemas import CHECKPOINT
from jobs.api.next_inspection import INSPECTION

JOB_ID = "019cadd4-0a80-7f00-8a41-07a1b2c3d4e5"
DIGEST = "6198fa40b1c2d3e4f5061728394a5b6c7d8e9f00112233445566778899aabbcc"
HEAD = "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7"
THUMBPRINT = "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"

JOB_REQUEST: dict[str, Any] = {
    "id": JOB_ID,
    "shop": "019ca000-0000-7000-8000-00000000000a",
    "unit": "019ca000-0000-7000-8000-000000004107",
    "procedure": "PR-11",
    "reference": "WO-4107-03",
}
JOB: dict[str, Any] = {
    "id": JOB_ID,
    "state": "open",
    "purpose": "rebuild",
    "reference": "WO-4107-03",
    "opened_at": "2026-03-02T13:10:00Z",
    "opened_by": "dispatch: DQ",
    "entries": 12,
    "chain_head": HEAD,
    "version": 13,
    "summary": {"steps": 24, "credited": 11, "holds": 0, "paused": False, "failed_cycles": 0},
    "shop": {"id": JOB_REQUEST["shop"], "code": "A", "time_zone": "America/Chicago"},
    "unit": {"id": JOB_REQUEST["unit"], "number": "4107", "vin": "ZZZBW1T22NA004107"},
    "casting_serial": "CS-41070",
    "coupling": "BW-T2",
    "procedure": {"code": "PR-11", "revision": 4, "digest": DIGEST},
}
STEP: dict[str, Any] = {
    "key": "right-jaw",
    "cautions": ["Keep hands out of the throat: the yoke spring closes the jaws without warning."],
    "title": "Right jaw",
    "instruction": "Fit the right jaw with the kit's bush.",
    "status": "waiting",
    "next": False,
    "credited_by": None,
    "by": None,
    "waits_for": ["yoke"],
    "walled_in_by": [],
    "would_undo": [],
    "unread": [],
    "missing": ["“Yoke and yoke spring” has no credit yet.", "It is not logged as done."],
    "scope": "rebuild",
    "not_by": [],
    "may": ["RM"],
    "readings": [],
    "cycles": None,
    "fasteners": [],
    "consumables": {},
    "kit_lines": [],
    "photos": 0,
}
BLOCKER: dict[str, Any] = {
    "code": "no_verification",
    "what": "There is no verification after the last adjustment: 0 of 4 cycles passed in a row.",
    "cure": "A second person, who did not adjust, weld or correct, makes all cycles.",
    "step": "verify",
    "entry": None,
}
FLAG: dict[str, Any] = {
    "code": "amended_from_fail",
    "what": "The entry that it amends was out of limits.",
    "cure": "A lead compares the two before the release.",
    "step": "measure-lock",
    "entry": "019cae6f-0000-7000-8000-00000000e001",
}
GATE: dict[str, Any] = {"open": False, "chain_head": HEAD, "blockers": [BLOCKER], "flags": [FLAG]}
WINDOW: dict[str, Any] = {
    "proved": True,
    "below": "proved",
    "named": {"size": 3, "root": CHECKPOINT["root"]},
    "after": {"size": 3, "root": CHECKPOINT["root"], "signed_at": CHECKPOINT["signed_at"], "witness": None},
    "before": {
        "size": 9,
        "root": RECORDED_EXAMPLE["leaf"],
        "signed_at": "2026-03-02T17:42:00.000000Z",
        "witness": {"name": "witness.ashlock.example", "at": "2026-03-02T18:00:00.000000Z"},
    },
}
ENTRY: dict[str, Any] = {
    "position": 12,
    "entry": RECORDED_EXAMPLE["entry"],
    "kind": "step",
    "step": "right-jaw",
    "by": "RM",
    "performed_at": "2026-03-02T17:40:00.000000Z",
    "received_at": "2026-03-02T17:41:07.312000Z",
    "skew_ms": 0,
    "token": "eyJhbGciOiJFZDI1NTE5Iiwia2lkIjoi….eyJlbnRyeSI6IjAxOWNhZTJl….c2lnbmF0dXJl…",
    "previous": RECORDED_EXAMPLE["previous"],
    "leaf": RECORDED_EXAMPLE["leaf"],
    "credit": False,
    "findings": RECORDED_EXAMPLE["findings"],
    "window": WINDOW,
}
OFFLINE_PACK: dict[str, Any] = {
    "job": JOB,
    "steps": [STEP],
    "gate": GATE,
    "entries": [ENTRY],
    "procedure": {"procedure": "PR-11", "revision": 4},
    "people": [{"id": "019ca000-0000-7000-8000-0000000000a1", "initials": "RM"}],
    "instruments": [{"code": "FG-11", "kind": "feeler_set", "unit": "in"}],
    "checkpoint": CHECKPOINT,
}
RELEASE: dict[str, Any] = {
    "id": "019cae9a-1c00-7b00-9c00-aabbccddeeff",
    "job": JOB_ID,
    "unit": JOB_REQUEST["unit"],
    "version": 1,
    "released_at": "2026-03-02T20:25:00Z",
    "limited_until_follow_up": True,
    "follow_up_due_at": "2026-03-12T20:25:00Z",
    "next_inspection_at": "2026-05-31T20:25:00Z",
}
RELEASE_SIGNED: dict[str, Any] = {**RELEASE, "next_inspection": INSPECTION}
