"""What nobody has to believe: the chain's head, the log's checkpoint, the time in which each entry was made, what
verifying the bundle found when it was printed, and how to do that again without anybody.
"""

from base64 import b64encode
from collections.abc import Iterator
from dataclasses import replace
from datetime import datetime
from hashlib import sha256
from typing import Final

from jobs.domain.checkpoint import Checkpoint, CheckpointError, read_checkpoint_text
from jobs.domain.signed_note import NoteError, read_note
from jobs.domain.time_window import Below, SignedSize, TimeWindow
from jobs.domain.verification_finding import CANNOT_KNOW, OF_A_JOB, Kind, Remark, Step
from jobs.printed_record.blocks import (
    NOT_RECORDED,
    Block,
    Cell,
    Code,
    Facts,
    Heading,
    Line,
    Notice,
    Paragraph,
    Run,
    Section,
    Table,
    Tone,
    cell,
    line,
)
from jobs.printed_record.contents import Contents
from jobs.printed_record.voice import Voice

OFFLINE: Final = "python -m jobs.verify BUNDLE.zip --log-key KEY --checkpoint KEPT.note"
_TITLES: Final = {
    Step.CONTAINER: "container",
    Step.SIGNATURES: "signatures",
    Step.KEYS: "keys at the time of the act",
    Step.DEVICE_CHAINS: "device chains",
    Step.JOB_CHAIN: "job chain",
    Step.INCLUSION: "rows and their proofs",
    Step.CHECKPOINTS: "checkpoints",
    Step.RECOMPUTATION: "recomputation",
}
MOST_REMARKS: Final = 40


def proof_section(contents: Contents, voice: Voice) -> Section:
    newest = checkpoint_of(contents)
    blocks: list[Block] = [Facts(tuple(_chain(contents, newest, voice)), wide=True)]
    blocks += [Heading(line("Verified when it was printed", Tone.STRONG)), *_verified(contents)]
    blocks += [Heading(line("Each entry in the log, and the time in which it was made", Tone.STRONG))]
    blocks += [Paragraph(line(_WINDOW, Tone.QUIET), kept=True), _windows(contents, voice)]
    blocks += [Heading(line("What no record can show", Tone.STRONG))]
    blocks += [Paragraph(line(f"– {sentence}")) for sentence in CANNOT_KNOW]
    return Section("Proof", tuple(blocks))


_WINDOW: Final = (
    "An entry is younger than the checkpoint that its phone names in it, and older than the first checkpoint over it. "
    "The times are those that the log's key signed with the checkpoints; witnesses and whoever kept one can say more."
)


def chain_head(contents: Contents) -> str:
    return str(contents.parts.claims.get("chain_head") or "")


def checkpoint_of(contents: Contents) -> Checkpoint | None:
    return _checkpoint(contents.parts.checkpoint)


def _checkpoint(raw: bytes | None) -> Checkpoint | None:
    try:
        return None if raw is None else read_checkpoint_text(read_note(raw).text)
    except (NoteError, CheckpointError):
        return None


def _chain(contents: Contents, newest: Checkpoint | None, voice: Voice) -> Iterator[tuple[str, Cell]]:
    yield "Opening, SHA-256", cell(sha256(contents.parts.opening).hexdigest(), Tone.EXACT)
    yield "Entries in the job's chain", cell(str(len(contents.entries)))
    yield "Chain head", cell(chain_head(contents), Tone.EXACT)
    for digest, procedure in contents.bench.facts.procedures.items():
        yield f"{procedure.code} rev {procedure.revision}, SHA-256", cell(digest, Tone.EXACT)
    if newest is None:
        yield "Newest checkpoint of the log", cell(None)
        return
    yield (
        "Newest checkpoint of the log",
        (
            line(f"{newest.size} leaves, signed {_signed_at(newest, voice)}, origin {newest.origin}"),
            line(b64encode(newest.root).decode(), Tone.EXACT),
            *_signers(contents),
        ),
    )


def _signed_at(newest: Checkpoint, voice: Voice) -> str:
    return voice.time(newest.signed_at) or "at a time that it does not tell"


def _signers(contents: Contents) -> Iterator[Line]:
    for signature in read_note(contents.parts.checkpoint or b"").signatures:
        yield line(f"with a signature of {signature.name}", Tone.QUIET)


