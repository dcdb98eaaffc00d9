"""What is printed: everything that an auditor expects to hold, and nothing that the bundle does not say."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import pytest

from jobs.domain.bundle import write_bundle
from jobs.domain.verification_finding import Kind, Step
from jobs.printed_record.blocks import NOT_RECORDED, HeightMap, NumberLine, Tone
from jobs.printed_record.contents import CannotPrintError, Contents, contents_of_bundle, contents_of_members
from jobs.printed_record.page_size import PageSize, page_size_for
from jobs.printed_record.printing import Wishes, print_bundle, print_contents
from tests.bundles.museum import MUSEUM, Exhibit, good
from tests.bundles.world_rows import MADE, UNIT, identifier, row
from tests.printed_record.prints import corrected, good_bundle, pages_of, repacked, runs, with_register


def said(raw: bytes, unit: str | None = None) -> str:
    return "\n".join(run.text for run in runs(pages_of(raw, unit)))


def test_a_record_names_what_it_is_about() -> None:
    text = said(good_bundle())
    wanted = ("Brindlewick Coupling Rebuild", "A Ashlock", "Tarn Valley Haulage", "tractor 4107", "ZZZBW1T22NA004107")
    for one in (*wanted, "CS-41070", "BW-T2", "PR-11 rev 4", "K-T2-0412", "lot LT-26-014", "JD (Person JD)"):
        assert one in text, one


def test_times_are_of_the_shop_with_their_offset() -> None:
    text = said(good_bundle())
    assert "2026-03-02 09:07:00 -06:00" in text  # the gap was read at 15:07 UTC
    assert "of America/Chicago" in text


def test_without_a_known_zone_times_are_utc_and_say_so() -> None:
    shop = {"id": "x", "code": "A", "name": "Ashlock", "time_zone": "Nowhere/Near", "length_unit": "in"}
    text = said(with_register(shops=[shop]))
    assert "2026-03-02 15:07:00 +00:00" in text
    assert "of UTC" in text


def test_every_reading_is_explained_in_the_readers_unit() -> None:
    assert "It was compared with 0.180 in to 0.260 in by guarded acceptance" in said(good_bundle())
    assert "3.500 in (3 1/2)" in said(good_bundle())
    assert "It was compared with 4.572 mm to 6.604 mm by guarded acceptance" in said(good_bundle(), "mm")


def test_a_reading_is_drawn_against_its_limits_with_its_guard_band() -> None:
    lines = [block for section in pages_of(good_bundle()).sections for block in section.blocks]
    gap = next(one for one in lines if isinstance(one, NumberLine) and one.nominal is not None)
    mark = gap.marks[0]
    assert gap.lower is not None
    assert gap.upper is not None
    assert (gap.lower.text, gap.upper.text, gap.nominal and gap.nominal.text) == ("0.180", "0.260", "0.220")
    assert mark.passes_from == gap.lower.at + (mark.uncertainty or 0)
    assert mark.passes_to == gap.upper.at - (mark.uncertainty or 0)
    assert any(isinstance(one, HeightMap) for one in lines)


def test_an_amended_value_is_struck_and_stays_readable() -> None:
    found = list(runs(pages_of(corrected())))
    struck = [run.text for run in found if run.struck]
    assert any(".150 in, .151 in, .150 in" in text for text in struck)
    assert any(".156 in, .157 in, .156 in" in run.text for run in found if not run.struck)
    assert any(run.text.startswith("Amends #17: Read upside down.") for run in found)


def test_readings_say_what_they_are_around_a_correction() -> None:
    text = said(corrected())
    assert "before correction 1" in text
    assert "after correction 1, as left" in text
    assert "correction 1" in text.splitlines()


def test_what_nobody_recorded_says_so() -> None:
    source = good()
    bare = replace(source, register={**source.register, "carrier": None, "jobs": source.register["jobs"]})
    assert NOT_RECORDED in said(write_bundle(bare))


def test_findings_are_told_in_plain_words_with_their_cure() -> None:
    text = said(corrected())
    assert "R302 out of limits: " in text
    assert "Cure: " in text


def test_a_release_says_what_became_of_it_and_what_is_due() -> None:
    text = said(good_bundle())
    assert "Released by JD (Person JD) on 2026-03-02 09:40:00 -06:00, version 1 of the unit" in text
    assert "by 2026-03-12 10:40:00 -05:00 or after 400 mi, whichever is first" in text
    assert "by quality: NV, by hand: A lot is looked at." in text
    assert "A release says nothing of a trailer's kingpin." in text


def said_of_suspension(*more: tuple[str, str, dict[str, Any]]) -> str:
    """Of the suspension of the good release at 11:40, version 3; `more` are rows beside it: table, id, columns."""
    source = good()
    rows = {table: [*found] for table, found in source.rows.items()}
    for table, name, columns in more:
        rows.setdefault(table, []).append(row(name, **columns))
    return said(write_bundle(replace(source, rows=rows)))


def acknowledgement(version: int, hour: int) -> tuple[str, str, dict[str, Any]]:
    at = datetime(2026, 3, 2, hour, 5, tzinfo=UTC)
    by = {"recorded_by": "dispatch: desk 1", "unit_id": UNIT}
    return "acknowledgements", f"note {version}", {"availability_version": version, "acknowledged_at": at, **by}


def test_a_suspension_says_when_dispatch_took_note_of_it_and_that_it_was_escalated() -> None:
    suspension = identifier("suspension")
    escalated = ("escalations", "escalation", {"suspension_id": suspension, "raised_at": MADE - timedelta(hours=40)})
    assert "No acknowledgement by dispatch is here." in said_of_suspension()
    assert "No acknowledgement by dispatch is here." in said_of_suspension(acknowledgement(2, 20)), "of one before it"
    told = said_of_suspension(acknowledgement(4, 21), acknowledgement(3, 19), escalated)
    assert "Acknowledged 2026-03-02 13:05:00 -06:00, by dispatch: desk 1, version 3." in told
    assert "not acknowledged in time." in told


def test_a_revocation_says_when_dispatch_took_note_of_it() -> None:
    release = str(good().entries[-1][1].entry)
    revoked = {"reason": "A weld was not seen.", "revoked_at": datetime(2026, 3, 2, 18, tzinfo=UTC)}
    row_of = ("release_revocations", "revocation", {"release_id": release, "recorded_by": "quality: NV", **revoked})
    assert "No acknowledgement by dispatch is here." in said_of_suspension(row_of, acknowledgement(3, 17))
    assert "by dispatch: desk 1, version 4." in said_of_suspension(
        row_of, acknowledgement(3, 17), acknowledgement(4, 19)
    )


def test_the_page_says_what_verifying_found() -> None:
    text = said(good_bundle())
    assert "Nothing in the bundle contradicts anything else in it." in text
    assert "Could not be checked (7, log_key_not_known): " in text
    assert pages_of(good_bundle()).alarm is None


def read_if_possible(raw: bytes) -> Contents | None:
    try:
        return contents_of_bundle(raw)
    except CannotPrintError:
        return None


@pytest.mark.parametrize("exhibit", MUSEUM, ids=lambda one: one.name)
def test_a_broken_bundle_is_printed_with_an_alarm_or_not_at_all(exhibit: Exhibit) -> None:
    raw = exhibit.path.read_bytes()
    contents = read_if_possible(raw)
    if contents is None:
        with pytest.raises(CannotPrintError, match=r"\w"):
            contents_of_bundle(raw)
        return
    pages = pages_of(raw)
    wrong = [run for run in runs(pages) if run.tone is Tone.BAD and "Do not rely on it" in run.text]
    assert (pages.alarm is not None) is bool(contents.contradictions) is bool(wrong)


def test_only_what_somebody_outside_must_show_goes_without_an_alarm() -> None:
    """What the verifier finds with the auditor's key or checkpoint, or what the record itself tells."""
    read = {one.name: read_if_possible(one.path.read_bytes()) for one in MUSEUM}
    silent = {name for name, contents in read.items() if contents is not None and not contents.contradictions}
    outside = {one.name for one in MUSEUM if one.step is Step.CHECKPOINTS or one.kind is Kind.UNCHECKED}
    assert silent - outside <= {"all-signed-anew-by-the-server", "log-rewritten", *FORKS_TOLD}


FORKS_TOLD = {"fork-that-the-record-tells", "fork-on-another-job-told"}


def test_members_print_like_the_bundle_that_they_are_packed_into() -> None:
    contents = contents_of_members(*repacked(good()))
    assert print_contents(contents, Wishes()) == print_bundle(good_bundle(), Wishes())


def test_paper_is_what_the_shops_printer_holds() -> None:
    assert page_size_for("America/Toronto") is PageSize.LETTER
    assert page_size_for("Europe/Warsaw") is PageSize.A4
    assert page_size_for(None) is PageSize.A4
