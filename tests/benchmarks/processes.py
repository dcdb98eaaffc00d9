"""Servers under load: started, waited for, their processor time read, and stopped."""

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Mapping
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

TICK = os.sysconf("SC_CLK_TCK")
ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class Settings:
    """The same for both servers."""

    workers: int
    threads: int

    def arguments(self) -> list[str]:
        """As `manage.py serve` starts its server."""
        return [
            *("--interface", "wsgi", "--http", "1", "--no-ws", "--workers", str(self.workers)),
            *("--blocking-threads", str(self.threads), "--blocking-threads-idle-timeout", "600"),
            *("--no-access-log", "--log-level", "warning", "--workers-kill-timeout", "10"),
        ]


@dataclass
class Server:
    process: subprocess.Popen[bytes]
    port: int

    @property
    def address(self) -> tuple[str, int]:
        return ("127.0.0.1", self.port)

    def stop(self) -> None:
        self.process.send_signal(signal.SIGTERM)
        with suppress(subprocess.TimeoutExpired):
            self.process.wait(10)
        if self.process.poll() is None:
            self.process.kill()


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def start_server(application: str, settings: Settings, environment: Mapping[str, str]) -> Server:
    """Granian with `application`, and ready: it accepts connections."""
    port = free_port()
    process = subprocess.Popen(
        [sys.executable, "-m", "granian", *settings.arguments(), "--port", str(port), application],
        cwd=ROOT,
        env={**os.environ, **environment},
    )
    server = Server(process, port)
    until = time.monotonic() + 30
    while time.monotonic() < until and process.poll() is None:
        with suppress(OSError), socket.create_connection(server.address, timeout=1):
            return server
        time.sleep(0.05)
    server.stop()
    raise RuntimeError(f"{application} did not start")


def tree(root: int) -> set[int]:
    """The process and all that descend from it."""
    parents = {}
    for entry in Path("/proc").iterdir():
        if entry.name.isdigit():
            with suppress(OSError):
                parents[int(entry.name)] = int(_fields(int(entry.name))[1])
    found, grown = {root}, True
    while grown:
        more = {child for child, parent in parents.items() if parent in found} - found
        found |= more
        grown = bool(more)
    return found


def processor_seconds(root: int) -> float:
    """User and system time of a process and all its descendants, also of those that have ended and were awaited."""
    seconds = 0
    for process in tree(root):
        with suppress(OSError):
            fields = _fields(process)
            seconds += sum(int(fields[at]) for at in (11, 12)) + (
                sum(int(fields[at]) for at in (13, 14)) if process == root else 0
            )
    return seconds / TICK


def peak_megabytes(root: int) -> float:
    """The most memory that a process or one of its descendants has had resident since it began."""
    peaks = [0]
    for process in tree(root):
        with suppress(OSError):
            status = Path(f"/proc/{process}/status").read_text()
            peaks += [int(line.split()[1]) for line in status.splitlines() if line.startswith("VmHWM")]
    return max(peaks) / 1024


def _fields(process: int) -> list[str]:
    """The fields of /proc/PID/stat after the command's name: the state is at 0, the parent at 1."""
    return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()
