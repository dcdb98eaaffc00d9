"""The first page: what this is about, what became of it, what is due, and where to check it."""

from collections.abc import Iterator
from typing import Any, Final

from inspections.domain.judging import Verdict
from jobs.domain.availability import State
from jobs.domain.bundle_parts import Row
from jobs.domain.job_state import StepStatus, step_states
from jobs.printed_record.blocks import (
    NOT_RECORDED,
    Block,
    Cell,
    Facts,
    Heading,
    Line,
    Notice,
    Paragraph,
    Run,
    Section,
    Tone,
    cell,
    line,
)
from jobs.printed_record.contents import Contents
from jobs.printed_record.release import is_newest, release_row, release_words
from jobs.printed_record.voice import Voice

LIMITS_OF_A_RECORD: Final = (
    "It records and checks. It does not replace the coupling maker's current instructions, local codes, or licensed "
    "and qualified people. A release says nothing of a trailer's kingpin."
)
_STATES: Final = {State.AVAILABLE: Tone.GOOD, State.LIMITED: Tone.DOUBT, State.NOT_AVAILABLE: Tone.BAD}


def summary_section(contents: Contents, voice: Voice) -> Section:
    blocks = (
        *_alarm(contents),
        _state(contents, voice),
        Facts(tuple(_identity(contents, voice))),
        Heading(line("At a glance", Tone.STRONG)),
        Facts(tuple(_glance(contents, voice))),
        Heading(line("What is due", Tone.STRONG)),
        Facts(tuple(_due(contents, voice))),
        Notice(Tone.PLAIN, (line(LIMITS_OF_A_RECORD, Tone.STRONG),)),
    )
    return Section("Rebuild record" if contents.opening["purpose"] == "rebuild" else "Record of a follow-up", blocks)


def _alarm(contents: Contents) -> Iterator[Block]:
    wrong = contents.contradictions
    if wrong:
        told = [line(f"{remark.where}: {remark.what}".removeprefix(": "), Tone.BAD) for remark in wrong[:6]]
        first = "This record DOES NOT MATCH what was signed and logged. Do not rely on it."
        rest = [line(f"and {len(wrong) - 6} more, under Proof", Tone.BAD)] if len(wrong) > len(told) else []
        yield Notice(Tone.BAD, (line(first, Tone.BAD), *told, *rest))


def _state(contents: Contents, voice: Voice) -> Notice:
    """What became of the job, and whether its unit may go, as of the time of the bundle."""
    found = contents.availability
    words = {State.AVAILABLE: "available", State.LIMITED: "LIMITED", State.NOT_AVAILABLE: "NOT AVAILABLE"}[found.state]
    told = list(release_words(contents, voice))
    own = release_row(contents)
    is_own = found.release is None or (own is not None and str(found.release) == own["id"])
    by = "" if is_own else ", by the release of another job"
    lines: list[Line] = [line(text, tone) for text, tone in told]
    lines.append(line(f"The unit, on {voice.time(contents.made_at)}: {words}{by}", _STATES[found.state]))
    lines += [line(f"{reason.what} {reason.cure}") for reason in found.reasons]
    bad = any(tone is Tone.BAD for _, tone in told)
    return Notice(Tone.BAD if bad else _STATES[found.state], tuple(lines))


def _identity(contents: Contents, voice: Voice) -> Iterator[tuple[str, Cell]]:
    register, unit, job = contents.register, contents.register["unit"], contents.job_row
    shop, bench = contents.shop, contents.bench
    opened = contents.folded.opened_with
    yield "Company", cell(_named(register.get("company"), "name") or contents.parts.manifest["company"].get("slug"))
    yield "Shop", cell(" ".join(text for text in (job.get("shop"), shop.get("name")) if text))
    yield "Carrier", cell(_named(register.get("carrier"), "name"))
    yield "Unit", cell(" ".join(text for text in (unit.get("kind"), unit.get("number")) if text))
    yield "VIN", cell(unit.get("vin"), Tone.EXACT)
    yield "Coupling", cell(", ".join(one["model"] for one in unit["couplings"] if one["id"] == job.get("coupling")))
    yield "Top plate, casting serial", _castings(contents)
    yield "Job", cell(str(contents.parts.job), Tone.EXACT)
    yield "Reference", cell(job.get("reference"))
    yield "Purpose", cell(str(contents.opening["purpose"]).replace("_", " "))
    yield "Opened", cell(voice.time(contents.opening["opened_at"]))
    yield (
        "Procedure",
        (
            line(f"{bench.procedure.code} rev {bench.procedure.revision}, {bench.procedure.title}"),
            line(bench.procedure.digest, Tone.EXACT),
            *([line(f"opened under rev {opened.revision}")] if opened.digest != bench.procedure.digest else ()),
        ),
    )
    yield "Times", cell(f"of {voice.zone_name}, each with its offset from UTC")
    yield "Printed from a bundle of", cell(voice.time(contents.made_at))


def _named(row: Any, name: str) -> str | None:
    return row.get(name) if isinstance(row, dict) else None


