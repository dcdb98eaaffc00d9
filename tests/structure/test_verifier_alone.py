"""`python -m jobs.verify` is a program of its own: no framework, no data base, no network; it exits with 0, 1 or 2."""

import json
import subprocess
import sys
from pathlib import Path
from zipfile import ZipFile

import pytest

from jobs.verify.__main__ import _leaves
from tests.bundles.museum import FOLDER, GOOD, kept
from tests.bundles.world_rows import LOG_KEY, WITNESS_KEYS

ROOT = Path(__file__).resolve().parents[2]
HOOKED = """
import sys

class Refuse:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {"django", "rest_framework", "psycopg", "drf_spectacular"}:
            raise ImportError(f"the verifier loads {name}")
        return None

def hook(event, _arguments):
    if event in {"socket.connect", "socket.getaddrinfo", "subprocess.Popen", "os.system"}:
        raise RuntimeError(event)
    if event == "open" and isinstance(_arguments[1], str) and set(_arguments[1]) & set("wax+"):
        raise RuntimeError(f"writes {_arguments[0]}")

sys.dont_write_bytecode = True
sys.meta_path.insert(0, Refuse())
sys.addaudithook(hook)
from jobs.verify.__main__ import main

code = main(sys.argv[1:])
loaded = {name.split(".")[0] for name in sys.modules} & {"django", "rest_framework", "psycopg"}
assert not loaded, loaded
sys.exit(code)
"""


def run(*arguments: object, hooked: bool = False) -> subprocess.CompletedProcess[str]:
    program = ["-c", HOOKED] if hooked else ["-m", "jobs.verify"]
    command = [sys.executable, *program, *map(str, arguments)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=300)


@pytest.fixture
def checkpoint(tmp_path: Path) -> Path:
    (tmp_path / "kept.note").write_bytes(kept("early"))
    return tmp_path / "kept.note"


def test_it_loads_no_framework_opens_no_connection_and_writes_nothing(checkpoint: Path) -> None:
    witnesses = [word for key in WITNESS_KEYS for word in ("--witness-key", key.vkey)]
    done = run(GOOD, "--log-key", LOG_KEY.vkey, "--checkpoint", checkpoint, *witnesses, "--witnesses", 2, hooked=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert "Everything that can be checked matches." in done.stdout


def test_it_exits_with_1_where_something_does_not_match() -> None:
    done = run(FOLDER / "digit-changed.zip", "--log-key", LOG_KEY.vkey)
    assert done.returncode == 1
    assert "DOES NOT MATCH [signature_wrong] entries/" in done.stdout


def test_it_exits_with_2_where_something_could_not_be_checked() -> None:
    assert run(GOOD).returncode == 2


def test_it_tells_the_same_as_json(checkpoint: Path) -> None:
    done = run(FOLDER / "log-rewritten.zip", "--log-key", LOG_KEY.vkey, "--checkpoint", checkpoint, "--json")
    report = json.loads(done.stdout)
    assert report["verdict"] == "does_not_match"
    assert [(one["step"], one["kind"], one["code"]) for one in report["findings"]] == [
        (7, "does_not_match", "not_consistent")
    ]
    assert report["cannot_know"]


def test_it_verifies_several_bundles_in_one_file(tmp_path: Path) -> None:
    raw = FOLDER / "good-sample.zip"
    with ZipFile(raw) as archive:
        (tmp_path / "population.txt").write_bytes(archive.read("population.txt"))
    done = run(raw, "--log-key", LOG_KEY.vkey, "--population", tmp_path / "population.txt", hooked=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert "9. Selection: 2 bundles of a population of 3" in done.stdout
    report = json.loads(run(raw, "--log-key", LOG_KEY.vkey, "--json").stdout)
    assert [one["code"] for one in report["findings"]] == ["population_believed"]
    assert [one["verdict"] for one in report["bundles"]] == ["matches", "matches"]


def test_leaves_as_the_api_gives_them_are_read_in_their_order(tmp_path: Path) -> None:
    items = [{"index": index, "content": f"leaf {index}"} for index in (2, 3, 0, 1, 5)]
    pages = [{"items": items[:2], "next": 4}, {"items": items[2:], "next": None}]
    (tmp_path / "leaves").write_text("".join(json.dumps(page) + "\n" for page in pages))
    assert _leaves(tmp_path / "leaves") == [b"leaf 0", b"leaf 1", b"leaf 2", b"leaf 3"]


@pytest.mark.parametrize("arguments", [("nowhere.zip",), (GOOD, "--log-key", "no key"), (GOOD, "--consistency", GOOD)])
def test_a_wrong_command_says_so(arguments: tuple[object, ...]) -> None:
    done = run(*arguments)
    assert done.returncode == 2
    assert done.stderr
    assert "Traceback" not in done.stderr
