"""The files that a job's bundle holds: what its entries name, in the order of the entries, while there is room."""

from uuid import UUID

from jobs.queries.evidence_files import files_of_job
from jobs.queries.evidence_store import stored_file


def evidence_within(company: UUID, job: UUID, room: int) -> tuple[dict[str, bytes], dict[str, str]]:
    """The files by digest, `room` bytes of them at most; and why the others of those that arrived are left out."""
    found, left_out, left = dict[str, bytes](), dict[str, str](), room
    for file in files_of_job(company, job):
        content = stored_file(company, file.digest) if file.size <= left else None
        if content is not None:
            found[file.digest] = content
            left -= len(content)
        else:
            left_out[file.digest] = "no_room" if file.size > left else "not_in_store"
    return found, left_out
