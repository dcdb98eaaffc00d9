"""A folder of files that are whole or not there at all."""

import os
from pathlib import Path
from secrets import token_hex
from typing import Any

from django.core.files.base import File
from django.core.files.storage import FileSystemStorage

from jobs.services.private_file import sync_folder


class DurableFolder(FileSystemStorage):
    """A folder in which a file is either whole and on the disk, or not there: written beside, synced, and renamed."""

    def __init__(self, location: str) -> None:
        super().__init__(
            location=location, allow_overwrite=True, file_permissions_mode=0o600, directory_permissions_mode=0o700
        )

    def _save(self, name: str, content: "File[Any]") -> str:
        path = Path(self.path(name))
        made = [folder for folder in (path.parent, *path.parent.parents) if not folder.exists()]
        for folder in reversed(made):
            folder.mkdir(mode=0o700, exist_ok=True)
        beside = path.with_name(f".{path.name}.{token_hex(8)}")
        try:
            with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
                for chunk in content.chunks():
                    file.write(chunk)
                file.flush()
                os.fsync(file.fileno())
            beside.replace(path)
        except BaseException:
            beside.unlink(missing_ok=True)
            raise
        for folder in (path.parent, *(one.parent for one in made)):
            sync_folder(folder)
        return name
