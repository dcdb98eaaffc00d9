"""Every refusal that code can raise has its problem type, and nothing else has one."""

import ast
import re
from collections.abc import Iterator

from config.problems import INTERNAL, METHOD_NOT_ALLOWED, NOT_ACCEPTABLE, TABLE, ProblemType
from shops.domain import errors
from tests.structure.sources import sources

KINDS: list[ProblemType] = [*TABLE.values(), METHOD_NOT_ALLOWED, NOT_ACCEPTABLE, INTERNAL]


def refusals(root: type[errors.Refusal] = errors.Refusal) -> Iterator[type[errors.Refusal]]:
    for kind in root.__subclasses__():
        yield kind
        yield from refusals(kind)


def test_every_refusal_has_a_problem_type_of_its_own() -> None:
    assert set(refusals()) == set(TABLE)


def test_refusals_live_in_one_file() -> None:
    assert {kind.__module__ for kind in refusals()} == {"shops.domain.errors"}


def test_the_tree_at_the_top_of_the_file_names_every_refusal() -> None:
    drawn = set(re.findall(r"(?:├── |└── |^)(\w+)", errors.__doc__ or "", re.MULTILINE))
    assert {kind.__name__ for kind in refusals()} <= drawn


def test_problem_types_have_names_of_their_own_and_fitting_statuses() -> None:
    names = [kind.name for kind in KINDS]
    assert len(names) == len(set(names))
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)*", name) for name in names)
    assert all(400 <= kind.status < 500 for kind in KINDS if kind is not INTERNAL)


def test_a_refusal_says_a_sentence_to_a_person() -> None:
    for kind in refusals():
        assert kind.default_detail != errors.Refusal.default_detail, kind
        assert kind.default_detail.endswith((".", "…")), kind


def test_only_the_base_view_decides_how_an_error_looks() -> None:
    raised = {
        source.path
        for source in sources()
        for node in ast.walk(source.tree)
        if isinstance(node, ast.Raise)
        and "/services/" in source.path
        and isinstance(node.exc, ast.Call)
        and getattr(node.exc.func, "id", "") in {"ValidationError", "APIException", "Http404", "PermissionDenied"}
    }
    assert raised == set()
