"""The whole record, section by section, in the order in which somebody asks: what is it, was it good, who says so."""

from jobs.printed_record.blocks import Pages, Section
from jobs.printed_record.contents import Contents
from jobs.printed_record.exceptions import exceptions_section
from jobs.printed_record.proof import chain_head, proof_section, verify_code
from jobs.printed_record.readings import readings_section
from jobs.printed_record.release import release_section
from jobs.printed_record.signatures import signatures_section
from jobs.printed_record.steps import steps_section
from jobs.printed_record.summary import cautions_section, summary_section
from jobs.printed_record.verification_cycles import verification_section
from jobs.printed_record.voice import voice_of
from jobs.printed_record.work import work_section


def record_of(contents: Contents, unit: str | None = None) -> Pages:
    """What to print. `unit` is the reader's unit of length; without it the shop's, else each characteristic's own."""
    voice = voice_of(contents, unit)
    first = summary_section(contents, voice)
    number = contents.register["unit"].get("number")
    job = str(contents.parts.job)
    return Pages(
        title=first.title,
        about=f"Unit {number}, job {job}",
        running=(f"{first.title}, unit {number}", f"Job {job}"),
        foot=f"Chain head {chain_head(contents)[:32]}… of {voice.time(contents.made_at)}",
        alarm="DOES NOT MATCH what was signed: see Proof" if contents.contradictions else None,
        sections=(
            Section(first.title, (*first.blocks, verify_code(contents))),
            release_section(contents, voice),
            steps_section(contents, voice),
            readings_section(contents, voice),
            work_section(contents, voice),
            verification_section(contents, voice),
            exceptions_section(contents, voice),
            signatures_section(contents, voice),
            proof_section(contents, voice),
            cautions_section(contents),
        ),
    )
