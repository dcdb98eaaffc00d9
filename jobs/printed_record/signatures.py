"""Who signed what: the keys, and every entry with its signer, times and digest."""

from jobs.domain.verification_entries import KeyFact, ReadEntry
from jobs.printed_record.blocks import Cell, Heading, Paragraph, Section, Table, Tone, cell, line
from jobs.printed_record.contents import Contents
from jobs.printed_record.voice import KINDS, Voice


def signatures_section(contents: Contents, voice: Voice) -> Section:
    keys = {thumbprint: f"K{number}" for number, thumbprint in enumerate(sorted(contents.keys), 1)}
    key_rows = tuple(_key_row(keys[name], contents.keys[name], voice) for name in keys)
    rows = tuple(_row(entry, keys, voice) for entry in contents.entries)
    told = "Each entry is a JWS (RFC 7515) over the bytes that the phone sent; its digest is the SHA-256 of the token."
    head = ("Entry", "What", "Signed by, key", "Done by its phone; received", "Digest of the entry")
    return Section(
        "Signatures",
        (
            Heading(line("Keys", Tone.STRONG)),
            Table(("Key", "Thumbprint (RFC 7638)", "Of, on", "Counts from, until"), key_rows, (0.07, 0.38, 0.25, 0.30)),
            Heading(line("Entries, in the order of the job's chain", Tone.STRONG)),
            Paragraph(line(told, Tone.QUIET), kept=True),
            Table(head, rows, (0.06, 0.16, 0.17, 0.27, 0.34)) if rows else Paragraph(cell(None)[0]),
        ),
    )


def _key_row(name: str, key: KeyFact, voice: Voice) -> tuple[Cell, ...]:
    until = voice.time(key.revoked_from)
    ended = line(f"revoked from {until}", Tone.BAD) if until else line("not revoked", Tone.QUIET)
    return (
        cell(name, Tone.STRONG),
        (line(key.jwk.thumbprint, Tone.EXACT), line(f"{key.row.get('algorithm', '')}", Tone.QUIET)),
        (line(voice.person(key.row["technician_id"])), line(key.row["device_name"], Tone.QUIET)),
        (line(voice.time(key.row["enrolled_at"]) or ""), ended),
    )


def _row(entry: ReadEntry, keys: dict[str, str], voice: Voice) -> tuple[Cell, ...]:
    signed = entry.signed
    owner = voice.contents.keys.get(entry.jws.kid)
    person = voice.contents.bench.entries[signed.id].technician
    skew = entry.receipt["skew_ms"]
    number = line(f"number {signed.device_seq} of its phone", Tone.QUIET)
    received = f"received {voice.time(entry.receipt['received_at'])}"
    clock = (
        [line(f"its clock was {abs(skew) / 1000:.1f} s {'behind' if skew > 0 else 'ahead'}", Tone.QUIET)]
        if skew
        else []
    )
    step = signed.step
    what = [line(KINDS[signed.kind])] + ([line(voice.step(step), Tone.QUIET)] if step else [])
    return (
        (line(f"#{entry.sent.position}", Tone.STRONG),),
        tuple(what),
        (line(f"{voice.contents.bench.initials(person)}, {keys.get(entry.jws.kid)}"), number)
        if owner
        else cell("a key that is not here", Tone.BAD),
        (line(voice.time(signed.performed_at) or ""), line(received, Tone.QUIET), *clock),
        cell(entry.jws.digest.hex(), Tone.EXACT),
    )
