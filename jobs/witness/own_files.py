"""The witness's two files: his private key, and the last checkpoint that he cosigned."""

import os
from pathlib import Path

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat, load_pem_private_key

from jobs.services.private_file import sync_folder


def make_key(path: Path) -> Ed25519PrivateKey:
    """A new key in a new file that only its owner reads; raises FileExistsError rather than replace one."""
    private_key = Ed25519PrivateKey.generate()
    pem = private_key.private_bytes(Encoding.PEM, PrivateFormat.PKCS8, NoEncryption())
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(pem)
    return private_key


def read_key(path: Path) -> Ed25519PrivateKey:
    """Raises ValueError for a file that holds no Ed25519 key."""
    private_key = load_pem_private_key(path.read_bytes(), None)
    if isinstance(private_key, Ed25519PrivateKey):
        return private_key
    raise ValueError(f"{path} is no Ed25519 key")


def kept_note(path: Path) -> bytes | None:
    """The last checkpoint cosigned; None before the first."""
    return path.read_bytes() if path.exists() else None


def keep(path: Path, note: bytes) -> None:
    """Replace the kept checkpoint, wholly or not at all, and on the disk before this returns."""
    beside = path.with_name(path.name + ".new")
    with beside.open("wb") as file:
        file.write(note)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)
    sync_folder(path.parent)
