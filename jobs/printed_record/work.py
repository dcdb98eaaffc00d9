"""The work behind the steps: kit, consumables, fasteners, adjustment, counts, odometer, photos; each as the procedure
asks for it, with what was recorded or that nothing was.
"""

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from inspections.domain.quantities import inch_fraction
from jobs.domain.entry import Entry, FastenerWork, StepBody
from jobs.domain.procedure import AdjustmentSpec, Fastener, Step
from jobs.printed_record.blocks import NOT_RECORDED, Block, Cell, Heading, Paragraph, Section, Table, Tone, cell, line
from jobs.printed_record.body_words import adjustment_words, consumable_words
from jobs.printed_record.contents import Contents, said
from jobs.printed_record.voice import Voice, typed

Made = tuple[Entry, StepBody]
_BY: Final = ("Entry", "When, by whom")
_WHO: Final = (0.08, 0.24)


def work_section(contents: Contents, voice: Voice) -> Section:
    made: dict[str, list[Made]] = {}
    for entry in contents.acts:
        _, body = said(entry)
        if isinstance(body, StepBody):
            made.setdefault(body.step, []).append((entry, body))
    steps = contents.bench.procedure.steps
    blocks = [
        *_titled("Kit", _kit_rows(steps, made, voice), ("Kit and lot", "Lines"), (0.28, 0.40)),
        *_titled("Consumables", _consumable_rows(steps, made, voice), ("Step", "Used"), (0.28, 0.40)),
        *_titled("Fasteners and torque", _fastener_rows(steps, made, voice), ("Asked", "Done"), (0.30, 0.38)),
        *_titled("Adjustment", _adjustment_rows(steps, made, voice), ("Asked", "Done"), (0.30, 0.38)),
        *_titled("Counts, odometer, photos", _other_rows(steps, made, voice), ("Step", "Recorded"), (0.28, 0.40)),
    ]
    return Section("Kit, torque and adjustment", tuple(blocks) or (Paragraph(line(NOT_RECORDED, Tone.QUIET)),))


Row = tuple[Cell, ...]


def _titled(title: str, rows: Iterator[Row], head: tuple[str, ...], widths: tuple[float, ...]) -> Iterator[Block]:
    found = tuple(rows)
    if found:
        yield Heading(line(title, Tone.STRONG))
        yield Table((*_BY, *head), found, (*_WHO, *widths))


def _by(entry: Entry, voice: Voice) -> Row:
    number = [line(voice.number(entry.id), Tone.STRONG)]
    amendment = voice.contents.amended.get(entry.id)
    if amendment is not None:
        number.append(line(f"amended by {voice.number(amendment.id)}", Tone.DOUBT))
    elif not voice.has_credit(entry.id):
        number.append(line("no credit", Tone.BAD))
    when = (line(voice.act_time(entry)), line(voice.person(entry.technician)))
    return (tuple(number), when)


_MISSING: Final[Row] = (cell("–", Tone.QUIET), cell(None))


def _kit_rows(steps: tuple[Step, ...], made: dict[str, list[Made]], voice: Voice) -> Iterator[Row]:
    for step in steps:
        issued = [(entry, body.kit) for entry, body in made.get(step.key, ()) if body.kit is not None]
        for entry, kit in issued:
            struck = voice.is_struck(entry.id)
            lines = ", ".join(kit.lines) or ("all lines of the kit" if step.issues_kit else "")
            told = [line(lines, struck=struck)] if lines else []
            told += [line(f"left over: {', '.join(kit.left_over)}", struck=struck)] if kit.left_over else []
            yield (*_by(entry, voice), _kit(kit.serial, voice, struck=struck), tuple(told) or cell(None))
        if step.issues_kit and not issued:
            yield (*_MISSING, cell(step.title), cell(", ".join(voice.contents.bench.procedure.kit_lines)))


def _kit(serial: str, voice: Voice, *, struck: bool) -> Cell:
    facts = voice.contents.bench.facts.kits.get(serial)
    first = line(serial, Tone.STRONG, struck=struck)
    if facts is None:
        return (first, line("not on the register", Tone.BAD))
    recalls = [
        line(f"recalled {voice.time(recall.published_at)}: {recall.reason}", Tone.BAD) for recall in facts.recalls
    ]
    told = line(f"lot {facts.lot}, for {facts.coupling}, {len(facts.lines)} lines", struck=struck)
    return (first, told, *recalls)


