"""Examples from the invented world for dispatch, releases and holds."""

from typing import Any

from jobs.api.job_examples import JOB_ID, RELEASE
from shops.api.examples import UNIT_ID

ACKNOWLEDGEMENT_REQUEST: dict[str, Any] = {"id": "019cae9d-0000-7000-8000-0000000000d1", "availability_version": 3}
ACKNOWLEDGEMENT: dict[str, Any] = {
    **ACKNOWLEDGEMENT_REQUEST,
    "unit": UNIT_ID,
    "acknowledged_at": "2026-03-02T20:29:00Z",
    "recorded_by": "dispatch: DQ",
}
LIMITED: dict[str, Any] = {
    "unit": UNIT_ID,
    "state": "limited",
    "availability_version": 3,
    "since": "2026-03-02T20:25:00Z",
    "release": RELEASE["id"],
    "release_version": 1,
    "reasons": [
        {
            "code": "follow_up_due",
            "what": "Limited until the follow-up of release 1, due by 2026-03-12, or sooner by its distance.",
            "cure": "Bring the unit back for its follow-up in time.",
            "since": "2026-03-02T20:25:00Z",
            "due_at": "2026-03-12T20:25:00Z",
            "about": RELEASE["id"],
        }
    ],
    "ready_estimate": None,
    "acknowledged_version": 3,
}
IN_WORK: dict[str, Any] = {
    "unit": "019ca000-0000-7000-8000-000000004218",
    "state": "not_available",
    "availability_version": 1,
    "since": "2026-03-06T22:20:00Z",
    "release": None,
    "release_version": None,
    "reasons": [
        {
            "code": "job_open",
            "what": "A rebuild is in work at shop B.",
            "cure": "The shop finishes the job.",
            "since": "2026-03-06T22:20:00Z",
            "due_at": None,
            "about": "019cc500-0000-7000-8000-0000000000b1",
        }
    ],
    "ready_estimate": {"likely_at": "2026-03-09T19:40:00Z", "late_at": "2026-03-10T22:10:00Z", "rebuilds": 14},
    "acknowledged_version": None,
}
QUESTION: dict[str, Any] = {"units": [LIMITED["unit"], IN_WORK["unit"]]}
ANSWERS: dict[str, Any] = {"items": [LIMITED, IN_WORK]}
CHANGES: dict[str, Any] = {
    "items": [
        {
            "specversion": "1.0",
            "id": "019caea0-0000-4000-8000-0000000000f1",
            "source": "rebuild-record/brindlewick",
            "type": "rebuild_record.availability.changed",
            "subject": UNIT_ID,
            "time": "2026-03-02T20:25:00Z",
            "sequence": "0000000000000000079",
            "datacontenttype": "application/json",
            "data": LIMITED,
        }
    ],
    "next_after": 79,
}

WEB_HOOK_REQUEST: dict[str, Any] = {
    "id": "019cafb0-0000-7000-8000-0000000000f2",
    "address": "https://dispatch.tarnvalley.example/rebuild_events",
    "label": "the dispatch board",
}
WEB_HOOK: dict[str, Any] = {
    **WEB_HOOK_REQUEST,
    "carriers": [],
    "registered_at": "2026-03-02T20:00:00Z",
    "recorded_by": "dispatch: DQ",
    "stands_until": "2027-03-02T20:00:00Z",
    "ended_at": None,
    "ending_reason": None,
    "position": 79,
    "delivered_at": "2026-03-02T20:25:01Z",
    "failures": 0,
    "failing_since": None,
    "last_failure": None,
    "next_try_at": "2026-03-02T20:25:01Z",
}
WEB_HOOK_ENDING: dict[str, Any] = {
    "id": "019cb000-0000-7000-8000-0000000000f3",
    "reason": "The dispatch board has moved",
}
ENDED_WEB_HOOK: dict[str, Any] = {
    **WEB_HOOK,
    "ended_at": "2026-04-01T12:00:00Z",
    "ending_reason": WEB_HOOK_ENDING["reason"],
    "next_try_at": None,
}

SUSPENSION_REQUEST: dict[str, Any] = {
    "id": "019ce000-0000-7000-8000-0000000000e1",
    "code": "complaint",
    "reason": "The driver reports a knock when pulling away.",
}
SUSPENSION: dict[str, Any] = {
    **SUSPENSION_REQUEST,
    "suspended_at": "2026-03-05T15:10:00Z",
    "recorded_by": "lead: JD",
    "lifting": None,
}
LIFTING_REQUEST: dict[str, Any] = {
    "id": "019ce001-0000-7000-8000-0000000000e2",
    "reason": "Looked at with RM: a loose mud flap bracket. The lock is as it was verified.",
}
REVOCATION_REQUEST: dict[str, Any] = {
    "id": "019ce002-0000-7000-8000-0000000000e3",
    "reason": "The jaw pins came from a recalled lot.",
}
RELEASE_READ: dict[str, Any] = {
    **RELEASE,
    "job": JOB_ID,
    "released_by": "JD",
    "state": "suspended",
    "followed_up_at": None,
    "follow_up_job": None,
    "suspensions": [SUSPENSION],
    "revocation": None,
}
LIFTED: dict[str, Any] = {
    **RELEASE_READ,
    "state": "in_force",
    "suspensions": [
        {
            **SUSPENSION,
            "lifting": {**LIFTING_REQUEST, "lifted_at": "2026-03-05T17:00:00Z", "recorded_by": "lead: JD"},
        }
    ],
}
REVOKED: dict[str, Any] = {
    **RELEASE_READ,
    "state": "revoked",
    "suspensions": [],
    "revocation": {**REVOCATION_REQUEST, "revoked_at": "2026-04-16T16:00:00Z", "recorded_by": "quality: PI"},
}
HOLD_REQUEST: dict[str, Any] = {
    "id": "019cf000-0000-7000-8000-0000000000f1",
    "kind": "legal_hold",
    "reason": "A trailer came off on 18 April; nothing on the unit is touched.",
    "incident_at": "2026-04-18T22:10:00Z",
}
HOLD: dict[str, Any] = {
    **HOLD_REQUEST,
    "unit": "019ca000-0000-7000-8000-000000004133",
    "may_clear": "quality",
    "held_at": "2026-04-18T22:30:00Z",
    "recorded_by": "quality: PI",
    "clearing": None,
}
CLEARING_REQUEST: dict[str, Any] = {
    "id": "019cf100-0000-7000-8000-0000000000f2",
    "reason": "The investigators have given the unit back.",
}
CLEARED: dict[str, Any] = {
    **HOLD,
    "clearing": {**CLEARING_REQUEST, "cleared_at": "2026-06-02T14:00:00Z", "recorded_by": "quality: PI"},
}
