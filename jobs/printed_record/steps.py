"""The steps: what each stands at, who did it and when, entry by entry; and what nobody recorded."""

from typing import Final

from jobs.domain.entry import AmendmentBody, Entry, EntryKind, StepBody
from jobs.domain.job_state import StepState, StepStatus, step_states
from jobs.printed_record.blocks import Cell, Run, Section, Table, Tone, cell, line
from jobs.printed_record.contents import Contents, said
from jobs.printed_record.voice import KINDS, Voice

_STATUS: Final = {
    StepStatus.CREDITED: ("done", Tone.GOOD),
    StepStatus.READY: ("not done", Tone.BAD),
    StepStatus.WAITING: ("waits for others", Tone.BAD),
    StepStatus.WALLED_IN: ("walled in", Tone.BAD),
}


def steps_section(contents: Contents, voice: Voice) -> Section:
    by_step: dict[str, list[Entry]] = {}
    for entry in contents.acts:
        key = getattr(said(entry)[1], "step", None)
        if key is not None:
            by_step.setdefault(key, []).append(entry)
    known = [state.key for state in step_states(contents.bench)]
    rows = [_row(state, number, by_step, voice) for number, state in enumerate(step_states(contents.bench), 1)]
    rows += [_other_row(key, entries, voice) for key, entries in by_step.items() if key not in known]
    table = Table(("Step", "State", "Entries, performed by, when"), tuple(rows), (0.27, 0.18, 0.55))
    return Section("Steps", (table,))


def _row(state: StepState, number: int, by_step: dict[str, list[Entry]], voice: Voice) -> tuple[Cell, ...]:
    step = voice.contents.bench.procedure.by_key[state.key]
    words, tone = _STATUS[state.status]
    done = voice.contents.bench.performed.get(state.key)
    if done is not None and done.not_applicable:
        words = "not applicable, as was said"
    if state.status is not StepStatus.CREDITED and step.optional:
        words, tone = "not called for", Tone.QUIET
    if step.is_release and voice.contents.bench.released_by is not None:
        words, tone = "signed", Tone.GOOD
    title = (line(f"{number}. {step.title}", Tone.STRONG), line(f"qualification: {step.scope.value}", Tone.QUIET))
    entries = _released(voice) if step.is_release else by_step.get(state.key, [])
    return (title, (line(words, tone),), _entries(entries, state, voice))


def _released(voice: Voice) -> list[Entry]:
    return [entry for entry in voice.contents.acts if entry.kind is EntryKind.RELEASE]


def _entries(entries: list[Entry], state: StepState, voice: Voice) -> Cell:
    if not entries:
        return cell(None)
    return tuple(
        _entry(entry, voice, completes=voice.contents.bench.credited.get(state.key) == entry.id) for entry in entries
    )


def _other_row(key: str, entries: list[Entry], voice: Voice) -> tuple[Cell, ...]:
    """A step of a revision that the job has left."""
    told = tuple(_entry(entry, voice, completes=False) for entry in entries)
    return ((line(voice.step(key), Tone.STRONG),), (line("not in the present revision", Tone.QUIET),), told)


def _entry(entry: Entry, voice: Voice, *, completes: bool) -> tuple[Run, ...]:
    kind, body = said(entry)
    struck = voice.is_struck(entry.id)
    what = KINDS[kind]
    if isinstance(body, StepBody) and body.not_applicable:
        what = "not applicable"
    if isinstance(entry.body, AmendmentBody):
        what = f"{what}, amending {voice.number(entry.body.amends)}"
    person = voice.person(entry.technician)
    runs = [Run(f"{voice.number(entry.id)} "), Run(person, Tone.STRONG if completes else Tone.PLAIN, struck)]
    runs.append(Run(f", {voice.act_time(entry)}, {what}", Tone.PLAIN, struck))
    amendment = voice.contents.amended.get(entry.id)
    if amendment is not None:
        runs.append(Run(f"  amended by {voice.number(amendment.id)}", Tone.DOUBT))
    elif not voice.has_credit(entry.id):
        runs.append(Run("  no credit", Tone.BAD))
    return tuple(runs)
