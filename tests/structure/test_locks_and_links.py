"""The locks say what pyproject.toml asks for, and what the documents point at is there."""

import re
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
DOCUMENTS = sorted([*ROOT.glob("*.md"), *ROOT.glob("docs/**/*.md")])
NAME = re.compile(r"[A-Za-z0-9._-]+")


def normal(name: str) -> str:
    return re.sub(r"[-_.]+", "-", name).lower()


def locked(path: str) -> dict[str, str]:
    """Name and version of every pin; each must have at least one hash."""
    pins: dict[str, str] = {}
    for block in re.split(r"\n(?=[A-Za-z0-9])", (ROOT / path).read_text()):
        found = re.match(r"([A-Za-z0-9._-]+)(?:\[[^\]]*\])?==([^ ;\\]+)", block)
        if found:
            assert "--hash=sha256:" in block, found[1]
            pins[normal(found[1])] = found[2]
    assert pins
    return pins


def asked_for(*groups: str) -> set[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())
    lines = [*project["project"]["dependencies"], *(line for g in groups for line in project["dependency-groups"][g])]
    return {normal(NAME.match(line)[0]) for line in lines}  # type: ignore[index]


def test_what_runs_is_locked_with_hashes() -> None:
    assert asked_for() <= locked("requirements.lock").keys()


def test_what_checks_is_locked_with_hashes_and_at_the_versions_that_run() -> None:
    runs, checks = locked("requirements.lock"), locked("tests/requirements.lock")
    assert asked_for("dev") <= checks.keys()
    assert {name: checks.get(name) for name in runs} == runs


def test_django_is_the_long_term_release() -> None:
    assert locked("requirements.lock")["django"].startswith("5.2.")


def test_every_library_is_a_recorded_decision() -> None:
    recorded = normal((ROOT / "docs/decisions/0002-libraries.md").read_text())
    stubs = {name for name in asked_for("dev") if name.endswith("-stubs") or name.startswith("types-")}
    assert {name for name in asked_for("dev") - stubs if name not in recorded} == set()


@pytest.mark.parametrize("document", DOCUMENTS, ids=[str(path.relative_to(ROOT)) for path in DOCUMENTS])
def test_every_link_of_a_document_leads_somewhere(document: Path) -> None:
    links = re.findall(r"\]\(([^)#\s]+)[^)]*\)", document.read_text())
    gone = [link for link in links if "://" not in link and not (document.parent / link).exists()]
    assert gone == []


def test_the_two_commands_of_the_readme_are_one_line_each_and_name_files_that_are_there() -> None:
    demo, tests = re.findall(r"```sh\n(.*?)\n```", (ROOT / "README.md").read_text(), re.DOTALL)[:2]
    assert demo.count("\n") == 0
    assert demo.endswith(".venv/bin/python manage.py demo")
    assert "--require-hashes -r requirements.lock" in demo
    assert tests == "bash .ci/run"
    assert (ROOT / ".ci/run").is_file()
    assert "bash .ci/run" in (ROOT / "DEVELOPERS.md").read_text()
