"""Step 1: the container. What is opened, before anything in it is believed.

1. It is a zip with nothing before and behind, stored or deflated members, no directory, link or encryption.
2. Every name is one of the format's: no way out of a folder, no name twice.
3. No member is larger than it says, nor larger than a bundle's may be, nor are all together.
4. The manifest says format `rebuild-bundle`, version 1, and lists every other member with size and SHA-256.

Nothing is ever written to a disk. Example: a member `../evil.txt` is named as a way out and not read.
"""

import re
import zlib
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from io import BytesIO
from struct import Struct
from typing import IO, Any, Final
from zipfile import ZIP_DEFLATED, ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from jobs.domain import bundle
from jobs.domain.verification_finding import Remark, Step, mismatch
from shops.domain.strict_json import StrictJsonError, read_strict_object

_HEADER: Final = Struct("<L2xHH16x2H")  # of a member: signature, flags, method, lengths of name and extra field
_SIGNATURE: Final = 0x04034B50
_UTF8: Final = 0x800
_LINK: Final = 0o120000
_ENCRYPTED: Final = 0x1
END_LENGTH: Final = 22  # of a zip's end record without a comment


@dataclass(frozen=True, slots=True)
class Shape:
    """What a zip of a format may be: its names, how members are packed, and how much there may be of it."""

    format: str
    version: int
    name: re.Pattern[str]
    packed: frozenset[int]
    file: int
    members: int
    total: int
    says: tuple[str, type]  # what the manifest has beside the members


JOB_SHAPE: Final = Shape(
    bundle.FORMAT,
    bundle.VERSION,
    bundle.NAME,
    frozenset({ZIP_STORED, ZIP_DEFLATED}),
    bundle.FILE_LIMIT,
    bundle.MEMBERS_LIMIT,
    bundle.TOTAL_LIMIT,
    ("job", str),
)
UNREADABLE: Final = (BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError, OverflowError)


@dataclass(frozen=True, slots=True)
class Container:
    """The members that could be read, without the manifest; and the manifest, where it is one."""

    members: Mapping[str, bytes]
    manifest: Mapping[str, Any] | None


def open_container(raw: bytes) -> tuple[Container, list[Remark]]:
    if len(raw) > JOB_SHAPE.file:
        return Container({}, None), [_wrong("too_large", "", f"The file is larger than {JOB_SHAPE.file} bytes.")]
    try:
        with ZipFile(BytesIO(raw)) as archive:
            remarks = list(archive_remarks(archive, raw[-END_LENGTH:], JOB_SHAPE))
            members = dict(_read(archive, remarks))
    except UNREADABLE as error:
        return Container({}, None), [_wrong("no_zip", "", f"It cannot be opened as a zip: {error}.")]
    manifest = read_manifest(members.pop(bundle.MANIFEST, None), JOB_SHAPE, remarks)
    if manifest is not None:
        remarks += _listing_remarks(manifest["members"], members)
    return Container(members, manifest), remarks


def archive_remarks(archive: ZipFile, tail: bytes, shape: Shape) -> Iterator[Remark]:
    """What is wrong with the zip as a whole; `tail` are its last bytes."""
    infos = archive.infolist()
    if len(infos) > shape.members:
        yield _wrong("too_large", "", f"It has more than {shape.members} members.")
    if sum(info.file_size for info in infos) > shape.total:
        yield _wrong("too_large", "", f"Its members have more than {shape.total} bytes together.")
    for name, count in Counter(info.filename for info in infos).items():
        if count > 1:
            yield _wrong("name_twice", name, f"{count} members have this name.")
    first = min((info.header_offset for info in infos), default=0)
    if first or archive.comment or tail[:4] != b"PK\x05\x06":
        yield _wrong("no_zip", "", "Something stands before or behind the zip.")


def _read(archive: ZipFile, remarks: list[Remark]) -> Iterator[tuple[str, bytes]]:
    left = bundle.TOTAL_LIMIT
    for info in archive.infolist()[: bundle.MEMBERS_LIMIT]:
        refused = refusal(info, left, JOB_SHAPE)
        if refused is not None:
            remarks.append(refused)
            continue
        content = content_of(archive, info, remarks)
        if content is not None:
            left -= len(content)
            yield info.filename, content


