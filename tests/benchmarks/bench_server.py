"""What a WSGI server costs a request: processor time of its processes on a view that does nothing.

    python -m tests.benchmarks.bench_server [--requests 8000] [--clients 8]

Each server runs `/livez` in one worker process, with the same number of threads; the clients keep their
connections. gunicorn's default worker (sync) closes each connection, so it is measured that way too; it is no
dependency, and is left out where it is not installed.
"""

import argparse
import os
import socket
import subprocess
import sys
import threading
import time
from importlib.util import find_spec

import psutil

PORT = 8391
REQUEST = b"GET /livez HTTP/1.1\r\nHost: localhost\r\n\r\n"
APPLICATION = "config.wsgi:application"


def servers(threads: int) -> dict[str, list[str]]:
    granian = ["-m", "granian", "--interface", "wsgi", "--http", "1", "--no-ws", "--port", str(PORT)]
    gunicorn = ["-m", "gunicorn", "--bind", f"127.0.0.1:{PORT}", "--workers", "1", "--log-level", "warning"]
    found = {
        f"granian, {threads} threads": [*granian, "--blocking-threads", str(threads), APPLICATION],
        "granian, 1 thread": [*granian, "--blocking-threads", "1", APPLICATION],
        f"gunicorn gthread, {threads} threads": [*gunicorn, "--threads", str(threads), APPLICATION],
        "gunicorn sync": [*gunicorn, APPLICATION],
    }
    there = find_spec("gunicorn") is not None
    return {name: command for name, command in found.items() if there or "gunicorn" not in name}


def processor_seconds(process: psutil.Process) -> float:
    family = [process, *process.children(recursive=True)]
    return sum(one.cpu_times().user + one.cpu_times().system for one in family)


def wait_for(port: int) -> None:
    for _ in range(200):
        try:
            socket.create_connection(("127.0.0.1", port), 1).close()
        except OSError:
            time.sleep(0.05)
        else:
            return
    raise SystemExit("the server did not start")


def one_client(count: int, times: list[float]) -> None:
    connection = None
    for _ in range(count):
        started = time.perf_counter()
        connection = connection or socket.create_connection(("127.0.0.1", PORT), 10)
        connection.sendall(REQUEST)
        answer = b""
        while b"\r\n\r\n" not in answer or not answer.endswith(b"}"):
            part = connection.recv(65536)
            if not part:
                raise SystemExit("the server closed a connection in the middle of an answer")
            answer += part
        if not answer.startswith(b"HTTP/1.1 200"):
            raise SystemExit(answer.decode())
        if b"connection: close" in answer.lower():
            connection.close()
            connection = None
        times.append(time.perf_counter() - started)


def load(requests: int, clients: int) -> list[float]:
    times: list[float] = []
    threads = [threading.Thread(target=one_client, args=(requests // clients, times)) for _ in range(clients)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    return sorted(times)


def measure(command: list[str], requests: int, clients: int) -> str:
    environment = {**os.environ, "DATABASE_URL": "postgresql://nobody@127.0.0.1:1/nothing"}
    server = subprocess.Popen([sys.executable, *command], env=environment, stdout=subprocess.DEVNULL)
    try:
        wait_for(PORT)
        load(400, clients)
        process = psutil.Process(server.pid)
        before, started = processor_seconds(process), time.perf_counter()
        times = load(requests, clients)
        spent, wall = processor_seconds(process) - before, time.perf_counter() - started
    finally:
        server.terminate()
        server.wait(20)
    middle, late = times[len(times) // 2] * 1000, times[len(times) * 99 // 100] * 1000
    return f"{spent / requests * 1e6:7.0f} us processor  {requests / wall:7.0f} /s  p50 {middle:6.2f} ms  p99 {late:6.2f} ms"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=8000)
    parser.add_argument("--clients", type=int, default=8)
    parser.add_argument("--threads", type=int, default=4)
    options = parser.parse_args()
    for name, command in servers(options.threads).items():
        print(f"{name:32} {measure(command, options.requests, options.clients)}")


if __name__ == "__main__":
    main()
