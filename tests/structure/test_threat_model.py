"""Every test and exhibit that docs/threat-model.md names is there."""

import re
from pathlib import Path

from tests.bundles.museum import MUSEUM

ROOT = Path(__file__).resolve().parents[2]
NAMED = set(re.findall(r"`([^`]+)`", (ROOT / "docs" / "threat-model.md").read_text()))


def test_every_test_that_is_named_is_there() -> None:
    written = "\n".join(path.read_text() for path in (ROOT / "tests").rglob("test_*.py"))
    named = {name for name in NAMED if name.startswith("test_")}
    assert len(named) > 10
    assert {name for name in named if f"def {name}(" not in written} == set()


def test_every_exhibit_and_file_that_is_named_is_there() -> None:
    exhibits = {name for name in NAMED if re.fullmatch(r"[a-z]+(-[a-z]+)+", name)}
    assert exhibits - {exhibit.name for exhibit in MUSEUM} == set()
    files = {name for name in NAMED if name.startswith("tests/")}
    assert {name for name in files if not (ROOT / name).exists()} == set()
