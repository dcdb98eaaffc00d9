"""`manage.py check_procedure` tells an author what publishing would say."""

from io import StringIO
from pathlib import Path

import pytest
from django.core.management import call_command

SHIPPED = sorted((Path(__file__).parents[2] / "jobs" / "procedures").glob("*.yaml"))


def check(*arguments):
    out = StringIO()
    code = 0
    try:
        call_command("check_procedure", *arguments, stdout=out)
    except SystemExit as stopped:
        code = stopped.code
    return code, out.getvalue()


def test_the_shipped_procedures_pass():
    code, said = check(*map(str, SHIPPED))
    assert code == 0
    assert said.count("proved. SHA-256 ") == len(SHIPPED) == 3


def test_problems_are_file_line_message_and_cure(tmp_path):
    text = SHIPPED[0].read_text().replace('less_than: "0.180"', "less_than: 0.180")
    line = text[: text.index("less_than: 0.180")].count("\n") + 1
    file = tmp_path / "mine.yaml"
    file.write_text(text)
    code, said = check(str(file), str(SHIPPED[0]))
    assert code == 1
    assert said.splitlines()[0].startswith(f"{file}:{line}: 0.180 is a bare decimal")
    assert said.splitlines()[0].endswith(' -- Quote it: "0.180".')
    assert "proved" in said.splitlines()[1]


@pytest.mark.parametrize("content", [b"\xff\xfe", None])
def test_a_file_that_cannot_be_read_is_a_problem_too(tmp_path, content):
    file = tmp_path / "mine.yaml"
    if content is not None:
        file.write_bytes(content)
    code, said = check(str(file))
    assert code == 1
    assert said.startswith(f"{file}:1: ")


def test_the_picture_is_printed_on_request():
    code, said = check("--picture", str(SHIPPED[0]))
    assert code == 0
    assert "flowchart TD" in said
