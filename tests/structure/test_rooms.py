"""The rooms of the house: what each may hold, how long a file and a function may be, what nothing is called."""

import ast
import re
import subprocess
import sys

import pytest

from tests.structure.sources import ROOT, Source, functions, inside, sources

MOST_LINES = 300
MOST_LINES_OF_A_FUNCTION = 40
NO_NAMES = {"utils", "util", "helpers", "helper", "common", "misc"}
SHARED_BY_SERVICES = {
    "company_lock": "the registry of lock keys",
    "log_key": "the file with the log's private key",
    "duties": "what the worker does in turn",
    "new_id": "ids that the server makes",
    "answer_transfer": "two answers to one question: accepts or declines",
    "decide_recall": "two answers to one question: publishes or declines",
}
WRITES = re.compile(r"\b(INSERT INTO|DELETE FROM|UPDATE \w+ SET|TRUNCATE)\b")
READS_THE_WORLD = {"now", "utcnow", "today", "uuid1", "uuid4", "urandom", "token_bytes", "getenv"}
OURS = [source for source in sources() if "/migrations/" not in source.path]
by_path = pytest.mark.parametrize("source", OURS, ids=lambda source: source.path)


def of(rooms: list[Source]) -> pytest.MarkDecorator:
    return pytest.mark.parametrize("source", rooms, ids=lambda source: source.path)


@by_path
def test_a_file_is_short(source: Source) -> None:
    assert source.text.count("\n") <= MOST_LINES


@by_path
def test_a_function_is_short(source: Source) -> None:
    long = [
        f"{function.name}: {length}"
        for function in functions(source)
        if (length := (function.end_lineno or 0) - function.lineno + 1) > MOST_LINES_OF_A_FUNCTION
    ]
    assert long == []


@pytest.mark.parametrize(
    "source", [source for source in sources() if source.name == "__init__"], ids=lambda source: source.path
)
def test_an_init_is_empty(source: Source) -> None:
    assert source.text == ""


def test_nothing_is_called_after_a_drawer() -> None:
    assert [source.path for source in sources() if source.name in NO_NAMES] == []


@of(inside("services"))
def test_a_service_is_one_verb_a_file_and_its_arguments_are_named(source: Source) -> None:
    if source.name in SHARED_BY_SERVICES:
        return
    public = {node.name: node for node in source.tree.body if isinstance(node, ast.FunctionDef)}
    verb = source.name.split("_")[0]
    mine = [name for name in public if not name.startswith("_") and name.split("_")[0].rstrip("s") == verb.rstrip("s")]
    assert source.name in public or mine, sorted(public)


@of(inside("queries"))
def test_a_query_writes_nothing(source: Source) -> None:
    texts = [
        node.value for node in ast.walk(source.tree) if isinstance(node, ast.Constant) and isinstance(node.value, str)
    ]
    assert [text for text in texts if WRITES.search(text)] == []
    called = {
        node.func.attr
        for node in ast.walk(source.tree)
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute)
    }
    assert called & {"save", "create", "bulk_create", "update_or_create", "get_or_create", "delete"} == set()


@of(inside("models"))
def test_a_model_has_columns_and_no_rules(source: Source) -> None:
    named = {function.name for function in functions(source)}
    assert named & {"save", "delete", "clean", "full_clean"} == set()
    assert "signals" not in source.text


@of(inside("domain"))
def test_the_domain_reads_no_clock_no_chance_and_no_file(source: Source) -> None:
    calls = [node.func for node in ast.walk(source.tree) if isinstance(node, ast.Call)]
    methods = {call.attr for call in calls if isinstance(call, ast.Attribute)}
    names = {call.id for call in calls if isinstance(call, ast.Name)}
    assert (methods | names) & READS_THE_WORLD == set()
    assert "open" not in names


def loads_without_django(module: str) -> None:
    frameworks = "{'django', 'rest_framework', 'drf_spectacular', 'psycopg'}"
    check = f"import sys, {module}; print(sorted({frameworks} & {{name.split('.')[0] for name in sys.modules}}))"
    done = subprocess.run([sys.executable, "-c", check], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_whole_domain_loads_without_a_framework() -> None:
    modules = [source.path.removesuffix(".py").replace("/", ".") for source in inside("domain")]
    loads_without_django(", ".join(modules))


@pytest.mark.skipif(
    not (ROOT / "jobs" / "verify.py").exists(), reason="the offline verifier is not part of this version"
)
def test_the_offline_verifier_loads_without_a_framework() -> None:
    loads_without_django("jobs.verify")
