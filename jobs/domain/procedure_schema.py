"""The shape of a procedure document: JSON Schema, draft 2020-12.

What a schema can say is said here (which fields, which words, which patterns); what needs the whole document
at once (names that must exist, bands, order) is checked by the modules that build and prove a procedure.
`title` and `description` of a part are what an author is told when the part is wrong.
"""

from typing import Any

Schema = dict[str, Any]

NUMBER = r"^-?(0|[1-9][0-9]*)(\.[0-9]+)?$|^-?([0-9]+ )?[0-9]+/[1-9][0-9]*$"
KEY = r"^[a-z0-9]+(-[a-z0-9]+)*$"
WORD = r"^[a-z0-9]+(_[a-z0-9]+)*$"
MOMENT = r"^[0-9]{4}-[0-9]{2}-[0-9]{2}T[0-9]{2}:[0-9]{2}(:[0-9]{2})?(Z|[+-][0-9]{2}:[0-9]{2})$"

SCOPES = ["strip", "rebuild", "measure", "weld", "adjust", "verify", "release"]


def _text(description: str, pattern: str | None = None) -> Schema:
    most = 4000 if pattern is None else 60
    found: Schema = {"type": "string", "minLength": 1, "maxLength": most, "description": description}
    return found | ({"pattern": pattern} if pattern else {})


def _whole(description: str, least: int, most: int) -> Schema:
    return {"type": "integer", "minimum": least, "maximum": most, "description": description}


def _list(items: Schema, least: int = 0, most: int = 200) -> Schema:
    return {"type": "array", "items": items, "minItems": least, "maxItems": most, "uniqueItems": True}


def _object(properties: Schema, required: list[str]) -> Schema:
    return {
        "type": "object",
        "properties": properties,
        "required": required,
        "additionalProperties": False,
    }


def _choice(*words: str) -> Schema:
    return {"type": "string", "enum": list(words)}


_key = _text("a key: small letters, digits and single hyphens", KEY)
_word = _text("a kind: small letters, digits and underscores", WORD)
_number = _text('an exact number in quotes: "0.180", "3/8", "1 1/4"', NUMBER)
_distance = _text('a distance with its unit: "400 mi" or "650 km"', r"^[1-9][0-9]{0,6} (mi|km)$")
_span = _text('a duration: "45 min", "2 h" or "1 d"', r"^[1-9][0-9]{0,5} (s|min|h|d)$")
_torque = _text('a torque with its unit: "150 lbf.ft"', r"^[0-9]+(\.[0-9]+)? (lbf\.ft|lbf\.in|N\.m)$")
_difference = _text('a temperature difference: "15 degF"', r"^[0-9]+(\.[0-9]+)? (degF|degC|K)$")
_cautions = _list(_text("a caution"))
_keys = _list(_key)

_band = _object(
    {
        "at_least": _number,
        "more_than": _number,
        "at_most": _number,
        "less_than": _number,
        "then": _choice("pass", "correct", "rework", "condemn"),
        "correction": _key,
        "step": _key,
    },
    ["then"],
) | {
    "allOf": [
        {"not": {"required": ["at_least", "more_than"]}, "description": "one lower bound"},
        {"not": {"required": ["at_most", "less_than"]}, "description": "one upper bound"},
    ]
}

_correction = _object(
    {
        "key": _key,
        "title": _text("a title"),
        "instruction": _text("what to do"),
        "cautions": _cautions,
        "face": _text("the named face that is worked"),
        "direction": _choice("increases", "decreases"),
        "qualification": _choice(*SCOPES),
        "voids": _keys,
        "attempts": _whole("how many corrections before lead and quality decide", 1, 20),
        "requires": _list(_choice("permit", "fire_watch", "crack_check", "cool_down")),
        "cool_down": _span,
    },
    ["key", "title", "instruction", "face", "direction", "qualification", "voids", "attempts"],
)

