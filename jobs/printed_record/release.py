"""What became of a job: released, suspended, revoked, superseded, condemned, or still open."""

from collections.abc import Iterator

from jobs.domain.bundle_parts import Row
from jobs.printed_record.blocks import Cell, Facts, Line, Section, Tone, cell, line
from jobs.printed_record.contents import Contents
from jobs.printed_record.voice import Voice


def release_row(contents: Contents) -> Row | None:
    rows = contents.parts.rows("releases")
    return next((row for row in rows if row["job_id"] == str(contents.parts.job)), None)


def is_newest(contents: Contents, release: Row) -> bool:
    return all(int(row["version"]) <= int(release["version"]) for row in contents.parts.rows("releases"))


def release_words(contents: Contents, voice: Voice) -> Iterator[tuple[str, Tone]]:
    """What became of the job, a sentence at a time."""
    row = release_row(contents)
    if row is None:
        yield _unreleased(contents), Tone.BAD
        return
    entry = next((one for one in contents.acts if str(one.id) == row["entry_id"]), None)
    by = f" by {voice.person(entry.technician)}" if entry else ""
    yield f"Released{by} on {voice.time(row['released_at'])}, version {row['version']} of the unit", Tone.STRONG
    if row["limited_until_follow_up"] and not _followed_up(contents, row):
        yield "Limited until its follow-up is done.", Tone.DOUBT
    revoked = _of_release(contents, "release_revocations", row)
    for one in revoked:
        yield f"REVOKED on {voice.time(one['revoked_at'])}: {one['reason']}", Tone.BAD
    lifted = {one["suspension_id"] for one in contents.parts.rows("suspension_liftings")}
    for one in _of_release(contents, "release_suspensions", row):
        if one["id"] not in lifted:
            yield f"SUSPENDED since {voice.time(one['suspended_at'])}: {one['reason']}", Tone.BAD
    if not is_newest(contents, row):
        yield "Superseded: a later rebuild of the unit was released.", Tone.DOUBT


def _unreleased(contents: Contents) -> str:
    state = str(contents.parts.claims.get("state", "open"))
    if state == "condemned":
        return "CONDEMNED: the casting may never be used again. There is no release."
    if state == "released":
        return "Said to be released, but there is no release here."
    if contents.opening["purpose"] == "follow_up":
        return f"A follow-up job: {state}. It is not released itself; it ends the limit of the release it follows."
    return f"NOT RELEASED: the job is {state}."


def _of_release(contents: Contents, table: str, release: Row) -> list[Row]:
    return [row for row in contents.parts.rows(table) if row["release_id"] == release["id"]]


def _followed_up(contents: Contents, release: Row) -> bool:
    return bool(_of_release(contents, "follow_up_completions", release))


def release_section(contents: Contents, voice: Voice) -> Section:
    """The release as signed, and everything that was said of it since; holds on the unit; the casting's end."""
    row = release_row(contents)
    pairs = [*(_release_facts(contents, voice, row) if row else ()), *_unit_facts(contents, voice)]
    if not row:
        pairs.insert(0, ("Release", cell(None)))
    return Section("Release, and what became of it", (Facts(tuple(pairs), wide=True),))


def _release_facts(contents: Contents, voice: Voice, row: Row) -> Iterator[tuple[str, Cell]]:
    entry = next((one for one in contents.acts if str(one.id) == row["entry_id"]), None)
    statement = getattr(entry.body, "statement", None) if entry else None
    yield "Statement", cell(statement)
    signer = voice.person(entry.technician) if entry else None
    yield "Signed by", cell(f"{signer}, {voice.number(entry.id)}" if entry else None)
    yield "Released", cell(f"{voice.time(row['released_at'])}, version {row['version']} of the unit")
    yield "Over the chain head", cell(getattr(entry.body, "chain_head", None) if entry else None, Tone.EXACT)
    yield "Rests on the verification", cell(_verification(contents, voice, row))
    lifted = {one["suspension_id"]: one for one in contents.parts.rows("suspension_liftings")}
    for one in _of_release(contents, "release_suspensions", row):
        told = line(_by(one, "suspended_at", voice, one["code"]))
        noted = (*_acknowledged(contents, voice, one, "suspended_at"), *_escalated(contents, voice, one))
        yield "Suspended", (told, *noted, _ended(lifted.get(one["id"]), "Lifted", "lifted_at", voice))
    for one in _of_release(contents, "release_revocations", row):
        told = line(_by(one, "revoked_at", voice), Tone.BAD)
        yield "Revoked", (told, *_acknowledged(contents, voice, one, "revoked_at"))
    for one in _of_release(contents, "follow_up_completions", row):
        yield "Follow-up done", cell(f"{voice.time(one['completed_at'])}, job {one['job_id']}")


