"""docs/api.md names what there is: every operation, reason and filter that it speaks of, and all of the filters."""

import re
from pathlib import Path
from uuid import uuid4

import pytest
from django.urls import resolve

from jobs.api.audit_schemas import EntryQuery
from jobs.api.dispatch_schemas import REASON_CODES

GUIDE = (Path(__file__).resolve().parents[2] / "docs" / "api.md").read_text()
OPERATIONS = sorted(set(re.findall(r"(GET|POST|PATCH) (/v1/[a-z_{}/.]*[a-z}])", GUIDE)))


def test_the_guide_names_operations():
    assert len(OPERATIONS) > 20


@pytest.mark.parametrize(("method", "path"), OPERATIONS, ids=" ".join)
def test_every_operation_of_the_guide_is_there(method, path):
    view = resolve(re.sub(r"\{\w+\}", str(uuid4()), path)).func.view_class
    assert getattr(getattr(view, method.lower(), None), "is_operation", False)


def test_the_guide_tells_every_reason_and_no_other():
    section = GUIDE[GUIDE.index("| reason |") : GUIDE.index("**The version**")]
    rows = [line.split("|")[1] for line in section.splitlines() if line.startswith("| `")]
    assert sorted(re.findall(r"`(\w+)`", " ".join(rows))) == sorted(REASON_CODES)


def test_the_guide_tells_every_filter_of_entries():
    section = GUIDE[GUIDE.index("- `GET /v1/entries` filters by") : GUIDE.index("- `GET /v1/entries.ndjson` and")]
    assert set(EntryQuery().fields) <= set(re.findall(r"`(\w+)`", section))