_reading = _object(
    {
        "key": _key,
        "title": _text("a title"),
        "dimension": _choice("length", "angle", "torque", "force", "mass", "temperature", "distance", "turns", "count"),
        "unit": _choice(
            "in",
            "mm",
            "deg",
            "lbf.ft",
            "N.m",
            "lbf",
            "N",
            "lb",
            "kg",
            "degF",
            "degC",
            "mi",
            "km",
            "turn",
            "1",
        ),
        "method": _choice("single", "flatness_grid", "bore", "count"),
        "nominal": _number,
        "rule": _object({"kind": _choice("simple", "guarded"), "guard": _number}, ["kind"]),
        "plausible": _object({"lower": _number, "upper": _number}, []),
        "cells": _whole("how many heights or diameters", 4, 100),
        "repeats": _object({"count": _whole("how many repeats", 1, 50), "range": _number}, ["count"]),
        "instruments": _list(_word),
        "state": _text("the state in which to measure"),
        "max_plate_air_difference": _difference,
        "outcomes": _list(_band, least=1, most=20),
        "corrections": _list(_correction, most=10),
    },
    ["key", "title", "dimension", "unit", "method", "rule", "outcomes"],
)

_fastener = _object(
    {
        "key": _key,
        "title": _text("a title"),
        "count": _whole("how many, all alike", 1, 100),
        "thread": _text('a thread: "3/4-10" or "M20x2.5"', r"^([0-9/ ]+-[0-9]+|M[0-9]+(\.[0-9]+)?x[0-9]+(\.[0-9]+)?)$"),
        "grade": _text("a grade"),
        "lubrication": _choice("dry", "zinc", "oiled", "cadmium", "anti_seize"),
        "torque": _torque,
        "instrument": _word,
        "sequence": _list(_text("a position"), most=100),
    },
    ["key", "title", "count", "thread", "lubrication", "torque"],
)

_verification = _object(
    {
        "cycles": _whole("how many cycles in a row", 1, 50),
        "observations": _list(_word, least=2, most=20),
        "instrument": _word,
    },
    ["cycles", "observations", "instrument"],
)

_adjustment = _object(
    {
        "method": _choice("screw", "shims"),
        "thread": _text("a thread"),
        "taper": _text('a taper: "1:10"', r"^[0-9]+:[0-9]+$"),
        "turns_back": _number,
        "shims": _list(_number, least=1, most=50),
        "most_shims": _whole("how many shims at most", 1, 50),
    },
    ["method"],
)

_step = _object(
    {
        "key": _key,
        "title": _text("a title"),
        "instruction": _text("what to do"),
        "scope": _choice(*SCOPES),
        "cautions": _cautions,
        "after": _keys,
        "voids": _keys,
        "walled_in_by": _keys,
        "not_by": _list(_choice(*SCOPES, "correct")),
        "readings": _list(_reading, most=50),
        "fasteners": _list(_fastener, most=50),
        "consumables": _list(
            _object({"key": _key, "allowed": _list(_text("a product code"), least=1)}, ["key", "allowed"])
        ),
        "kit_lines": _keys,
        "issues_kit": {"type": "boolean"},
        "photos": _whole("how many photos", 0, 50),
        "verification": _verification,
        "adjustment": _adjustment,
        "may_be_not_applicable": {"type": "boolean"},
        "optional": {"type": "boolean"},
        "minimum_duration": _span,
        "cool_down": _span,
        "condemn_here": {"type": "boolean"},
    },
    ["key", "title", "instruction", "scope"],
)

_interval = _object({"distance": _distance, "days": _whole("days", 1, 3650)}, [])

PROCEDURE_SCHEMA: Schema = {
    "$schema": "https://json-schema.org/draft/2020-12/schema",
    "$id": "urn:rebuild-record:procedure:1",
    "title": "Procedure revision",
} | _object(
    {
        "procedure": _text("a code: capital letters, digits and hyphens", r"^[A-Z0-9]+(-[A-Z0-9]+)*$"),
        "revision": _whole("a revision number", 1, 10000),
        "title": _text("a title"),
        "coupling": _text("a coupling model: capital letters, digits and hyphens", r"^[A-Z0-9]+(-[A-Z0-9]+)*$"),
        "in_force_from": _text('a moment with offset: "2026-01-15T00:00:00-06:00"', MOMENT),
        "safety_critical": {"type": "boolean"},
        "weld_lapses_after_months": _whole("months without a weld after which the qualification lapses", 1, 120),
        "cautions": _list(_text("a caution"), least=1),
        "inspection": _interval,
        "kit_lines": _keys,
        "follow_up": _object({"after": _interval, "steps": _list(_step, least=1, most=20)}, ["after", "steps"]),
        "steps": _list(_step, least=1, most=300),
    },
    ["procedure", "revision", "title", "coupling", "in_force_from", "safety_critical", "cautions", "steps"],
)