def _acknowledged(contents: Contents, voice: Voice, row: Row, since: str) -> Iterator[Line]:
    """When dispatch took note: of the version that it made, or where that was not kept, of any after it."""
    wanted = row.get("availability_version")
    found = [
        one
        for one in contents.parts.rows("acknowledgements")
        if (int(one["availability_version"]) >= int(wanted) if wanted else one["acknowledged_at"] >= row[since])
    ]
    first = min(found, key=lambda one: str(one["acknowledged_at"]), default=None)
    if first is None:
        yield line("No acknowledgement by dispatch is here.", Tone.DOUBT)
    else:
        version = first["availability_version"]
        yield line(
            f"Acknowledged {voice.time(first['acknowledged_at'])}, by {first['recorded_by']}, version {version}."
        )


def _escalated(contents: Contents, voice: Voice, suspension: Row) -> Iterator[Line]:
    for one in contents.parts.rows("escalations"):
        if one["suspension_id"] == suspension["id"]:
            yield line(f"Escalated {voice.time(one['raised_at'])}: not acknowledged in time.", Tone.DOUBT)


def _by(row: Row, at: str, voice: Voice, kind: str = "") -> str:
    """When, by whom, of what kind, and why."""
    told = [str(voice.time(row[at])), f"by {row['recorded_by']}", kind.replace("_", " ")]
    return f"{', '.join(text for text in told if text)}: {row['reason']}"


def _ended(row: Row | None, word: str, at: str, voice: Voice) -> Line:
    if row is None:
        return line(f"Not {word.lower()}.", Tone.BAD)
    return line(f"{word} {_by(row, at, voice)}")


def _verification(contents: Contents, voice: Voice, row: Row) -> str | None:
    outcomes = contents.parts.rows("verification_outcomes")
    found = next((one for one in outcomes if one["id"] == row["verification_id"]), None)
    if found is None:
        return None
    entry = next((one.id for one in contents.acts if str(one.id) == found["entry_id"]), None)
    return f"{voice.number(entry) if entry else found['entry_id']}, {'passed' if found['passed'] else 'FAILED'}"


def _unit_facts(contents: Contents, voice: Voice) -> Iterator[tuple[str, Cell]]:
    cleared = {one["hold_id"]: one for one in contents.parts.rows("unit_hold_clearings")}
    for hold in contents.parts.rows("unit_holds"):
        lines = [line(_by(hold, "held_at", voice, hold["kind"]))]
        if hold.get("incident_at"):
            lines.append(line(f"Incident at {voice.time(hold['incident_at'])}.", Tone.BAD))
        yield "Hold on the unit", (*lines, _ended(cleared.get(hold["id"]), "Cleared", "cleared_at", voice))
    serials = {plate["id"]: plate["casting_serial"] for plate in contents.register["top_plates"]}
    for one in contents.parts.rows("condemnations"):
        casting = serials.get(one["top_plate_id"], one["top_plate_id"])
        told = f"casting {casting}, {voice.time(one['condemned_at'])}, job {one['job_id']}"
        yield "Condemned", cell(told, Tone.BAD)
    yield from _transfers(contents, voice)


def _transfers(contents: Contents, voice: Voice) -> Iterator[tuple[str, Cell]]:
    answered = {one["transfer_id"]: one for one in contents.parts.rows("transfer_answers")}
    shops = {shop["id"]: shop["code"] for shop in contents.register.get("shops", ())}
    for one in contents.parts.rows("transfers"):
        answer = answered.get(one["id"])
        ended = "no answer" if answer is None else "accepted" if answer["accepted"] else "declined"
        left, right = (shops.get(one[name], one[name]) for name in ("from_shop_id", "to_shop_id"))
        yield "Transfer of the job", cell(f"{_by(one, 'offered_at', voice)} From {left} to {right}: {ended}.")
