"""Verify several bundles in one file: each as it would be alone, and step 9: that they are what was asked for.

9. The selection: `population.txt` is drawn again, and the bundles here are those that the draw gives, no other and
   none missing; each is of its job, of the same company, snapshot and log, and fits what was asked for. What a bundle
   says of an entry of another bundle here is held against it. Whether the population is whole, a list cannot prove:
   the auditor holds it against one that he fetched before he named the seed, or against all leaves of the log.

Example: a job that would have been drawn is left out of the list. Its phone worked on a job that was drawn, which
names it; or the auditor's own list of last week has it; or the log has its first entry.
"""

from collections.abc import Iterator, Mapping
from hashlib import sha256
from typing import IO, Any, Final
from zipfile import ZIP_STORED, ZipFile, ZipInfo

from jobs.domain import bundle_selection as selection
from jobs.domain.bundle import FILE_LIMIT, MANIFEST
from jobs.domain.bundle_parts import MALFORMED
from jobs.domain.verification import examine
from jobs.domain.verification_container import (
    END_LENGTH,
    UNREADABLE,
    Shape,
    archive_remarks,
    content_of,
    read_manifest,
    refusal,
)
from jobs.domain.verification_finding import Remark, Report, SelectionReport, Step, mismatch, unchecked
from jobs.domain.verification_log import Trust
from jobs.domain.verification_population import Beside, population_remarks
from jobs.domain.verification_sample import Inner, drawn_remarks, inner_of, inner_remarks, together_remarks

SHAPE: Final = Shape(
    selection.FORMAT,
    selection.VERSION,
    selection.NAME,
    frozenset({ZIP_STORED}),
    selection.FILE_LIMIT,
    selection.MEMBERS_LIMIT,
    selection.FILE_LIMIT,
    ("selection", dict),
)


def is_selection(file: IO[bytes]) -> bool:
    """Whether a file says that it holds several bundles: nothing else of it is believed."""
    try:
        with ZipFile(file) as archive:
            return selection.POPULATION in archive.namelist()
    except UNREADABLE:
        return False
    finally:
        file.seek(0)


def verify_selection(file: IO[bytes], trust: Trust, beside: Beside) -> SelectionReport:
    """What is wrong with the bundles in `file`, a seekable stream; one of them is in memory at a time."""
    size = file.seek(0, 2)
    if size > SHAPE.file:
        return SelectionReport({}, (), [_wrong("too_large", "", f"The file is larger than {SHAPE.file} bytes.")], ())
    file.seek(-min(size, END_LENGTH), 2)
    tail = file.read(END_LENGTH)
    try:
        with ZipFile(file) as archive:
            return _Selected(archive, tail, trust, beside).report()
    except UNREADABLE as error:
        return SelectionReport({}, (), [_wrong("no_zip", "", f"It cannot be opened as a zip: {error}.")], ())


class _Selected:
    """A verification under way."""

    def __init__(self, archive: ZipFile, tail: bytes, trust: Trust, beside: Beside) -> None:
        self.archive, self.trust, self.beside = archive, trust, beside
        self.remarks = list(archive_remarks(archive, tail, SHAPE))
        self.infos = {info.filename: info for info in archive.infolist()[: SHAPE.members] if self._is_read(info)}
        self.reports: list[tuple[str, Report]] = []
        self.inners: list[Inner] = []
        self.population: list[str] = []
        self.left = selection.UNPACKED_LIMIT

    def _is_read(self, info: ZipInfo) -> bool:
        refused = refusal(info, FILE_LIMIT, SHAPE)
        if refused is not None:
            self.remarks.append(refused)
        return refused is None

    def _content(self, name: str) -> bytes | None:
        info = self.infos.get(name)
        return None if info is None else content_of(self.archive, info, self.remarks)

    def report(self) -> SelectionReport:
        manifest = read_manifest(self._content(MANIFEST), SHAPE, self.remarks)
        if manifest is None:
            what = "Without a manifest of version 1 nothing else can be checked."
            self.remarks.append(unchecked(Step.SELECTION, "not_reached", "", what))
            return SelectionReport({}, (), self.remarks, ())
        try:
            self._check(manifest)
        except MALFORMED as error:
            what = f"What this step reads is not as the format says ({type(error).__name__}: {error})."
            self.remarks.append(mismatch(Step.SELECTION, "malformed", "", what))
        checked = (
            (Step.CONTAINER, f"{len(manifest['members'])} members"),
            (Step.SELECTION, f"{len(self.inners)} bundles of a population of {len(self.population)}"),
        )
        return SelectionReport(manifest["selection"], checked, self.remarks, tuple(self.reports))

    def _check(self, manifest: Mapping[str, Any]) -> None:
        raw = self._member(manifest, selection.POPULATION) or b""
        self.population = raw.decode("ascii").splitlines()
        self.remarks += self._listing(manifest)
        self.remarks += drawn_remarks(manifest["selection"], raw, self.population, self._jobs())
        for job in self._jobs():
            self._inner(manifest, job)
        self.remarks += together_remarks(manifest, self.population, self.inners)
        self.remarks += population_remarks(manifest["selection"], self.population, self.inners, self.beside)

    def _jobs(self) -> list[str]:
        found = (selection.JOB_NAME.fullmatch(name) for name in self.infos)
        return sorted(match[1] for match in found if match)

    def _listing(self, manifest: Mapping[str, Any]) -> Iterator[Remark]:
        listed = manifest["members"].keys()
        for name in sorted(self.infos.keys() - listed - {MANIFEST}):
            yield _wrong("member_unlisted", name, "The manifest does not list it.")
        for name in sorted(listed - self.infos.keys()):
            yield _wrong("member_missing", name, "The manifest lists it; it is not there.")

    def _member(self, manifest: Mapping[str, Any], name: str) -> bytes | None:
        raw = self._content(name)
        said = manifest["members"].get(name)
        if raw is not None and said not in (None, {"sha256": sha256(raw).hexdigest(), "size": len(raw)}):
            self.remarks.append(_wrong("member_changed", name, "It is not what the manifest lists."))
        return raw

    def _inner(self, manifest: Mapping[str, Any], job: str) -> None:
        name = f"jobs/{job}.zip"
        raw = self._member(manifest, name)
        if raw is None:
            return
        if self.left <= 0:
            what = f"The bundles unpack to more than {selection.UNPACKED_LIMIT} bytes; it is not read."
            self.remarks.append(_wrong("too_large", name, what))
            return
        report, parts = examine(raw, self.trust)
        self.reports.append((job, report))
        if parts is None:
            return
        self.left -= sum(int(one["size"]) for one in parts.manifest["members"].values())
        inner = inner_of(job, parts)
        self.inners.append(inner)
        self.remarks += inner_remarks(manifest, inner)


def _wrong(code: str, where: str, what: str) -> Remark:
    return mismatch(Step.CONTAINER, code, where, what)
