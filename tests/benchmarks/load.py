"""The load: one process, one thread, a kept-alive connection a client, requests built beforehand.

    python -m tests.benchmarks.load REQUESTS    (a pickle: address, and a list of request bytes for each client)

Each client sends its next request when the answer to the last has arrived in full. The clock stops when the first
client has no request left; answers that arrive later are awaited but not counted. Prints JSON: seconds, the latencies
in milliseconds, the statuses and their counts, how many single entries the answers say were stored, and the processor
time of this process while the clock ran.
"""

import json
import pickle
import select
import socket
import sys
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path

STORED = b'"status":201'


@dataclass
class Client:
    """One connection and what it still has to send."""

    connection: socket.socket
    requests: list[bytes]
    next: int = 0
    sent_at: float = 0.0
    answer: bytearray = field(default_factory=bytearray)

    def send(self) -> None:
        request = self.requests[self.next]
        self.next += 1
        self.sent_at = time.perf_counter()
        self.connection.sendall(request)

    def take(self) -> tuple[int, bytes] | None:
        """Status and body, when the answer is complete."""
        chunk = self.connection.recv(1 << 18)
        if not chunk:
            raise ConnectionError("the server closed the connection")
        self.answer += chunk
        body = body_of(bytes(self.answer))
        if body is None:
            return None
        status = int(self.answer[9:12])
        self.answer.clear()
        return status, body


def body_of(answer: bytes) -> bytes | None:
    """The body of an HTTP/1.1 answer, by its length or in chunks; None until it is there in full."""
    head, found, rest = answer.partition(b"\r\n\r\n")
    if not found:
        return None
    head = head.lower()
    at = head.find(b"\r\ncontent-length:")
    if at < 0:
        return unchunked(rest) if rest.endswith(b"0\r\n\r\n") else None
    length = int(head[at + 17 :].partition(b"\r\n")[0])
    return rest if len(rest) >= length else None


def unchunked(rest: bytes) -> bytes | None:
    parts, at = [], 0
    while (end := rest.find(b"\r\n", at)) >= 0:
        size = int(rest[at:end], 16)
        if not size:
            return b"".join(parts)
        parts.append(rest[end + 2 : end + 2 + size])
        at = end + 4 + size
    return None


def connect(address: tuple[str, int]) -> socket.socket:
    connection = socket.create_connection(address, timeout=60)
    connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    return connection


@dataclass
class Tally:
    latencies: list[float] = field(default_factory=list)
    statuses: Counter[int] = field(default_factory=Counter)
    stored: int = 0
    refused: bytes = b""

    def count(self, status: int, body: bytes, latency: float) -> None:
        self.latencies.append(latency * 1000)
        self.statuses[status] += 1
        self.stored += body.count(STORED) if status == 200 else int(status == 201)
        if status >= 400 and not self.refused:
            self.refused = body[:2000]


def run(address: tuple[str, int], requests: list[list[bytes]]) -> dict[str, object]:
    clients = [Client(connect(address), mine) for mine in requests]
    poll = select.epoll()
    by_descriptor = {client.connection.fileno(): client for client in clients}
    for descriptor in by_descriptor:
        poll.register(descriptor, select.EPOLLIN)
    tally, waiting, ended = Tally(), len(clients), 0.0
    began, processor = time.perf_counter(), time.process_time()
    for client in clients:
        client.send()
    while waiting:
        for descriptor, _ in poll.poll():
            client = by_descriptor[descriptor]
            answer = client.take()
            if answer is None:
                continue
            now = time.perf_counter()
            if not ended:
                tally.count(*answer, now - client.sent_at)
                if client.next == len(client.requests):
                    ended, processor = now, time.process_time() - processor
            if ended:
                waiting -= 1
            else:
                client.send()
    return {
        "seconds": ended - began,
        "latencies": tally.latencies,
        "statuses": {str(status): count for status, count in tally.statuses.items()},
        "stored": tally.stored,
        "refused": tally.refused.decode("utf-8", "replace"),
        "processor": processor,
    }


def main() -> None:
    address, requests = pickle.loads(Path(sys.argv[1]).read_bytes())
    print(json.dumps(run(address, requests)))


if __name__ == "__main__":
    main()
