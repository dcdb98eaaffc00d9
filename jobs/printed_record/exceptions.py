"""What was out of the ordinary: entries without credit and why, amendments, holds, pauses, hand-overs, revisions."""

from collections.abc import Iterator
from typing import Final

from jobs.domain.entry import AmendmentBody, Entry, EntryKind
from jobs.domain.finding import Finding
from jobs.printed_record.blocks import Block, Cell, Heading, Line, Paragraph, Run, Section, Table, Tone, cell, line
from jobs.printed_record.body_words import body_words
from jobs.printed_record.contents import Contents, said
from jobs.printed_record.voice import KINDS, Voice

_CUSTODY: Final = frozenset(
    {
        EntryKind.HOLD,
        EntryKind.CLEAR,
        EntryKind.PAUSE,
        EntryKind.RESUME,
        EntryKind.HAND_OVER,
        EntryKind.MOVE,
        EntryKind.CONDEMN,
    }
)
_WIDTHS: Final = (0.08, 0.25, 0.67)


def exceptions_section(contents: Contents, voice: Voice) -> Section:
    blocks: list[Block] = []
    amendments = [(contents.bench.entries[at], by) for at, by in contents.amended.items()]
    if amendments:
        rows = tuple(_amendment(before, after, voice) for before, after in amendments)
        blocks += _titled("Amended: what was said, and what it should have said", rows, "Struck, and in its place")
    found = [entry for entry in contents.acts if contents.bench.outcomes[entry.id].findings]
    without = tuple(_finding_row(entry, voice) for entry in found if not voice.has_credit(entry.id))
    if without:
        blocks += _titled("Entries without credit", without, "What was the matter, and what cures it")
    marked = tuple(_remark_rows([entry for entry in found if voice.has_credit(entry.id)], voice))
    if marked:
        blocks.append(Heading(line("Entries with credit, and a remark", Tone.STRONG)))
        blocks.append(Table(("What is to be known of them", "Entries"), marked, (0.7, 0.3)))
    custody = tuple(_custody_row(entry, voice) for entry in contents.acts if entry.kind in _CUSTODY)
    if custody:
        blocks += _titled("Holds, pauses, hand-overs, revisions, condemnation", custody, "What was said")
    notes = tuple(_note_row(entry, voice) for entry in contents.acts if entry.signed.note)
    if notes:
        blocks += _titled("Notes", notes, "As typed")
    blocks += _open_holds(contents, voice)
    return Section("Exceptions", tuple(blocks) or (Paragraph(line("None. Every entry has credit, without a remark.")),))


def _titled(title: str, rows: tuple[tuple[Cell, ...], ...], last: str) -> list[Block]:
    return [Heading(line(title, Tone.STRONG)), Table(("Entry", "When, by whom", last), rows, _WIDTHS)]


def _who(entry: Entry, voice: Voice) -> tuple[Cell, Cell]:
    kind, body = said(entry)
    step = getattr(body, "step", None)
    name = "amendment" if isinstance(entry.body, AmendmentBody) else KINDS[kind]
    what = f"{voice.step(step)}: {name}" if step else name
    lines = (line(voice.act_time(entry)), line(voice.person(entry.technician)), line(what, Tone.QUIET))
    return (line(voice.number(entry.id), Tone.STRONG),), lines


def _amendment(before: Entry, after: Entry, voice: Voice) -> tuple[Cell, ...]:
    number, who = _who(after, voice)
    body = after.body
    reason = body.reason if isinstance(body, AmendmentBody) else ""
    was, now = body_words(said(before)[1], voice), body_words(said(after)[1], voice)
    lines: list[Line] = [line(f"Amends {voice.number(before.id)}: {reason}", Tone.STRONG)]
    lines += [line(text, struck=True) for text in was]
    lines += [line(text) for text in now]
    return number, who, tuple(lines)


def _finding_row(entry: Entry, voice: Voice) -> tuple[Cell, ...]:
    lines = [line for found in voice.contents.bench.outcomes[entry.id].findings for line in _finding(found)]
    return (*_who(entry, voice), tuple(lines))


def _remark_rows(entries: list[Entry], voice: Voice) -> Iterator[tuple[Cell, ...]]:
    """The same remark on many entries is said once."""
    by_finding: dict[Finding, list[str]] = {}
    for entry in entries:
        for found in voice.contents.bench.outcomes[entry.id].findings:
            by_finding.setdefault(found, []).append(voice.number(entry.id))
    for found, numbers in by_finding.items():
        yield tuple(_finding(found)), cell(", ".join(dict.fromkeys(numbers)))


def _finding(found: Finding) -> Iterator[Line]:
    name = f"R{found.rule} {found.code.replace('_', ' ')}: "
    yield (Run(name, Tone.BAD if found.withholds_credit else Tone.DOUBT), Run(found.what))
    if found.cure:
        yield (Run("Cure: ", Tone.STRONG), Run(found.cure))


def _custody_row(entry: Entry, voice: Voice) -> tuple[Cell, ...]:
    words = tuple(line(text) for text in body_words(entry.body, voice))
    return (*_who(entry, voice), words or cell(None))


def _note_row(entry: Entry, voice: Voice) -> tuple[Cell, ...]:
    return (*_who(entry, voice), cell(entry.signed.note, struck=voice.is_struck(entry.id)))


def _open_holds(contents: Contents, voice: Voice) -> Iterator[Block]:
    holds = list(contents.bench.holds.values())
    if holds:
        yield Heading(line("Holds that are open", Tone.STRONG))
        for hold in holds:
            yield Paragraph(
                (Run(f"{voice.number(hold.entry)}: ", Tone.STRONG), Run(f"{hold.reason} {hold.cure}", Tone.BAD))
            )
