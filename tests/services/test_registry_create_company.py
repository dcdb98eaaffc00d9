"""The command that makes the first company and its administrator."""

import re
from io import StringIO
from uuid import uuid4

import pytest
from django.core.management import CommandError, call_command

from tests.world import Caller

pytestmark = pytest.mark.django_db


def create(*arguments: str) -> str:
    printed = StringIO()
    call_command("create_company", *arguments, stdout=printed)
    return printed.getvalue()


def slug() -> str:
    return f"brindlewick-{uuid4().hex[:12]}"


def test_it_prints_a_token_that_administers_the_company() -> None:
    name = slug()
    printed = create("--name", "Brindlewick Coupling Rebuild", "--slug", name, "--admin-label", "NN")
    found = re.search(r"rr_[A-Za-z0-9_-]{43}", printed)
    assert found
    me = Caller(found[0]).get("me").json()
    assert me["role"] == "administrator"
    assert me["label"] == "NN"
    assert me["company"]["slug"] == name
    assert me["company"]["id"] in printed
    assert me["token_id"] in printed


def test_a_slug_that_is_taken_is_said_so() -> None:
    name = slug()
    create("--name", "Brindlewick Coupling Rebuild", "--slug", name)
    with pytest.raises(CommandError, match=r"exists\. Choose another slug"):
        create("--name", "Another", "--slug", name)


@pytest.mark.parametrize("bad", ["", "Brindlewick", "two words", "-x", "x-", "a--b", "x" * 51, "ä"])
def test_a_slug_that_is_none_is_refused(bad: str) -> None:
    with pytest.raises(CommandError, match="--slug"):
        create("--name", "Brindlewick Coupling Rebuild", f"--slug={bad}")


def test_a_company_needs_a_name() -> None:
    with pytest.raises(CommandError, match="--name"):
        create("--name", " ", "--slug", slug())
