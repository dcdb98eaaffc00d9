"""Build the museum: `python -m tests.bundles.build` writes `museum/`; with `--check` it only compares.

Everything in it has fixed keys, ids and times, so the same code builds the same bundles. Where another zlib packs
them otherwise, what is compared is what a reader of the zip sees.
"""

import sys
from hashlib import sha256
from io import BytesIO
from zipfile import BadZipFile, ZipFile

from jobs.domain.bundle import write_bundle
from tests.bundles.museum import FOLDER, GOOD, GOOD_SELECTIONS, MUSEUM, good


def built() -> dict[str, bytes]:
    """Every bundle of the museum by the name of its file."""
    whole = {GOOD.name: write_bundle(good()), **{path.name: make(good()) for path, make in GOOD_SELECTIONS.items()}}
    return {**whole, **{one.path.name: one.make(good()) for one in MUSEUM}}


def fingerprint(raw: bytes) -> str:
    """Of what a zip says, however it is packed: names, sizes, check sums, flags and what stands before it."""
    try:
        with ZipFile(BytesIO(raw)) as archive:
            seen = [
                (one.filename, one.file_size, one.CRC, one.flag_bits, one.external_attr, one.compress_type)
                for one in archive.infolist()
            ]
            before = raw[: min(one.header_offset for one in archive.infolist())]
    except BadZipFile:
        return sha256(raw).hexdigest()
    return sha256(repr((before, seen)).encode()).hexdigest()


def differences() -> list[str]:
    """Bundles that are not what the code builds, that are missing, or that the code does not build."""
    found, stored = built(), {path.name: path.read_bytes() for path in FOLDER.glob("*.zip")}
    changed = [
        name
        for name in found.keys() & stored.keys()
        if found[name] != stored[name] and fingerprint(found[name]) != fingerprint(stored[name])
    ]
    return sorted([*changed, *(found.keys() ^ stored.keys())])


def main() -> int:
    if "--check" in sys.argv:
        return len(differences())
    FOLDER.mkdir(exist_ok=True)
    for name, raw in built().items():
        (FOLDER / name).write_bytes(raw)
    return 0


if __name__ == "__main__":
    sys.exit(main())
