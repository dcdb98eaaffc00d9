"""Files that only their owner can read: keys. Made once, replaced all or nothing, on the disk before it returns."""

import os
import secrets
import stat
from collections.abc import Callable
from pathlib import Path
from typing import Final

_OWNER_ONLY: Final = 0o600


class PrivateFileError(Exception):
    """The file cannot be used: the message says why and what to do."""


def read_private_file(path: Path, name: str) -> bytes:
    """Its content. Raises PrivateFileError; `name` is what the file is called there."""
    try:
        mode, raw = path.stat().st_mode, path.read_bytes()
    except OSError as error:
        raise PrivateFileError(f"The {name} file {path} cannot be read: {error.strerror}.") from None
    if stat.S_IMODE(mode) & ~_OWNER_ONLY:
        raise PrivateFileError(f"Others can read the {name} file {path}: chmod 600 it, and make a new key.")
    return raw


def make_private_file(path: Path, content: Callable[[], bytes]) -> None:
    """Make it where there is none; where two processes start at once, the first one's file stays."""
    if path.exists():
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = _write_beside(path, content())
    try:
        path.hardlink_to(beside)
    except FileExistsError:
        pass
    finally:
        beside.unlink()
    sync_folder(path.parent)


def replace_private_file(path: Path, content: bytes) -> None:
    """Replace it by one with this content, all or nothing."""
    beside = _write_beside(path, content)
    beside.replace(path)
    sync_folder(path.parent)


def _write_beside(path: Path, content: bytes) -> Path:
    beside = path.with_name(f".{path.name}.{secrets.token_hex(8)}")
    descriptor = os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _OWNER_ONLY)
    with os.fdopen(descriptor, "wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    return beside


def sync_folder(folder: Path) -> None:
    """Put a new name in a folder on the disk."""
    descriptor = os.open(folder, os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)
