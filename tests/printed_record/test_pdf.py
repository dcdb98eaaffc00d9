"""The pages as a PDF: whole, the same each time, and unharmed by whatever somebody typed."""

import shutil
import subprocess
from io import BytesIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import zxingcpp
from pypdf import PdfReader

from jobs.printed_record.blocks import Code, Paragraph, Section, line
from jobs.printed_record.contents import contents_of_bundle
from jobs.printed_record.drawing.code_drawing import QUIET, modules
from jobs.printed_record.drawing.type_faces import EXACT, PLAIN, load_faces, printable
from jobs.printed_record.page_size import PageSize
from jobs.printed_record.printing import Wishes, print_bundle
from jobs.printed_record.proof import verify_code
from tests.bundles.museum import good
from tests.bundles.world_rows import COMPANY, JOB
from tests.printed_record.prints import corrected, good_bundle, texts, with_register


def test_every_page_names_the_job_and_its_number() -> None:
    pages = texts(good_bundle())
    for number, text in enumerate(pages, 1):
        assert f"Job {JOB}" in text
        assert f"Page {number} of {len(pages)}" in text


def test_the_same_bundle_gives_the_same_bytes() -> None:
    assert print_bundle(good_bundle(), Wishes()) == print_bundle(good_bundle(), Wishes())


@pytest.mark.parametrize(("paper", "size"), [(PageSize.A4, (595, 842)), (PageSize.LETTER, (612, 792))])
def test_paper_is_a4_or_letter(paper: PageSize, size: tuple[int, int]) -> None:
    pdf = PdfReader(BytesIO(print_bundle(good_bundle(), Wishes(paper=paper))))
    assert {(round(page.mediabox.width), round(page.mediabox.height)) for page in pdf.pages} == {size}


def test_struck_values_are_on_the_page() -> None:
    text = " ".join(texts(corrected()))
    assert ".150 in, .151 in, .150 in" in text
    assert "Read upside down." in text


def test_all_faces_are_embedded() -> None:
    pdf = PdfReader(BytesIO(print_bundle(good_bundle(), Wishes())))
    fonts: dict[str, Any] = {}
    for page in pdf.pages:
        fonts |= {name: font.get_object() for name, font in page["/Resources"]["/Font"].items()}
    used = {str(font["/BaseFont"]): font for font in fonts.values()}
    embedded = [name for name, font in used.items() if "/FontFile2" in font.get("/FontDescriptor", {})]
    assert any("DejaVu" in name for name in embedded)
    assert set(used) - set(embedded) <= {"/Helvetica"}  # the library names it on every page and draws nothing with it


def test_the_code_leads_to_the_jobs_chain_head() -> None:
    code: Code = verify_code(contents_of_bundle(good_bundle()))
    head = good().claims["chain_head"]
    assert code.text == f"https://record.example/v1/companies/{COMPANY}/jobs/{JOB}/chain_heads/{head}"
    assert decoded(code.text) == code.text


def test_without_an_address_the_code_still_names_job_and_chain_head() -> None:
    code = verify_code(contents_of_bundle(with_register(address=None)))
    assert decoded(code.text) == f"urn:uuid:{JOB}#{good().claims['chain_head']}"


def decoded(text: str) -> str:
    """What another hand's reader reads of the modules, eight dots each, with the quiet zone."""
    dark = np.pad(np.array(modules(text), dtype=bool), QUIET)
    picture = np.where(np.kron(dark, np.ones((8, 8), dtype=bool)), 0, 255).astype(np.uint8)
    return str(zxingcpp.read_barcodes(picture)[0].text)


@pytest.mark.skipif(not shutil.which("pdftoppm"), reason="poppler-utils is not installed: the page is not photographed")
def test_the_code_is_read_from_a_picture_of_the_page(tmp_path: Path) -> None:
    (tmp_path / "record.pdf").write_bytes(print_bundle(good_bundle(), Wishes()))
    subprocess.run(["pdftoppm", "-r", "150", "-gray", "-l", "2", "record.pdf", "page"], cwd=tmp_path, check=True)
    found = [code.text for path in tmp_path.glob("*.pgm") for code in zxingcpp.read_barcodes(_pgm(path))]
    assert found == [verify_code(contents_of_bundle(good_bundle())).text]


