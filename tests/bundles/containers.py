"""Ways to break the container of a bundle: what a zip tool, or somebody who writes zips by hand, can do."""

import struct
import warnings
from io import BytesIO
from typing import Any
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from jobs.domain.bundle import MANIFEST, BundleSource, about, bundle_members, manifest, write_zip
from tests.bundles.breaking import Make, zipped

_DATE = (1980, 1, 1, 0, 0, 0)


def not_a_zip(source: BundleSource) -> bytes:
    return b"This was a bundle.\n" * 10


def something_before(source: BundleSource) -> bytes:
    return b"#!/bin/sh\nexit 0\n" + good(source)


def good(source: BundleSource) -> bytes:
    return zipped(bundle_members(source), source)


def _with(source: BundleSource, info: ZipInfo, content: bytes) -> bytes:
    raw = BytesIO(good(source))
    with ZipFile(raw, "a") as archive:
        info.compress_type = ZIP_DEFLATED
        archive.writestr(info, content, compresslevel=9)
    return raw.getvalue()


def named(name: str) -> Make:
    def make(source: BundleSource) -> bytes:
        info = ZipInfo("x", _DATE)
        info.filename = name
        return _with(source, info, b"evil\n")

    return make


def link(source: BundleSource) -> bytes:
    info = ZipInfo("entries/link.jws", _DATE)
    info.create_system, info.external_attr = 3, 0o120777 << 16
    return _with(source, info, b"/etc/passwd")


def bomb(source: BundleSource) -> bytes:
    return _with(source, ZipInfo("entries/000099.jws", _DATE), bytes(65 * 1024 * 1024))


def lying_bomb(source: BundleSource) -> bytes:
    """A member that unpacks to 8 MiB and says that it has 100 bytes."""
    raw = bytearray(_with(source, ZipInfo("entries/000099.jws", _DATE), bytes(8 * 1024 * 1024)))
    said = struct.pack("<L", 8 * 1024 * 1024)
    for signature, offset, name_at in ((b"PK\x03\x04", 22, 30), (b"PK\x01\x02", 24, 46)):
        at = raw.rindex(b"entries/000099.jws") - name_at if signature[2] == 1 else raw.index(b"entries/000099.jws") - 30
        assert raw[at : at + 4] == signature
        assert raw[at + offset : at + offset + 4] == said
        raw[at + offset : at + offset + 4] = struct.pack("<L", 100)
    return bytes(raw)


def name_twice(source: BundleSource) -> bytes:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return _with(source, ZipInfo("claims.json", _DATE), bundle_members(source)["claims.json"])


def damaged(source: BundleSource) -> bytes:
    raw = bytearray(good(source))
    at = raw.index(b"claims.json") + len("claims.json") + 40
    raw[at] ^= 0xFF
    return bytes(raw)


def no_manifest(source: BundleSource) -> bytes:
    return write_zip(dict(sorted(bundle_members(source).items())))


def told(**said: Any) -> Make:
    return lambda source: zipped(bundle_members(source), source, **said)


def unlisted(source: BundleSource) -> bytes:
    members = dict(sorted(bundle_members(source).items()))
    listing = manifest({name: raw for name, raw in members.items() if name != "entries/000028.jws"}, about(source))
    return write_zip({MANIFEST: listing, **members})


def not_there(source: BundleSource) -> bytes:
    members = dict(sorted(bundle_members(source).items()))
    listing = manifest(members, about(source))
    del members["log/checkpoints.json"]
    return write_zip({MANIFEST: listing, **members})


def changed_unlisted(source: BundleSource) -> bytes:
    members = dict(sorted(bundle_members(source).items()))
    listing = manifest(members, about(source))
    members["cautions.txt"] = members["cautions.txt"].replace(b"crushes", b"soothes")
    return write_zip({MANIFEST: listing, **members})
