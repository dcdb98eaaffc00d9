"""A real HTTP server over the application, in a thread: for a witness who has nothing but an address."""

import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from wsgiref.simple_server import WSGIRequestHandler, make_server

from django.core.wsgi import get_wsgi_application
from django.db import connection


class _Silent(WSGIRequestHandler):
    def log_message(self, format: str, *arguments: Any) -> None:  # noqa: A002 (the standard library's name)
        pass


@contextmanager
def served(unblocked: Any) -> Iterator[str]:
    """The address of the application; `unblocked` gives the thread access to the tests' data base."""
    application = get_wsgi_application()

    def answering(environment: Any, start: Any) -> Any:
        with unblocked():
            try:
                return list(application(environment, start))
            finally:
                connection.close()

    with make_server("127.0.0.1", 0, answering, handler_class=_Silent) as server:
        thread = threading.Thread(target=server.serve_forever, kwargs={"poll_interval": 0.02})
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_port}"
        finally:
            server.shutdown()
            thread.join()
