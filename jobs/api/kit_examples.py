"""Examples from the invented world for kits, recalls, escalations and transfers."""

from typing import Any

from jobs.api.job_examples import JOB_ID
from shops.api.examples import SHOP_ID

KIT_REQUEST: dict[str, Any] = {
    "id": "019ca500-0000-7000-8000-000000000412",
    "serial": "K-T2-0412",
    "lot": "LT-26-014",
    "coupling": "BW-T2",
    "lines": ["left-jaw", "right-jaw", "yoke", "yoke-spring"],
}
KIT: dict[str, Any] = {
    **KIT_REQUEST,
    "received_at": "2026-02-24T15:00:00Z",
    "recorded_by": "parts: ZF",
    "state": "issued",
    "job": JOB_ID,
    "moved_at": "2026-03-02T17:25:00Z",
    "recalled": False,
}
MOVEMENT_REQUEST: dict[str, Any] = {
    "id": "019ca501-0000-7000-8000-000000000412",
    "kind": "stocked",
    "shop": SHOP_ID,
}
MOVEMENT: dict[str, Any] = {
    **MOVEMENT_REQUEST,
    "kit": KIT["id"],
    "job": None,
    "moved_at": "2026-02-24T15:10:00Z",
    "recorded_by": "parts: ZF",
}
KIT_WITH_MOVEMENTS: dict[str, Any] = {
    **KIT,
    "movements": [
        MOVEMENT,
        {
            "id": "019cae1f-0000-7000-8000-000000000412",
            "kit": KIT["id"],
            "kind": "issued",
            "shop": SHOP_ID,
            "job": JOB_ID,
            "moved_at": "2026-03-02T17:25:00Z",
            "recorded_by": "the record",
        },
    ],
}
RECALL_SET: dict[str, Any] = {"lot": "LT-26-009", "coupling": "BW-T2", "supplier_count": 7}
PREVIEW: dict[str, Any] = {
    "count": 1,
    "supplier_count": 7,
    "agrees": False,
    "kits": [
        {
            "id": "019ca500-0000-7000-8000-000000000077",
            "serial": "K-T2-0077",
            "lot": "LT-26-009",
            "coupling": "BW-T2",
            "received_at": "2026-02-10T15:00:00Z",
        }
    ],
}
RECALL_REQUEST: dict[str, Any] = {
    "id": "019d9600-0000-7000-8000-0000000000a1",
    **RECALL_SET,
    "reason": "The supplier found soft yoke springs in this lot.",
}
RECALL: dict[str, Any] = {
    **RECALL_REQUEST,
    "serial_from": None,
    "serial_to": None,
    "serials": None,
    "received_from": None,
    "received_to": None,
    "proposed_at": "2026-04-16T13:30:00Z",
    "recorded_by": "parts: ZF",
    "state": "proposed",
    "decision": None,
}
PUBLICATION_REQUEST: dict[str, Any] = {"id": "019d9602-0000-7000-8000-0000000000a2", "count": 7}
DECLINE_REQUEST: dict[str, Any] = {
    "id": "019d9601-0000-7000-8000-0000000000a3",
    "reason": "31 kits against the supplier's 7: the range of serials is wrong.",
}
_OUTCOME: dict[str, Any] = {
    "id": "019d9602-0000-7000-8000-0000000000b1",
    "state": "fitted",
    "what": "Fitted in unit 4218 by shop B; its release 1 is suspended.",
    "kit": "019ca500-0000-7000-8000-000000000077",
    "serial": "K-T2-0077",
    "unit_number": "4218",
    "job": "019cc500-0000-7000-8000-0000000000b1",
    "release": "019cd300-0000-7000-8000-0000000000b2",
    "suspension": "019d9602-0000-7000-8000-0000000000b3",
    "movement": None,
    "search_task": None,
    "swept_at": "2026-04-16T14:02:00Z",
}
SEARCH_TASK: dict[str, Any] = {
    "id": "019d9602-0000-7000-8000-0000000000c1",
    "recall": RECALL["id"],
    "kit": "019ca500-0000-7000-8000-000000000418",
    "serial": "K-T2-0418",
    "lot": "LT-26-009",
    "what": "Find kit K-T2-0418 of lot LT-26-009. It was issued on 2026-03-12, and no job names it.",
    "opened_at": "2026-04-16T14:02:00Z",
    "closing": None,
    "found": None,
    "closed_at": None,
    "closed_by": None,
}
EMPTY_SWEEP: dict[str, Any] = {"fitted": [], "in_work": [], "stock": [], "scrapped": [], "unknown": []}
PROPOSED: dict[str, Any] = {**RECALL, "sweep": EMPTY_SWEEP}
PUBLISHED: dict[str, Any] = {
    **RECALL,
    "state": "published",
    "decision": {
        "id": PUBLICATION_REQUEST["id"],
        "hits": 7,
        "reason": None,
        "decided_at": "2026-04-16T14:02:00Z",
        "recorded_by": "quality: PI",
    },
    "sweep": {**EMPTY_SWEEP, "fitted": [_OUTCOME]},
}
DECLINED: dict[str, Any] = {
    **PROPOSED,
    "state": "declined",
    "decision": {
        "id": DECLINE_REQUEST["id"],
        "hits": None,
        "reason": DECLINE_REQUEST["reason"],
        "decided_at": "2026-04-16T13:50:00Z",
        "recorded_by": "quality: PI",
    },
}
CLOSING_REQUEST: dict[str, Any] = {
    "id": "019da000-0000-7000-8000-0000000000c2",
    "found": "In the van of shop D, unopened; scrapped.",
}
CLOSED: dict[str, Any] = {
    **SEARCH_TASK,
    "closing": CLOSING_REQUEST["id"],
    "found": CLOSING_REQUEST["found"],
    "closed_at": "2026-04-17T16:00:00Z",
    "closed_by": "parts: ZF",
}
ESCALATION: dict[str, Any] = {
    "id": "019d961e-0000-7000-8000-0000000000d1",
    "suspension": "019d9602-0000-7000-8000-0000000000d2",
    "release": "019d4b00-0000-7000-8000-0000000000d3",
    "unit": "019ca000-0000-7000-8000-000000004140",
    "unit_number": "4140",
    "shop": "E",
    "code": "recalled_kit",
    "reason": "Kit K-T2-0415 of lot LT-26-009 is recalled: The supplier found soft yoke springs in this lot.",
    "suspended_at": "2026-04-16T14:02:00Z",
    "raised_at": "2026-04-16T14:32:00Z",
    "acknowledged_at": None,
}
TRANSFER_REQUEST: dict[str, Any] = {
    "id": "019cc600-0000-7000-8000-0000000000e1",
    "to_shop": SHOP_ID,
    "reason": "No welder at Brayfen this week.",
}
TRANSFER: dict[str, Any] = {
    **TRANSFER_REQUEST,
    "job": "019cc500-0000-7000-8000-0000000000b1",
    "from_shop": "019ca000-0000-7000-8000-00000000000b",
    "offered_at": "2026-03-09T14:00:00Z",
    "recorded_by": "lead: AB",
    "state": "open",
    "answer": None,
    "answer_reason": None,
    "answered_at": None,
    "answered_by": None,
}
ANSWER_REQUEST: dict[str, Any] = {
    "id": "019cc700-0000-7000-8000-0000000000e2",
    "reason": "It stands in our yard, tagged, with its kit.",
}
ACCEPTED: dict[str, Any] = {
    **TRANSFER,
    "state": "accepted",
    "answer": ANSWER_REQUEST["id"],
    "answer_reason": ANSWER_REQUEST["reason"],
    "answered_at": "2026-03-09T17:30:00Z",
    "answered_by": "lead: JD",
}
