"""Rules, their documentation and their tests stay together."""

import importlib
import pkgutil
import re
from functools import cache
from pathlib import Path

import pytest

import jobs.domain.rules
from jobs.domain.finding import Response, Rule

ROOT = Path(__file__).resolve().parents[2]
MODULES = sorted(module.name for module in pkgutil.iter_modules(jobs.domain.rules.__path__))
WORDS = {Response.NO_CREDIT: "no credit", Response.HOLD: "hold", Response.FLAG: "flag"}


def rule_of(module: str) -> Rule:
    found: Rule = importlib.import_module(f"jobs.domain.rules.{module}").RULE
    return found


@cache
def marked() -> dict[int, list[str]]:
    """Every number that a test is bound to, with the files that do it."""
    found: dict[int, list[str]] = {}
    for path in sorted((ROOT / "tests").rglob("test_*.py")):
        for number in re.findall(r"@pytest\.mark\.rule\((\d+)\)\n(?:@.*\n)*def test_", path.read_text()):
            found.setdefault(int(number), []).append(str(path.relative_to(ROOT)))
    return found


@pytest.mark.parametrize("module", MODULES)
def test_a_rule_has_its_number_in_its_files_name_and_its_sentence_in_its_first_line(module: str) -> None:
    rule = rule_of(module)
    assert module.startswith(f"r{rule.number}_")
    text = (ROOT / "jobs" / "domain" / "rules" / f"{module}.py").read_text()
    assert text.startswith(f'"""R{rule.number} · ')
    assert "\nExample: " in text


@pytest.mark.parametrize("module", MODULES)
def test_a_rule_has_a_test(module: str) -> None:
    assert marked().get(rule_of(module).number), f"no test is marked with rule {rule_of(module).number}"


@pytest.mark.parametrize("module", MODULES)
def test_a_rule_stands_in_the_documentation_with_its_sentence_response_and_cure(module: str) -> None:
    rule = rule_of(module)
    text = (ROOT / "docs" / "rules.md").read_text()
    heading = f"### R{rule.number} · {rule.code}\n"
    assert heading in text
    paragraph = text.partition(heading)[2].partition("\n### ")[0]
    assert rule.sentence in paragraph
    assert f"*Response: {WORDS[rule.response]}.*" in paragraph
    assert "Cure: " in paragraph


def test_numbers_and_codes_are_used_once_and_every_marked_number_is_a_rule() -> None:
    rules = [rule_of(module) for module in MODULES]
    assert len({rule.number for rule in rules}) == len({rule.code for rule in rules}) == len(rules)
    documented = {
        int(number) for number in re.findall(r"^### R(\d+) ", (ROOT / "docs/rules.md").read_text(), re.MULTILINE)
    }
    assert documented == {rule.number for rule in rules}
    assert set(marked()) <= documented


def test_every_rule_says_what_cures_it_in_words() -> None:
    for module in MODULES:
        text = (ROOT / "jobs" / "domain" / "rules" / f"{module}.py").read_text()
        is_named_elsewhere = rule_of(module).number in {309, 705, 706, 999}
        assert is_named_elsewhere or ".found(" in text, module


@pytest.mark.parametrize("module", MODULES)
def test_a_rule_is_asked_by_the_book_the_gate_or_an_effect(module: str) -> None:
    """The rulebook's checks are asked for every act; the others speak where their effect is worked out."""
    files = [path for path in (ROOT / "jobs").rglob("*.py") if path.parent.name != "rules"]
    assert any(re.search(rf"\b{module}\b", path.read_text()) for path in files)
