"""The files themselves, as Django's storage holds them: one for each company and digest."""

from hashlib import sha256
from uuid import UUID

from django.core.files.storage import Storage, storages


def evidence_store() -> Storage:
    return storages["evidence"]


def name_of(company: UUID, digest: str) -> str:
    """Where a company's file of this digest is. Two companies never share one."""
    return f"{company}/{digest[:2]}/{digest}"


def stored_file(company: UUID, digest: str) -> bytes | None:
    """The bytes of a file; None if it is not there or is not what its digest says."""
    try:
        with evidence_store().open(name_of(company, digest)) as file:
            content: bytes = file.read()
    except FileNotFoundError:
        return None
    return content if sha256(content).hexdigest() == digest else None


def digest_in_store(company: UUID, digest: str) -> str | None:
    """The digest that the stored file has in truth, read in pieces; None if there is no such file."""
    found = sha256()
    try:
        with evidence_store().open(name_of(company, digest)) as file:
            for chunk in file.chunks():
                found.update(chunk)
    except FileNotFoundError:
        return None
    return found.hexdigest()
