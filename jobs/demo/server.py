"""Runs `manage.py serve` beside the demo, on the loopback, until the demo ends."""

import os
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPException

from jobs.demo.caller import Caller

START_SECONDS = 90.0
STOP_SECONDS = 20.0
_LOOPBACK = "127.0.0.1"
# Refusals are part of the story, no errors; and nobody should wait for a checkpoint.
_SETTINGS = {"REBUILD_LOG_LEVEL": "ERROR", "REBUILD_CHECKPOINT_SECONDS": "1"}


class ServerStartError(Exception):
    """`manage.py serve` ended or did not become ready; what it said is on standard error."""


def free_port() -> int:
    with socket.socket() as trial:
        trial.bind((_LOOPBACK, 0))
        port: int = trial.getsockname()[1]
        return port


@contextmanager
def running_server(port: int) -> Iterator[str]:
    """The address of a server that is ready; it is stopped at the end."""
    base = f"http://{_LOOPBACK}:{port}"
    command = [sys.executable, sys.argv[0], "serve", "--host", _LOOPBACK, "--port", str(port), "--workers", "1"]
    environment = {**_SETTINGS, **os.environ}
    process = subprocess.Popen(command, stdout=subprocess.DEVNULL, env=environment)  # noqa: S603 # our own command
    try:
        _wait_until_ready(base, process)
        yield base
    finally:
        _stop(process)


def _wait_until_ready(base: str, process: subprocess.Popen[bytes]) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline:
        if process.poll() is not None:
            raise ServerStartError(f"the server ended with exit code {process.returncode}")
        try:
            if Caller(base).get("/readyz").ok:
                return
        except (OSError, HTTPException):
            pass
        time.sleep(0.1)
    raise ServerStartError(f"the server was not ready after {START_SECONDS:.0f} seconds")


def _stop(process: subprocess.Popen[bytes]) -> None:
    if process.poll() is None:
        process.terminate()
    try:
        process.wait(STOP_SECONDS)
    except subprocess.TimeoutExpired:
        process.kill()
        process.wait()