def _consumable_rows(steps: tuple[Step, ...], made: dict[str, list[Made]], voice: Voice) -> Iterator[Row]:
    for step in steps:
        for entry, body in made.get(step.key, ()):
            if body.consumables:
                uses = {use.key: use for use in body.consumable_use}
                told = [consumable_words(name, product, uses.get(name)) for name, product in body.consumables.items()]
                lines = tuple(line(text, struck=voice.is_struck(entry.id)) for text in told)
                yield (*_by(entry, voice), cell(step.title), lines)
        if step.consumables and not any(body.consumables for _, body in made.get(step.key, ())):
            asked = "; ".join(f"{one.key}: {' or '.join(one.allowed)}" for one in step.consumables)
            yield (*_MISSING, cell(step.title), cell(f"asked: {asked}", Tone.QUIET))


def _fastener_rows(steps: tuple[Step, ...], made: dict[str, list[Made]], voice: Voice) -> Iterator[Row]:
    for step in steps:
        asked = {one.key: one for one in step.fasteners}
        for entry, body in made.get(step.key, ()):
            for work in body.fasteners:
                found = _fastener(step, asked.pop(work.key, None) or _of(step, work.key), work.key)
                yield (*_by(entry, voice), found, _tightened(entry, work, voice))
        for one in asked.values():
            yield (*_MISSING, _fastener(step, one, one.key), cell(None))


def _of(step: Step, key: str) -> Fastener | None:
    return next((one for one in step.fasteners if one.key == key), None)


def _fastener(step: Step, asked: Fastener | None, key: str) -> Cell:
    if asked is None:
        return (line(f"{step.title}: {key}"), line("not asked for", Tone.QUIET))
    grade = f", grade {asked.grade}" if asked.grade else ""
    first = line(f"{asked.count} × {asked.title}, {asked.thread}{grade}")
    return (first, line(f"{asked.torque}, {asked.lubrication}; {step.title}"))


def _tightened(entry: Entry, work: FastenerWork, voice: Voice) -> Cell:
    struck = voice.is_struck(entry.id)
    if work.count == 0:
        return cell("loosened", struck=struck)
    wrench = voice.contents.bench.facts.instruments.get(work.instrument or "")
    known = "" if wrench is not None or work.instrument is None else " (not on the register)"
    torque = typed(work.torque) or f"torque {NOT_RECORDED}"
    lines = [line(f"{work.count} at {torque}, wrench {work.instrument or NOT_RECORDED}{known}", struck=struck)]
    lines.append(line(f"threads {work.lubrication or NOT_RECORDED}", struck=struck))
    if work.order:
        lines.append(line(f"in the order {' '.join(work.order)}", struck=struck))
    if work.unmoved is not None:
        lines.append(line(f"{work.unmoved} did not move", struck=struck))
    return tuple(lines)


def _adjustment_rows(steps: tuple[Step, ...], made: dict[str, list[Made]], voice: Voice) -> Iterator[Row]:
    for step in steps:
        if not step.is_adjustment:
            continue
        asked = _asked(step, step.adjustment)
        for entry, body in made.get(step.key, ()):
            words = adjustment_words(body.adjustment) if body.adjustment else None
            why = [line(f"reason: {body.reason}", struck=voice.is_struck(entry.id))] if body.reason else []
            yield (*_by(entry, voice), asked, (*cell(words, struck=voice.is_struck(entry.id)), *why))
        if not made.get(step.key):
            yield (*_MISSING, asked, cell(None))


def _asked(step: Step, spec: AdjustmentSpec | None) -> Cell:
    if spec is None:
        return cell(step.title)
    parts = [f"by {spec.method}", spec.thread, f"taper {spec.taper}" if spec.taper else None]
    parts.append(_back(spec.turns_back) if spec.turns_back is not None else None)
    return (line(step.title), line(", ".join(part for part in parts if part)))


def _back(turns: Fraction) -> str:
    return f"back {inch_fraction(turns) or turns} turns"


def _other_rows(steps: tuple[Step, ...], made: dict[str, list[Made]], voice: Voice) -> Iterator[Row]:
    for step in steps:
        photos = False
        for entry, body in made.get(step.key, ()):
            told = [f"{name}: {count}" for name, count in (body.counts or {}).items()]
            told += [f"odometer {typed(body.odometer)}"] if body.odometer else []
            told += [f"begun {voice.time(body.started_at)}"] if body.started_at else []
            evidence = entry.signed.evidence
            photos = photos or bool(evidence)
            lines = [line(text, struck=voice.is_struck(entry.id)) for text in told]
            lines += [line(digest, Tone.EXACT) for digest in evidence]
            if lines:
                yield (*_by(entry, voice), cell(step.title), tuple(lines))
        if step.photos and not photos:
            asked = f"{step.title}: {step.photos} photo{'s' if step.photos > 1 else ''} asked for"
            yield (*_MISSING, cell(asked), cell(None))
