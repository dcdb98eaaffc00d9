"""The rules behind the register: scopes of tokens, secrets, qualifications, exact decimals, proofs."""

import random
from datetime import UTC, datetime, timedelta
from fractions import Fraction
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.domain.exact_decimal import exact_decimal
from jobs.domain.facts import Qualification
from shops.domain.access import Grant, Role
from shops.domain.qualification import in_force
from shops.domain.secret_text import CODE_SIGNS, code_hash, code_text, token_text
from shops.domain.token_scope import TokenScope, expiry_problems, issuable_roles, scope_problems

NOW = datetime(2026, 3, 2, 13, tzinfo=UTC)
SOME_IDS = st.frozensets(st.integers(1, 5).map(lambda n: UUID(int=n)))
TIMES = st.none() | st.integers(0, 10).map(lambda n: NOW + timedelta(days=n))
SCOPES = st.builds(TokenScope, SOME_IDS, SOME_IDS, TIMES, TIMES)


def grant(scope: TokenScope) -> Grant:
    return Grant(
        token=UUID(int=1),
        company=UUID(int=2),
        label="NN",
        role=Role.ADMINISTRATOR,
        shops=scope.shops,
        carriers=scope.carriers,
        records_from=scope.records_from,
        records_to=scope.records_to,
    )


@given(SCOPES, SCOPES, st.integers(1, 5).map(lambda n: UUID(int=n)))
def test_what_a_token_may_issue_reaches_nothing_that_it_does_not_reach(
    asked: TokenScope, own: TokenScope, thing: UUID
) -> None:
    if list(scope_problems(asked, grant(own))):
        return
    inner, outer = grant(asked), grant(own)
    assert outer.reaches_shop(thing) or not inner.reaches_shop(thing)
    assert outer.reaches_carrier(thing) or not inner.reaches_carrier(thing)


@given(SCOPES)
def test_a_token_may_issue_its_like_unless_it_holds_nothing(scope: TokenScope) -> None:
    empty = scope.records_from and scope.records_to and scope.records_to <= scope.records_from
    assert bool(list(scope_problems(scope, grant(scope)))) == bool(empty)


def test_a_token_lasts_from_now_to_four_hundred_days() -> None:
    assert not list(expiry_problems(NOW + timedelta(days=400), NOW))
    assert list(expiry_problems(NOW + timedelta(days=400, microseconds=1), NOW))
    assert not list(expiry_problems(NOW + timedelta(microseconds=1), NOW))
    assert list(expiry_problems(NOW, NOW))


def test_who_may_issue_what() -> None:
    assert issuable_roles(Role.ADMINISTRATOR) == frozenset(Role)
    assert issuable_roles(Role.LEAD) == {Role.TECHNICIAN}
    for role in set(Role) - {Role.ADMINISTRATOR, Role.LEAD}:
        assert not issuable_roles(role)


def test_a_token_is_its_prefix_and_forty_three_characters() -> None:
    assert token_text(bytes(32)) == "rr_" + "A" * 43
    with pytest.raises(ValueError, match="32 random bytes"):
        token_text(bytes(31))


@given(st.randoms(use_true_random=False))
def test_a_code_is_the_same_however_it_is_typed(chosen: random.Random) -> None:
    code = code_text(chosen.choice)
    assert len(code) == 14
    assert set(code) <= {*CODE_SIGNS, "-"}
    assert not set(code) & set("01OILUV")
    assert code_hash(code) == code_hash(code.lower()) == code_hash(f" {code.replace('-', ' ')} ")
    assert code_hash(code) != code_hash(code[:-1])


@given(TIMES, TIMES, st.integers(-1, 11), st.integers(0, 10))
def test_the_register_and_the_engine_agree_on_when_a_grant_holds(
    valid_to: datetime | None, withdrawn_from: datetime | None, at: int, valid_from: int
) -> None:
    start, moment = NOW + timedelta(days=valid_from), NOW + timedelta(days=at)
    engine = Qualification(frozenset({"weld"}), start, valid_to, withdrawn_from).holds("weld", moment)
    register = in_force(moment, valid_from=start, valid_to=valid_to, withdrawn_from=withdrawn_from)
    assert engine == register


@given(st.integers(-(10**9), 10**9), st.integers(0, 9), st.integers(0, 6))
def test_an_exact_decimal_loses_nothing(number: int, tens: int, twos: int) -> None:
    value = Fraction(number, 10**tens * 2**twos)
    text = exact_decimal(value)
    assert Fraction(text) == value
    assert not (("." in text) and text.endswith(("0", ".")))


def test_an_exact_decimal_is_never_a_rounded_one() -> None:
    assert [exact_decimal(Fraction(t)) for t in ("3/16", "-0.050", "1/64", "12")] == [
        "0.1875",
        "-0.05",
        "0.015625",
        "12",
    ]
    with pytest.raises(ValueError, match="no finite decimal"):
        exact_decimal(Fraction(1, 3))
