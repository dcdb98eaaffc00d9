"""The bundle: one job's record as a zip that can be checked without us. docs/bundle-format.md tells it to strangers.

Rules, in plain sentences:

- What was hashed or signed stands in a member as the very bytes: an entry's token, a receipt, the opening, a
  procedure, a row of the log (a line of its table's member). Nobody has to spell JSON to check a digest.
- `manifest.json` names format, version, company and job, and of every other member its size and SHA-256.
- The same contents always give the same members; order and times in the zip are fixed.
- A name has lower-case words, digits, dots, hyphens and underscores, in at most two parts.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from hashlib import sha256
from io import BytesIO
from typing import Any, Final
from uuid import UUID
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

import orjson

from jobs.domain.canonical_json import canonical_json
from jobs.domain.log_leaf import leaf_content
from jobs.domain.receipt import Opening, Receipt, utc_text

FORMAT: Final = "rebuild-bundle"
VERSION: Final = 1
MANIFEST: Final = "manifest.json"
OPENING: Final = "opening.json"
REGISTER: Final = "register.json"
CLAIMS: Final = "claims.json"
DEVICES: Final = "devices.json"
CAUTIONS: Final = "cautions.txt"
LEFT_OUT: Final = "evidence.json"
RECORD: Final = "record.pdf"
CHECKPOINT: Final = "log/checkpoint.note"
CHECKPOINTS: Final = "log/checkpoints.json"
LEAVES: Final = "log/leaves.json"
REQUIRED: Final = (OPENING, REGISTER, CLAIMS, DEVICES, CAUTIONS, LEAVES, CHECKPOINTS, LEFT_OUT)
NAME: Final = re.compile(r"[a-z0-9_]+(/[a-z0-9_][a-z0-9_.-]*)?(\.[a-z]+)?")
ENTRY_NAME: Final = re.compile(r"entries/([0-9]{6})\.(jws|json)")
FACTS_NAME: Final = re.compile(r"facts/([a-z_]+)\.ndjson")
EVIDENCE_NAME: Final = re.compile(r"evidence/([0-9a-f]{64})")
PROCEDURE_NAME: Final = re.compile(r"procedures/([0-9a-f]{64})\.json")
FILE_LIMIT: Final = 64 * 1024 * 1024
EVIDENCE_LIMIT: Final = 40 * 1024 * 1024
"""How much of a bundle its photos may take; what has no room is listed as left out."""
MEMBERS_LIMIT: Final = 20_000
MEMBER_LIMIT: Final = 64 * 1024 * 1024
TOTAL_LIMIT: Final = 256 * 1024 * 1024
_EARLIEST: Final = (1980, 1, 1, 0, 0, 0)  # the first time that a zip can write


Members = Mapping[str, bytes]


class BundleTooLargeError(Exception):
    """The record of the job does not fit into a bundle."""


@dataclass(frozen=True, slots=True)
class LeafPlace:
    """Where a row stands in the log, and the proof (RFC 9162, 2.1.3) that it is under the bundle's checkpoint."""

    table: str
    row: UUID
    index: int
    leaf: bytes
    proof: tuple[bytes, ...]


@dataclass(frozen=True, slots=True)
class EarlierCheckpoint:
    """A checkpoint signed before the bundle's, and the proof that the bundle's continues it."""

    size: int
    note: str
    consistency: tuple[bytes, ...]


@dataclass(frozen=True, slots=True)
class BundleSource:
    """All that goes into a bundle. `rows` are as `leaf_content` takes them; the rest is JSON already."""

    made_at: datetime
    slug: str
    opening: Opening
    entries: Sequence[tuple[str, Receipt]]
    procedures: Mapping[str, str]  # canonical text by digest
    rows: Mapping[str, Sequence[Mapping[str, Any]]]  # by table
    places: Sequence[LeafPlace]
    checkpoint: str | None
    checkpoints: Sequence[EarlierCheckpoint]
    register: Mapping[str, Any]
    devices: Mapping[str, Sequence[tuple[int, str, str]]]  # key -> (sequence, digest, job) of its entries elsewhere
    claims: Mapping[str, Any]
    cautions: Sequence[str]
    evidence: Mapping[str, bytes] = field(default_factory=dict)  # by digest
    left_out: Mapping[str, str] = field(default_factory=dict)  # digest -> why its file is not here


