"""Runs a server and a worker as children: signals go on to them, a dead worker comes back, a dead server ends all."""

import ctypes
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from http.client import HTTPConnection, HTTPException
from types import FrameType
from typing import Any, Final

_LOOK_SECONDS: Final = 0.1
_STOP_SECONDS: Final = 20.0
_START_SECONDS: Final = 30.0
_ANSWER_SECONDS: Final = 5.0
_LONGEST_REST: Final = 30.0
_STEADY_SECONDS: Final = 60.0
_PR_SET_PDEATHSIG: Final = 1
_LIBC: Final = ctypes.CDLL(None)


@dataclass
class Supervisor:
    """Commands of the two children, the environment both get, and where to say what happens."""

    server: Sequence[str]
    worker: Sequence[str]
    environment: Mapping[str, str]
    say: Callable[[str], Any]
    _stop: threading.Event = field(default_factory=threading.Event, init=False)
    _children: dict[str, subprocess.Popen[bytes]] = field(default_factory=dict, init=False)
    _worker_rest: float = field(default=1.0, init=False)
    _worker_started: float = field(default=0.0, init=False)

    def run(self, host: str, port: int) -> int:
        """Until SIGTERM or SIGINT (0), or until the server dies (1)."""
        for number in (signal.SIGTERM, signal.SIGINT):
            signal.signal(number, self._told_to_stop)
        try:
            self._children["server"] = self._start(self.server)
            self._start_worker()
            return self._wait_until_serving(host, port) or self._watch()
        finally:
            self._stop_children()

    def _told_to_stop(self, _number: int, _frame: FrameType | None) -> None:
        self._stop.set()

    def _start(self, command: Sequence[str]) -> subprocess.Popen[bytes]:
        """A child in a session of its own, so that Ctrl-C reaches it only through this process."""
        return subprocess.Popen(  # noqa: S603 (our own commands)
            command,
            env=dict(self.environment),
            start_new_session=True,
            preexec_fn=_end_with_parent,  # noqa: PLW1509 (this process has one thread)
        )

    def _start_worker(self) -> None:
        self._worker_started = time.monotonic()
        self._children["worker"] = self._start(self.worker)

    def _wait_until_serving(self, host: str, port: int) -> int:
        deadline = time.monotonic() + _START_SECONDS
        while not self._stop.is_set() and time.monotonic() < deadline:
            if self._children["server"].poll() is not None:
                return self._server_is_dead()
            if _answers(host, port):
                self.say(
                    f"Serving on http://{host}:{port}/ - documentation at http://{host}:{port}/docs. Stop with Ctrl-C."
                )
                return 0
            self._stop.wait(_LOOK_SECONDS)
        if not self._stop.is_set():
            self.say("The server did not begin to answer.")
        return 0 if self._stop.is_set() else 1

    def _watch(self) -> int:
        while not self._stop.wait(_LOOK_SECONDS):
            if self._children["server"].poll() is not None:
                return self._server_is_dead()
            if self._children["worker"].poll() is not None:
                self._restart_worker()
        return 0

    def _server_is_dead(self) -> int:
        self.say(
            f"The server ended by itself (exit code {self._children['server'].returncode}); see its messages above."
        )
        return 1

    def _restart_worker(self) -> None:
        """After a rest that grows while it keeps dying."""
        steady = time.monotonic() - self._worker_started > _STEADY_SECONDS
        rest = 1.0 if steady else self._worker_rest
        self._worker_rest = min(rest * 2, _LONGEST_REST)
        code = self._children["worker"].returncode
        self.say(f"The worker ended by itself (exit code {code}); it starts again in {rest:.0f} s.")
        if not self._stop.wait(rest):
            self._start_worker()

    def _stop_children(self) -> None:
        deadline = time.monotonic() + _STOP_SECONDS
        for child in self._children.values():
            if child.poll() is None:
                child.terminate()
        for child in self._children.values():
            try:
                child.wait(max(0.1, deadline - time.monotonic()))
            except subprocess.TimeoutExpired:
                child.kill()
                child.wait()
            _end_group(child.pid)


def _end_group(leader: int) -> None:
    """End what a child that died by itself left behind, so that it does not keep the port."""
    with suppress(ProcessLookupError):
        os.killpg(leader, signal.SIGKILL)


def _answers(host: str, port: int) -> bool:
    """Whether a request gets an answer, whatever it says."""
    reach = {"0.0.0.0": "127.0.0.1", "::": "::1"}.get(host, host)  # noqa: S104 (read, not bound)
    asking = HTTPConnection(reach, port, timeout=_ANSWER_SECONDS)
    try:
        asking.request("GET", "/livez")
        asking.getresponse().read()
    except (OSError, HTTPException):
        return False
    finally:
        asking.close()
    return True


def _end_with_parent() -> None:
    """On Linux, have the child told to stop when this process is killed outright."""
    if sys.platform == "linux":
        _LIBC.prctl(_PR_SET_PDEATHSIG, signal.SIGTERM)