def _verified(contents: Contents) -> Iterator[Block]:
    checked = dict(contents.report.checked)
    told = "; ".join(f"{step.value} {_TITLES[step]}: {checked.get(step, 'not reached')}" for step in OF_A_JOB)
    yield Paragraph(line(f"{told}."))
    wrong = contents.contradictions
    if wrong:
        yield Notice(Tone.BAD, tuple(_remark(one) for one in wrong[:MOST_REMARKS]))
    else:
        yield Paragraph(line("Nothing in the bundle contradicts anything else in it.", Tone.GOOD))
    yield from (Paragraph(_remark(one)) for one in _others(contents))
    if len(wrong) > MOST_REMARKS:
        yield Paragraph(line(f"And {len(wrong) - MOST_REMARKS} more: verify the bundle to see them all."))


def _others(contents: Contents) -> Iterator[Remark]:
    """One of each kind; of how many, where there are more."""
    by_code: dict[str, list[Remark]] = {}
    for remark in contents.report.remarks:
        if remark.kind is not Kind.MISMATCH:
            by_code.setdefault(remark.code, []).append(remark)
    for first, *others in by_code.values():
        yield replace(first, what=f"{first.what} So are {len(others)} more.") if others else first


_KINDS: Final = {
    Kind.MISMATCH: ("Does not match", Tone.BAD),
    Kind.UNCHECKED: ("Could not be checked", Tone.DOUBT),
    Kind.NOTE: ("Note", Tone.STRONG),
}


def _remark(one: Remark) -> Line:
    name, tone = _KINDS[one.kind]
    where = f"{one.where}: " if one.where else ""
    return (Run(f"{name} ({one.step.value}, {one.code}): ", tone), Run(f"{where}{one.what}"))


def _windows(contents: Contents, voice: Voice) -> Block:
    """Neighbours in the chain with the same window are one row."""
    positions = {str(entry.signed.id): entry.sent.position for entry in contents.entries}
    groups: list[tuple[TimeWindow, list[int]]] = []
    for one in contents.report.windows:
        if not groups or groups[-1][0] != one.window:
            groups.append((one.window, []))
        groups[-1][1].append(positions[one.entry])
    rows = tuple(
        (cell(_span(found), Tone.STRONG), _after(window, voice), _before(window, voice)) for window, found in groups
    )
    return Table(("Entries", "Signed after", "Signed before"), rows, (0.16, 0.42, 0.42)) if rows else _NO_WINDOWS


_NO_WINDOWS: Final = Paragraph(line(NOT_RECORDED, Tone.QUIET))
_UNPROVED: Final = {
    Below.NONE_NAMED: "not proved: it names no checkpoint",
    Below.NOT_HERE: "not proved: the checkpoint that it names is not here",
    Below.OTHER_ROOT: "NOT THIS LOG: it names a root that this log never signed",
}


def _after(window: TimeWindow, voice: Voice) -> Cell:
    if window.after is None:
        return cell(_UNPROVED.get(window.below), Tone.BAD if window.below is Below.OTHER_ROOT else Tone.QUIET)
    return _clock(window.after, window.opens_at, voice)


def _before(window: TimeWindow, voice: Voice) -> Cell:
    if window.before is None:
        return cell("not yet under a checkpoint", Tone.QUIET)
    return _clock(window.before, window.closes_at, voice)


def _clock(checkpoint: SignedSize, at: datetime | None, voice: Voice) -> Cell:
    told = voice.time(at) or "a time that the checkpoint does not tell"
    return (line(told), line(f"the checkpoint of {checkpoint.size} leaves", Tone.QUIET))


def _span(numbers: list[int]) -> str:
    first, last = min(numbers), max(numbers)
    return f"#{first}" if first == last else f"#{first} to #{last}"


def verify_code(contents: Contents) -> Code:
    """Where to ask whether this is still the newest state of the record; and how to verify without asking anybody."""
    head, job = chain_head(contents), contents.parts.job
    address = contents.register.get("address")
    company = contents.parts.manifest["company"]["id"]
    text = f"urn:uuid:{job}#{head}"
    asks = "This server gave no address of its own: the code holds job and chain head."
    if address:
        text = f"{str(address).rstrip('/')}/v1/companies/{company}/jobs/{job}/chain_heads/{head}"
        asks = "The code asks the record whether this is its newest state, and what became of the release since."
    beside = (
        line("Check this record", Tone.STRONG),
        line(asks),
        line("Without asking anybody: get the job's bundle and run", Tone.PLAIN),
        line(OFFLINE, Tone.EXACT),
        (Run("Chain head "), Run(head or "not recorded", Tone.EXACT)),
    )
    return Code(text, beside)
