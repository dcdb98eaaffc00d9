"""The demo, as a stranger runs it: a process of its own, a server of its own, the data base of the tests."""

import os
import pty
import re
import signal
import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import psycopg
import pytest
from django.db import connection

from jobs.demo.calendar import Calendar
from jobs.demo.telling import Telling, Tone, wants_colour
from jobs.queries.database_url import database_url

ROOT = Path(__file__).resolve().parents[2]
DEMO = [sys.executable, "manage.py", "demo"]
ESCAPE = "\x1b["
LAST_LINE = "These tokens are the demo's own"
TOLD = (
    "Nothing in it is a value to work to",
    "“Right jaw” comes after “Yoke and yoke spring”, which has no credit yet. (rule 101)",
    "bearing grease is not allowed for pin-paste. (rule 501)",
    "5.6 mm is 0.220 in. (rule 301)",
    "RM adjusted on this job and is not independent. (rule 202)",
    "“Verify the lock” comes after “Adjust the lock”, which has no credit yet. (rule 101)",
    "There is no verification after the last adjustment: 0 of 4 cycles passed in a row.",
    "OK's device holds a claim on the job",
    "Of the photos that “Strip” names, 1 of 1 has not arrived: named by RM on RM's phone.",
    "Somebody logged since you looked",
    "The act is dated before the device key was enrolled. (rule 203)",
    "The proof is not signed by this key.",
    "The signature does not fit the bytes and the key.",
    "There is no such job.",
    "all 8 steps match",
    "The signature does not fit the bytes and the enrolled key.",
    "All came out as the story says",
)


@pytest.fixture(scope="module")
def environment(
    django_db_setup: None, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[dict[str, str]]:
    """A data base without tables on the tests' server, and a log key that nobody else has: as a stranger begins."""
    with django_db_blocker.unblock():
        parameters = dict(connection.get_connection_params())
    name = f"demo_{os.getpid()}"
    address = {key: value for key, value in parameters.items() if key in {"dbname", "host", "port", "user", "password"}}
    with psycopg.connect(**address, autocommit=True) as owner:
        owner.execute(f"CREATE DATABASE {name}")
        kept = {name: value for name, value in os.environ.items() if not name.startswith("REBUILD_")}
        folder = tmp_path_factory.mktemp("demo")
        places = {"REBUILD_LOG_KEY_FILE": str(folder / "log-key.pem"), "REBUILD_EVIDENCE_FOLDER": str(folder / "files")}
        yield {**kept, **places, "DATABASE_URL": database_url({**parameters, "dbname": name})}
        owner.execute(f"DROP DATABASE {name} WITH (FORCE)")


@pytest.fixture(scope="module")
def first(environment: dict[str, str]) -> subprocess.CompletedProcess[str]:
    """The first run in its data base; its standard output is a pipe."""
    return subprocess.run(DEMO, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=900, check=False)


def test_the_demo_tells_the_whole_story(first: subprocess.CompletedProcess[str]) -> None:
    assert first.returncode == 0, first.stdout + first.stderr
    flat = " ".join(first.stdout.split())
    assert [sentence for sentence in TOLD if sentence not in flat] == []
    assert first.stderr == ""


def test_piped_it_has_no_colour(first: subprocess.CompletedProcess[str]) -> None:
    assert ESCAPE not in first.stdout


@pytest.fixture
def on_a_terminal(first: object, environment: dict[str, str]) -> Iterator[tuple[subprocess.Popen[bytes], Any]]:
    """A second run, with a terminal as its standard output; ended as Ctrl-C would."""
    ours, its = pty.openpty()
    terminal = {**environment, "TERM": "xterm"}
    terminal.pop("NO_COLOR", None)
    process = subprocess.Popen(DEMO, cwd=ROOT, env=terminal, stdout=its, stderr=its, start_new_session=True)
    os.close(its)
    with os.fdopen(ours, "r", errors="replace") as screen:
        yield process, screen
    if process.poll() is None:
        process.send_signal(signal.SIGINT)
        process.wait(60)


def read_until(screen: Any, wanted: str) -> str:
    seen = ""
    for line in screen:
        seen += line
        if wanted in line:
            break
    return seen.replace("\r", "")


def curl_commands(text: str) -> list[str]:
    found = re.findall(r"^ *((?:curl|\S+ -m jobs\.verify) .*)$", text, re.MULTILINE)
    assert found
    return found


def references(story: str) -> set[str]:
    found = set(re.findall(r"reference (\S+)", story))
    assert len(found) == 2
    return found


def test_run_again_on_a_terminal_it_has_companies_of_its_own_and_its_commands_work_until_ctrl_c(
    first: subprocess.CompletedProcess[str], on_a_terminal: tuple[subprocess.Popen[bytes], Any]
) -> None:
    process, screen = on_a_terminal
    story = read_until(screen, LAST_LINE)
    assert "All came out as the story says" in story
    assert f"{ESCAPE}{Tone.GOOD.value}m" in story
    assert references(first.stdout).isdisjoint(references(story))
    exports = "\n".join(re.findall(r"^ +(export .*)$", story, re.MULTILINE))
    of_the_readme = curl_commands((ROOT / "README.md").read_text())
    assert len(of_the_readme) >= 4
    for command in [*curl_commands(story), *of_the_readme]:
        script = f'{exports}\ncurl() {{ command curl -sS --fail "$@"; }}\n{command}'
        answer = subprocess.run(["bash", "-c", script], capture_output=True, timeout=300, check=False)
        assert answer.returncode == 0, (command, answer.stderr)
        assert answer.stdout, command
    process.send_signal(signal.SIGINT)
    assert process.wait(60) == 0


class Stream:
    """A stream that says whether it is a terminal."""

    def __init__(self, *, terminal: bool) -> None:
        self.terminal, self.text = terminal, ""

    def isatty(self) -> bool:
        return self.terminal

    def write(self, text: str) -> int:
        self.text += text
        return len(text)

    def flush(self) -> None:
        pass


@pytest.mark.parametrize(
    ("terminal", "environment", "coloured"),
    [
        (True, {}, True),
        (False, {}, False),
        (True, {"NO_COLOR": "1"}, False),
        (True, {"NO_COLOR": ""}, True),  # no-color.org: present and not empty
        (True, {"TERM": "dumb"}, False),
    ],
)
def test_colour_is_for_terminals_that_want_it(terminal: bool, environment: dict[str, str], coloured: bool) -> None:
    assert wants_colour(Stream(terminal=terminal), environment) is coloured  # type: ignore[arg-type]


def test_what_comes_out_other_than_the_story_says_is_marked_and_remembered() -> None:
    stream = Stream(terminal=False)
    telling = Telling(stream)  # type: ignore[arg-type]
    telling.check(True, "the yoke is in")
    telling.check(False, "the unit is released")
    assert telling.surprises == ["the unit is released"]
    assert "NOT AS THE STORY SAYS: the unit is released" in stream.text


def test_the_story_ends_yesterday_and_keeps_its_times_of_day() -> None:
    now = datetime(2026, 11, 2, 4, 30, tzinfo=UTC)  # still 1 November in Chicago, the day summer time ended
    calendar = Calendar.ending_yesterday(now, "America/Chicago")
    assert calendar.at("09:10", day=8).date().isoformat() == "2026-10-31"
    assert calendar.at("07:10").isoformat() == "2026-10-24T07:10:00-05:00"
    assert calendar.at("23:59", day=8) < now