def bundle_members(source: BundleSource) -> dict[str, bytes]:
    """The members by name, without the manifest."""
    members = {
        OPENING: source.opening.canonical(),
        REGISTER: canonical_json(source.register),
        CLAIMS: canonical_json(source.claims),
        DEVICES: canonical_json({key: [list(link) for link in links] for key, links in source.devices.items()}),
        CAUTIONS: "".join(f"{line}\n" for line in source.cautions).encode(),
        LEAVES: canonical_json([_place(place) for place in source.places]),
        CHECKPOINTS: canonical_json([_earlier(one) for one in source.checkpoints]),
        LEFT_OUT: canonical_json(source.left_out),
        **{f"evidence/{digest}": content for digest, content in source.evidence.items()},
        **{f"procedures/{digest}.json": text.encode() for digest, text in source.procedures.items()},
    }
    for token, receipt in source.entries:
        members[f"entries/{receipt.position:06}.jws"] = token.encode()
        members[f"entries/{receipt.position:06}.json"] = receipt.canonical()
    for table, rows in source.rows.items():
        if rows:
            lines = sorted((str(row["id"]), leaf_content(table, row)) for row in rows)
            members[f"facts/{table}.ndjson"] = b"".join(line + b"\n" for _, line in lines)
    if source.checkpoint is not None:
        members[CHECKPOINT] = source.checkpoint.encode()
    return members


def about(source: BundleSource) -> dict[str, Any]:
    """What the manifest says beside the members."""
    opening = source.opening
    company = {"id": str(opening.company), "slug": source.slug}
    return {"company": company, "job": str(opening.job), "made_at": utc_text(source.made_at)}


def manifest(members: Mapping[str, bytes], told: Mapping[str, Any]) -> bytes:
    listed = {name: {"sha256": sha256(raw).hexdigest(), "size": len(raw)} for name, raw in members.items()}
    return canonical_json({"format": FORMAT, "version": VERSION, **told, "members": listed})


def write_bundle(source: BundleSource, draw: Callable[[Mapping[str, Any], Members], bytes] | None = None) -> bytes:
    """The zip; with the printed record that `draw` makes of the manifest and the members, where one is wanted.

    Raises `BundleTooLargeError`.
    """
    members = bundle_members(source)
    if draw is not None:
        members[RECORD] = draw(orjson.loads(manifest(members, about(source))), members)
    if len(members) >= MEMBERS_LIMIT or sum(map(len, members.values())) > TOTAL_LIMIT:
        raise BundleTooLargeError(f"The job's record has more than {MEMBERS_LIMIT} members or {TOTAL_LIMIT} bytes.")
    raw = write_zip({MANIFEST: manifest(members, about(source)), **dict(sorted(members.items()))})
    if len(raw) > FILE_LIMIT:
        raise BundleTooLargeError(f"The job's bundle has more than {FILE_LIMIT} bytes.")
    return raw


def write_zip(members: Mapping[str, bytes]) -> bytes:
    """A zip of the members in their order, with fixed times and rights."""
    raw = BytesIO()
    with ZipFile(raw, "w", ZIP_DEFLATED, compresslevel=9) as archive:
        for name, content in members.items():
            is_packed = EVIDENCE_NAME.fullmatch(name) is not None or name == RECORD
            archive.writestr(member_info(name, ZIP_STORED if is_packed else ZIP_DEFLATED), content)
    return raw.getvalue()


def member_info(name: str, packed: int) -> ZipInfo:
    """How a member stands in the zip: with a fixed time and rights, whenever and by whomever it is written."""
    info = ZipInfo(name, _EARLIEST)
    info.create_system, info.external_attr, info.compress_type = 3, 0o100644 << 16, packed
    return info


def _place(place: LeafPlace) -> dict[str, Any]:
    proof = [value.hex() for value in place.proof]
    return {
        "table": place.table,
        "row": str(place.row),
        "index": place.index,
        "leaf": place.leaf.hex(),
        "proof": proof,
    }


def _earlier(one: EarlierCheckpoint) -> dict[str, Any]:
    return {"size": one.size, "note": one.note, "consistency": [value.hex() for value in one.consistency]}
