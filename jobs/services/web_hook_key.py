"""The key that the secrets of web hooks are derived from: a file outside the data base. It is never logged."""

import secrets
from pathlib import Path
from typing import Final
from uuid import UUID

from django.conf import settings

from jobs.domain.web_hook import hook_secret
from jobs.services.private_file import PrivateFileError, make_private_file, read_private_file

_KEY_BYTES: Final = 32


def web_hook_secret(hook: UUID) -> bytes:
    """The secret of a hook. The key is made where there is none yet. Raises PrivateFileError."""
    path = Path(settings.WEB_HOOK_KEY_FILE)
    make_private_file(path, lambda: secrets.token_hex(_KEY_BYTES).encode())
    try:
        key = bytes.fromhex(read_private_file(path, "web hook key").decode("ascii"))
    except ValueError:
        key = b""
    if len(key) != _KEY_BYTES:
        raise PrivateFileError(f"The web hook key file {path} holds no key: restore it from its backup.")
    return hook_secret(key, hook)
