"""The verification: every cycle with each of its observations on its own, and the adjustments that began it anew."""

from collections.abc import Iterator
from typing import Final

from jobs.domain.entry import CycleBody, Entry, StepBody
from jobs.domain.procedure import Step
from jobs.printed_record.blocks import NOT_RECORDED, Block, Cell, Heading, Paragraph, Section, Table, Tone, cell, line
from jobs.printed_record.body_words import reading_words
from jobs.printed_record.contents import Contents, said
from jobs.printed_record.voice import Voice

MOST_COLUMNS: Final = 5


def verification_section(contents: Contents, voice: Voice) -> Section:
    steps = [step for step in contents.bench.procedure.steps if step.verification is not None]
    blocks = [block for step in steps for block in _blocks(step, contents, voice)]
    nothing = Paragraph(line("The procedure asks for no verification cycles.", Tone.QUIET))
    return Section("Verification", tuple(blocks) or (nothing,))


def _blocks(step: Step, contents: Contents, voice: Voice) -> Iterator[Block]:
    asked = step.verification
    if asked is None:
        return
    bench = contents.bench
    passed = len(bench.cycles)
    told = f"{passed} of {asked.cycles} cycles passed in a row after the last adjustment; {bench.failed_cycles} failed."
    yield Heading(line(step.title, Tone.STRONG))
    yield Paragraph(line(told, Tone.GOOD if bench.verification is not None else Tone.BAD), kept=True)
    acts = [entry for entry in contents.acts if _belongs(entry, step, contents)]
    if not any(isinstance(said(entry)[1], CycleBody) for entry in acts):
        yield Paragraph(line(NOT_RECORDED, Tone.QUIET))
        return
    names = asked.observations
    apart = len(names) <= MOST_COLUMNS
    columns = tuple(name.replace("_", " ") for name in names) if apart else ("Observations",)
    share = 0.44 / len(columns)
    head = ("Entry", "When, by whom", *columns, "With, read", "Outcome")
    rows = tuple(_row(entry, names if apart else (), len(columns), voice) for entry in acts)
    yield Table(head, rows, (0.07, 0.20, *(share for _ in columns), 0.15, 0.14))


def _belongs(entry: Entry, step: Step, contents: Contents) -> bool:
    """A cycle of the step, or an adjustment, after which all is to be verified again."""
    _, body = said(entry)
    if isinstance(body, CycleBody):
        return body.step == step.key
    found = contents.bench.step(body.step) if isinstance(body, StepBody) else None
    return found is not None and found.is_adjustment


def _row(entry: Entry, names: tuple[str, ...], columns: int, voice: Voice) -> tuple[Cell, ...]:
    _, body = said(entry)
    struck = voice.is_struck(entry.id)
    when = (line(voice.act_time(entry)), line(voice.person(entry.technician)))
    number = (line(voice.number(entry.id), Tone.STRONG),)
    if not isinstance(body, CycleBody):
        blank = cell("–", Tone.QUIET)
        return (number, when, *(blank for _ in range(columns)), blank, cell("adjusted: counts anew", Tone.DOUBT))
    seen = body.observations
    if names:
        told = [_seen(seen.get(name), struck=struck) for name in names]
    else:
        told = [tuple(line(f"{name}: {'yes' if found else 'NO'}") for name, found in seen.items())]
    readings = [line(f"{one.characteristic}: {reading_words(one)}") for one in body.readings]
    with_what = (*cell(body.instrument, struck=struck), *readings)
    return (number, when, *told, with_what, _outcome(entry, body, voice))


def _seen(found: bool | None, *, struck: bool) -> Cell:
    if found is None:
        return cell(None)
    return cell("yes" if found else "NO", Tone.PLAIN if found else Tone.BAD, struck=struck)


def _outcome(entry: Entry, body: CycleBody, voice: Voice) -> Cell:
    bench = voice.contents.bench
    passed = all(body.observations.values())
    first = line(f"cycle {body.cycle}: {'passed' if passed else 'FAILED'}", Tone.GOOD if passed else Tone.BAD)
    if not voice.has_credit(entry.id):
        return (first, line("no credit", Tone.BAD))
    if entry.id == bench.verification:
        return (first, line("completes the verification", Tone.GOOD))
    return (first,) if entry.id in bench.cycles or not passed else (first, line("void since", Tone.DOUBT))