def refusal(info: ZipInfo, left: int, shape: Shape) -> Remark | None:
    """Why a member is not read: its name, its kind, or its size, where `left` bytes may be read still."""
    name = info.filename
    if shape.name.fullmatch(name) is None or ".." in name:
        return _wrong("name_refused", name, "This is no name of a bundle's member; it is not read.")
    if info.external_attr >> 16 & 0o170000 == _LINK or info.flag_bits & _ENCRYPTED:
        return _wrong("member_refused", name, "It is a link, or encrypted; it is not read.")
    if info.compress_type not in shape.packed:
        return _wrong("member_refused", name, "It is packed in a way that the format has not; it is not read.")
    if info.file_size > min(bundle.MEMBER_LIMIT, left):
        return _wrong("too_large", name, f"It says that it has {info.file_size} bytes; it is not read.")
    return None


def content_of(archive: ZipFile, info: ZipInfo, remarks: list[Remark]) -> bytes | None:
    """What it holds, and never more than it says: the rest is not even unpacked, and it is told as damaged."""
    try:
        content = _unpacked(archive.fp, info)
    except UNREADABLE as error:
        remarks.append(_wrong("member_damaged", info.filename, f"It cannot be unpacked: {error}."))
        return None
    return content


def _unpacked(file: IO[bytes] | None, info: ZipInfo) -> bytes:
    """As `ZipFile.read` has it, without its cost for each member: header, data, size and check sum have to agree."""
    if file is None:
        raise ValueError("the file is closed")
    file.seek(info.header_offset)
    header = file.read(_HEADER.size)
    signature, flags, method, name_length, extra_length = (
        _HEADER.unpack(header) if len(header) == _HEADER.size else (0,) * 5
    )
    name = file.read(name_length)
    if signature != _SIGNATURE or name != info.orig_filename.encode("utf-8" if flags & _UTF8 else "cp437"):
        raise ValueError("its header is not the one of the directory")
    if method != info.compress_type or flags != info.flag_bits:
        raise ValueError("its header says another way of packing than the directory")
    file.seek(extra_length, 1)
    packed = file.read(info.compress_size)
    content = packed if method == ZIP_STORED else _inflated(packed, info.file_size)
    if len(content) != info.file_size or len(packed) != info.compress_size:
        raise ValueError("it does not have the size that it says")
    if zlib.crc32(content) != info.CRC:
        raise ValueError("its check sum is wrong")
    return content


def _inflated(packed: bytes, size: int) -> bytes:
    """At most one byte more than `size`."""
    unpacking = zlib.decompressobj(-zlib.MAX_WBITS)
    content = unpacking.decompress(packed, size + 1)
    if not unpacking.eof or unpacking.unused_data:
        raise ValueError("it does not end where it says")
    return content


def read_manifest(raw: bytes | None, shape: Shape, remarks: list[Remark]) -> Mapping[str, Any] | None:
    if raw is None:
        remarks.append(_wrong("manifest_missing", bundle.MANIFEST, "There is no manifest."))
        return None
    try:
        found = read_strict_object(raw)
    except StrictJsonError as error:
        remarks.append(_wrong("manifest_malformed", bundle.MANIFEST, f"It is no JSON object: {error.message}"))
        return None
    if found.get("format") != shape.format or found.get("version") != shape.version:
        said = f"{found.get('format')!r} version {found.get('version')!r}"
        remarks.append(_wrong("version_unknown", bundle.MANIFEST, f"It says {said}; known is version 1."))
        return None
    said, kind = shape.says
    if not isinstance(found.get("members"), dict) or not isinstance(found.get(said), kind):
        remarks.append(_wrong("manifest_malformed", bundle.MANIFEST, f"It names no {said} or no members."))
        return None
    return found


def _listing_remarks(listed: Mapping[str, Any], members: Mapping[str, bytes]) -> Iterator[Remark]:
    for name in sorted(members.keys() - listed.keys()):
        yield _wrong("member_unlisted", name, "The manifest does not list it.")
    for name in sorted(listed.keys() - members.keys()):
        yield _wrong("member_missing", name, "The manifest lists it; it is not there.")
    for name in sorted(members.keys() & listed.keys()):
        content = members[name]
        if listed[name] != {"sha256": sha256(content).hexdigest(), "size": len(content)}:
            yield _wrong("member_changed", name, "It is not what the manifest lists.")


def _wrong(code: str, where: str, what: str) -> Remark:
    return mismatch(Step.CONTAINER, code, where, what)
