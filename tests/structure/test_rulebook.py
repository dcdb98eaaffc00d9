"""A rule is one file, one number, one paragraph in docs/rules.md and at least one test: these hold them together."""

import ast
import importlib
import pkgutil
import re
from functools import cache

import pytest

from jobs.domain import rules
from jobs.domain.finding import Rule
from tests.structure.sources import ROOT, sources

MODULES = sorted(module.name for module in pkgutil.iter_modules(rules.__path__))
HELD = [importlib.import_module(f"{rules.__name__}.{module}").RULE for module in MODULES]
RULES: dict[int, Rule] = {rule.number: rule for rule in HELD}
_HEADING = re.compile(r"^### R(\d{3}) · (\w+)\n\n(.+?) \*Response: ([a-z ]+)", re.MULTILINE | re.DOTALL)


@cache
def documented() -> dict[int, tuple[str, str, str]]:
    """Code, sentence and response of each rule in the document."""
    text = (ROOT / "docs" / "rules.md").read_text()
    found = _HEADING.findall(text)
    return {int(number): (code, " ".join(said.split()), response) for number, code, said, response in found}


@cache
def tested() -> set[int]:
    """The numbers that tests are bound to."""
    return {
        argument.value
        for source in sources()
        if source.path.startswith("tests/")
        for node in ast.walk(source.tree)
        if isinstance(node, ast.Call) and ast.unparse(node.func) == "pytest.mark.rule"
        for argument in node.args
        if isinstance(argument, ast.Constant) and isinstance(argument.value, int)
    }


@pytest.mark.parametrize("module", MODULES)
def test_a_rule_module_holds_the_rule_of_its_number(module: str) -> None:
    rule = importlib.import_module(f"{rules.__name__}.{module}").RULE
    assert isinstance(rule, Rule)
    assert module.startswith(f"r{rule.number}_")


@pytest.mark.parametrize("module", MODULES)
def test_a_rule_is_asked_by_the_book_the_gate_or_an_effect(module: str) -> None:
    """The rulebook's checks are asked for every act; the others speak where their effect is worked out."""
    users = [source.path for source in sources() if module in source.text and source.path.startswith("jobs/")]
    assert [path for path in users if "/domain/rules/" not in path]


def test_numbers_and_codes_are_unique() -> None:
    assert len({rule.number for rule in HELD}) == len({rule.code for rule in HELD}) == len(HELD)


@pytest.mark.parametrize("number", sorted(RULES))
def test_a_rule_is_bound_to_a_test(number: int) -> None:
    assert number in tested(), f"mark a test with @pytest.mark.rule({number})"


def test_no_test_is_bound_to_a_rule_that_is_not_there() -> None:
    assert tested() - RULES.keys() == set()


@pytest.mark.parametrize("number", sorted(RULES))
def test_a_rule_stands_in_the_document_as_it_stands_in_the_code(number: int) -> None:
    rule = RULES[number]
    code, sentence, response = documented()[number]
    assert code == rule.code
    assert sentence == rule.sentence
    assert response.strip() == rule.response.value.replace("_", " ")


def test_the_document_has_no_rule_that_is_not_there() -> None:
    assert documented().keys() - RULES.keys() == set()


@pytest.mark.parametrize("module", MODULES)
def test_a_rule_module_opens_with_its_number_its_sentence_and_an_example(module: str) -> None:
    found = importlib.import_module(f"{rules.__name__}.{module}")
    said = " ".join((found.__doc__ or "").split())
    assert said.startswith(f"R{found.RULE.number} · {found.RULE.sentence}")
    assert "Example:" in said
