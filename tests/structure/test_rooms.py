"""The rooms of the house: what each may hold, how long a file and a function may be, what nothing is called."""

import ast
import re
import subprocess
import sys

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
    "private_file": "files that only their owner reads",
    "web_hook_key": "the file with the key of web hooks' secrets",
}
WRITES = re.compile(r"\b(INSERT INTO|DELETE FROM|UPDATE \w+ SET|TRUNCATE)\b")
READS_THE_WORLD = {"now", "utcnow", "today", "uuid1", "uuid4", "urandom", "token_bytes", "getenv"}
OURS = [source for source in sources() if "/migrations/" not in source.path]


def test_files_are_short() -> None:
    assert [source.path for source in OURS if source.text.count("\n") > MOST_LINES] == []


def test_functions_are_short() -> None:
    long = [
        f"{source.path}: {function.name} has {length} lines"
        for source in OURS
        for function in functions(source)
        if (length := (function.end_lineno or 0) - function.lineno + 1) > MOST_LINES_OF_A_FUNCTION
    ]
    assert long == []


def test_every_init_is_empty() -> None:
    assert [source.path for source in sources() if source.name == "__init__" and source.text] == []


def test_nothing_is_called_after_a_drawer() -> None:
    assert [source.path for source in sources() if source.name in NO_NAMES] == []


def test_a_service_is_one_verb_a_file() -> None:
    assert [source.path for source in inside("services") if not _is_its_verb(source)] == []


def _is_its_verb(source: Source) -> bool:
    public = {node.name for node in source.tree.body if isinstance(node, ast.FunctionDef) if node.name[0] != "_"}
    verb = source.name.split("_")[0].rstrip("s")
    return source.name in SHARED_BY_SERVICES or verb in {name.split("_")[0].rstrip("s") for name in public}


def test_queries_write_nothing() -> None:
    assert [source.path for source in inside("queries") if WRITES.search(_texts(source))] == []
    changes = {"save", "create", "bulk_create", "update_or_create", "get_or_create", "delete"}
    assert [source.path for source in inside("queries") if _methods(source) & changes] == []


def _texts(source: Source) -> str:
    constants = (node.value for node in ast.walk(source.tree) if isinstance(node, ast.Constant))
    return "\n".join(value for value in constants if isinstance(value, str))


def _methods(source: Source) -> set[str]:
    calls = (node.func for node in ast.walk(source.tree) if isinstance(node, ast.Call))
    return {call.attr for call in calls if isinstance(call, ast.Attribute)}


def _names(source: Source) -> set[str]:
    calls = (node.func for node in ast.walk(source.tree) if isinstance(node, ast.Call))
    return {call.id for call in calls if isinstance(call, ast.Name)}


def test_models_have_columns_and_no_rules() -> None:
    overrides = {"save", "delete", "clean", "full_clean"}
    named = {source.path: {function.name for function in functions(source)} for source in inside("models")}
    assert [path for path, names in named.items() if names & overrides] == []
    assert [source.path for source in inside("models") if "signals" in source.text] == []


def test_the_domain_reads_no_clock_no_chance_and_no_file() -> None:
    called = {source.path: _methods(source) | _names(source) for source in inside("domain")}
    assert [path for path, names in called.items() if names & READS_THE_WORLD] == []
    assert [source.path for source in inside("domain") if "open" in _names(source)] == []


def loads_without_django(module: str) -> None:
    frameworks = "{'django', 'rest_framework', 'drf_spectacular', 'psycopg'}"
    check = f"import sys, {module}; print(sorted({frameworks} & {{name.split('.')[0] for name in sys.modules}}))"
    done = subprocess.run([sys.executable, "-c", check], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_the_whole_domain_loads_without_a_framework() -> None:
    modules = [source.path.removesuffix(".py").replace("/", ".") for source in inside("domain")]
    loads_without_django(", ".join(modules))


def test_the_offline_verifier_loads_without_a_framework() -> None:
    loads_without_django("jobs.verify")
