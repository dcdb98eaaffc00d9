"""What a file is, from its first bytes: signatures of the WHATWG MIME Sniffing standard, brands of ISO/IEC 23008-12."""

import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobs.demo.picture import picture
from jobs.domain.evidence_media import HEIC, HEIF, JPEG, MEDIA_TYPES, PDF, PNG, SHOWN_IN_A_PAGE, WEBP, media_types_of


def box(major: bytes, *compatible: bytes) -> bytes:
    """The first box of an ISO base media file (ISO/IEC 14496-12, 4.3), and the beginning of the next."""
    body = b"ftyp" + major + bytes(4) + b"".join(compatible)
    return (len(body) + 4).to_bytes(4) + body + b"\x00\x00\x00\x10meta" + bytes(8)


@pytest.mark.parametrize(
    ("content", "kinds"),
    [
        (picture("heap"), (JPEG,)),
        (b"\x89PNG\r\n\x1a\n" + bytes(20), (PNG,)),
        (b"RIFF\x24\x00\x00\x00WEBPVP8 " + bytes(20), (WEBP,)),
        (b"%PDF-1.7\n", (PDF,)),
        (box(b"heic", b"mif1", b"heic"), (HEIC, HEIF)),
        (box(b"mif1", b"heic"), (HEIC, HEIF)),
        (box(b"mif1", b"mif1"), (HEIF,)),
        (box(b"heix"), (HEIC, HEIF)),
    ],
)
def test_a_file_is_what_its_first_bytes_say(content: bytes, kinds: tuple[str, ...]) -> None:
    assert media_types_of(content) == kinds


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xd8",
        b"<!DOCTYPE html><script>alert(1)</script>",
        b"<svg xmlns='http://www.w3.org/2000/svg'/>",
        b"GIF89a" + bytes(20),
        b"PK\x03\x04" + bytes(20),
        b" %PDF-1.7",
        b"RIFF\x24\x00\x00\x00WAVEfmt ",
        b"\x89PNG\n\x1a\n" + bytes(20),
        box(b"avif", b"mif1"),
        box(b"mif1", b"avif", b"heic"),
        box(b"isom", b"mp42"),
        b"\x00\x00\x00\x0cftypheic",
        b"\xff\xff\xff\xfcftypheic" + bytes(16),
        b"\x00\x00\x00\x17ftypheic" + bytes(16),
    ],
)
def test_what_is_no_evidence_has_no_type(content: bytes) -> None:
    assert media_types_of(content) == ()


def test_a_page_that_calls_itself_a_picture_is_none_and_one_that_hides_in_a_picture_is_a_picture() -> None:
    page = b"<html><script>alert(1)</script></html>"
    assert media_types_of(page + picture("heap")) == ()
    assert media_types_of(picture("heap") + page) == (JPEG,)


@given(st.binary(max_size=64))
def test_whatever_comes_has_known_types_or_none(content: bytes) -> None:
    assert set(media_types_of(content)) <= set(MEDIA_TYPES)


@given(
    st.binary(min_size=1, max_size=40), st.sampled_from([b"<html>", b"<!DOCTYPE HTML", b"<script", b"<svg", b"<?xml"])
)
def test_markup_never_has_a_type(rest: bytes, markup: bytes) -> None:
    assert media_types_of(markup + rest) == ()


def test_only_pictures_that_browsers_show_are_shown() -> None:
    assert {PDF, HEIC, HEIF} & SHOWN_IN_A_PAGE == set()


@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP"])
def test_pictures_that_another_library_wrote_are_known(form: str) -> None:
    image = pytest.importorskip("PIL.Image")
    written = io.BytesIO()
    image.new("RGB", (4, 3), (120, 90, 60)).save(written, form)
    assert media_types_of(written.getvalue()) == (f"image/{form.lower()}",)