def _pgm(path: Path) -> Any:
    _, size, _, rest = path.read_bytes().split(b"\n", 3)
    width, height = map(int, size.split())
    return np.frombuffer(rest, np.uint8).reshape(height, width)


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="poppler-utils is not installed: pypdf alone reads the text")
def test_pdftotext_reads_the_record(tmp_path: Path) -> None:
    (tmp_path / "record.pdf").write_bytes(print_bundle(good_bundle(), Wishes()))
    told = subprocess.run(["pdftotext", "-layout", "record.pdf", "-"], cwd=tmp_path, check=True, capture_output=True)
    text = told.stdout.decode()
    for wanted in ("ZZZBW1T22NA004107", "0.219 in ± 0.0102", "K-T2-0412", "Verification", "not recorded"):
        assert wanted in text


NAMES = ("Łukasz Żak", "Zoë Ångström", "Γιώργος", "Дмитрий Щёголев", "Nguyễn Thị Hạnh", "Ștefan Țepeș")


@pytest.mark.parametrize("name", NAMES)
def test_names_keep_their_letters(name: str) -> None:
    people = [{**one, "name": name} for one in good().register["people"]]
    assert name in " ".join(texts(with_register(people=people)))


HOSTILE = (
    "<b>bold</b> & <para> </font> <img src='x'/>",
    "<!-- " + "]]>" * 20,
    "\x01\x07\x1b[31m\x7f\x85",
    "x" * 10_000,
    "long words " * 900,
    "\n" * 500,
    "\u202eright to left\u202c שלום مرحبا",
    "日本語 😀 \U0010ffff",
    "&lt;&amp;&#0;",
)


@pytest.mark.parametrize("text", HOSTILE, ids=range(len(HOSTILE)))
def test_hostile_texts_do_no_harm(text: str) -> None:
    register = good().register
    people = [{**one, "name": text} for one in register["people"]]
    unit = {**register["unit"], "number": text[:200], "vin": text[:200]}
    shops = [{**register["shops"][0], "name": text}]
    pages = texts(with_register(people=people, unit=unit, shops=shops, company={"name": text}, carrier={"name": text}))
    for number, page in enumerate(pages, 1):
        assert f"Page {number} of {len(pages)}" in page
    assert "Chain head" in pages[-1]


def test_what_cannot_be_shown_is_spelt_by_its_number() -> None:
    load_faces()
    assert printable("a\u202eb", PLAIN) == "a[U+202E]b"
    assert printable("שלום", PLAIN) == "[U+05E9][U+05DC][U+05D5][U+05DD]"
    assert printable("😀", EXACT) == "[U+1F600]"
    assert printable("tab\there", PLAIN) == "tab[U+0009]here" or printable("tab\there", PLAIN) == "tab here"
    assert printable("Łukasz Żak ≤ ± × ▲", PLAIN) == "Łukasz Żak ≤ ± × ▲"


def test_markup_is_text() -> None:
    people = [{**one, "name": "<b>Bo</b>"} for one in good().register["people"]]
    assert "<b>Bo</b>" in " ".join(texts(with_register(people=people)))


def test_a_very_long_record_is_drawn() -> None:
    from jobs.printed_record.blocks import Pages, Table, cell
    from jobs.printed_record.drawing.pdf import draw_pdf

    rows = tuple((cell(f"#{number}"), cell("word " * (number % 400))) for number in range(1500))
    blocks = (Table(("Entry", "What"), rows, (0.2, 0.8)), Paragraph(line("The end.")))
    pages = Pages("Record", "", ("Record", "Job"), "Chain head", None, (Section("Record", blocks),))
    pdf = PdfReader(BytesIO(draw_pdf(pages, PageSize.A4)))
    assert "The end." in pdf.pages[-1].extract_text()
    assert len(pdf.pages) > 50