def _castings(contents: Contents) -> Cell:
    """The casting of the job, and the one on the unit where that is another one now."""
    plates = {plate["id"]: plate["casting_serial"] for plate in contents.register["top_plates"]}
    own = contents.opening["top_plate"]
    mounted = [one["top_plate"] for one in contents.register["unit"]["couplings"]]
    others = [plates[plate] for plate in mounted if plate in plates and plate != own]
    now = [line(f"on the unit now: {', '.join(others)}", Tone.DOUBT)] if others else []
    return (*cell(plates.get(own), Tone.STRONG), *now)


def _glance(contents: Contents, voice: Voice) -> Iterator[tuple[str, Cell]]:
    bench = contents.bench
    states = step_states(bench)
    wanted = [state for state in states if not bench.procedure.by_key[state.key].optional]
    done = sum(state.status is StepStatus.CREDITED for state in wanted)
    yield "Steps with credit", cell(f"{done} of {len(wanted)}", Tone.GOOD if done == len(wanted) else Tone.DOUBT)
    yield "Readings that govern", _verdicts(contents)
    corrections = sum(len(made) for made in bench.corrected.values())
    yield "Corrections with credit", cell(str(corrections))
    yield "Verification cycles that failed", cell(str(bench.failed_cycles))
    yield "Done by", cell(", ".join(sorted({voice.initials(entry) for entry in contents.acts})))
    yield "Adjusted by, credit or not", _doers(contents, voice, "adjust")
    verifiers = {voice.person(bench.entries[entry].technician) for entry in bench.cycles}
    yield "Verified by, with credit", cell(", ".join(sorted(verifiers)))
    without = [entry for entry in contents.acts if not voice.has_credit(entry.id)]
    amended = len(contents.amended)
    told = f"{len(without)} of {len(contents.acts)} entries without credit, {amended} of them amended"
    yield "Exceptions", cell(told if without else "none: every entry has credit" if contents.acts else None)
    unmet = bench.procedure.release_step and contents.parts.claims.get("state") == "open"
    if unmet:
        waiting = [state for state in wanted if state.status is not StepStatus.CREDITED]
        yield "Not done yet", cell(", ".join(voice.step(state.key) for state in waiting[:12]))


def _verdicts(contents: Contents) -> Cell:
    found = [measured.verdict for measured in contents.bench.measured.values()]
    asked = sum(len(step.readings) for step in contents.bench.procedure.steps)
    names = {Verdict.PASS: "pass", Verdict.CONDITIONAL: "conditional", Verdict.FAIL: "fail"}
    told = [f"{found.count(verdict)} {name}" for verdict, name in names.items() if found.count(verdict)]
    if asked > len(found):
        told.append(f"{asked - len(found)} {NOT_RECORDED}")
    bad = Verdict.FAIL in found or Verdict.CONDITIONAL in found
    return cell(", ".join(told), Tone.BAD if bad else Tone.PLAIN)


def _doers(contents: Contents, voice: Voice, scope: str) -> Cell:
    return cell(", ".join(sorted(voice.person(person) for person in contents.bench.doers.get(scope, ()))))


def _due(contents: Contents, voice: Voice) -> Iterator[tuple[str, Cell]]:
    row: Row = release_row(contents) or {}
    procedure = contents.folded.opened_with if not row else contents.bench.procedure
    follow_up = procedure.follow_up
    done: Row = next(
        (one for one in contents.parts.rows("follow_up_completions") if one["release_id"] == row.get("id")), {}
    )
    if follow_up is not None:
        by = voice.time(row.get("follow_up_due_at"))
        distance = f" or after {follow_up.after_distance}, whichever is first" if follow_up.after_distance else ""
        told = f"done {voice.time(done['completed_at'])}" if done else f"by {by}{distance}" if by else None
        steps = ", ".join(step.title for step in follow_up.steps)
        yield f"Follow-up: {steps}", cell(told, Tone.PLAIN if done else Tone.STRONG)
    by = voice.time(row.get("next_inspection_at"))
    distance = f" or after {procedure.inspection_distance}, whichever is first" if procedure.inspection_distance else ""
    told = f"by {by}{distance}" if by else None
    superseded = Run(" Superseded by a newer release.", Tone.DOUBT)
    rest = (superseded,) if row and not is_newest(contents, row) else ()
    yield "Next inspection", ((*cell(told, Tone.STRONG)[0], *rest),)


def cautions_section(contents: Contents) -> Section:
    """What the procedure cautions against, in general and at its steps."""
    procedure = contents.bench.procedure
    blocks: list[Block] = [Paragraph(line(LIMITS_OF_A_RECORD, Tone.STRONG))]
    blocks += [Paragraph(line(f"– {text}")) for text in procedure.cautions]
    for step in procedure.steps:
        if step.cautions:
            told = Run(" ".join(step.cautions))
            blocks.append(Paragraph((Run(f"{step.title}: ", Tone.STRONG), told)))
    return Section("Cautions of the procedure", tuple(blocks))
