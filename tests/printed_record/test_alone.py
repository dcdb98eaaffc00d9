"""`python -m jobs.printed_record` is a program of its own: no framework, no data base, no network."""

import subprocess
import sys
from pathlib import Path

import pytest

from jobs.printed_record.printing import Wishes, print_bundle
from tests.bundles.museum import FOLDER, GOOD

ROOT = Path(__file__).resolve().parents[2]
HOOKED = """
import sys

class Refuse:
    def find_spec(self, name, path=None, target=None):
        if name.split(".")[0] in {"django", "rest_framework", "psycopg", "drf_spectacular"}:
            raise ImportError(f"printing loads {name}")
        return None

def hook(event, _arguments):
    if event in {"socket.connect", "socket.getaddrinfo", "subprocess.Popen", "os.system"}:
        raise RuntimeError(event)

sys.meta_path.insert(0, Refuse())
sys.addaudithook(hook)
from jobs.printed_record.__main__ import main

sys.exit(main(sys.argv[1:]))
"""


def run(*arguments: object, hooked: bool = False) -> subprocess.CompletedProcess[str]:
    program = ["-c", HOOKED] if hooked else ["-m", "jobs.printed_record"]
    command = [sys.executable, *program, *map(str, arguments)]
    return subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False, timeout=120)


def test_a_bundle_is_printed_with_nothing_but_the_file(tmp_path: Path) -> None:
    out = tmp_path / "record.pdf"
    done = run(GOOD, "--out", out, hooked=True)
    assert (done.returncode, done.stderr) == (0, "")
    assert out.read_bytes() == print_bundle(GOOD.read_bytes(), Wishes())


def test_what_does_not_match_is_printed_and_told(tmp_path: Path) -> None:
    done = run(FOLDER / "digit-changed.zip", "--out", tmp_path / "record.pdf", "--paper", "a4", "--unit", "mm")
    assert done.returncode == 1
    assert "DOES NOT MATCH" in done.stderr
    assert (tmp_path / "record.pdf").exists()


@pytest.mark.parametrize("name", ["not-a-zip.zip", "no-manifest.zip", "unknown-version.zip"])
def test_what_cannot_be_read_is_not_printed(tmp_path: Path, name: str) -> None:
    done = run(FOLDER / name, "--out", tmp_path / "record.pdf")
    assert done.returncode == 2
    assert "is not printed" in done.stderr
    assert not (tmp_path / "record.pdf").exists()
