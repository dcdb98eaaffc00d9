"""Compact JWS: RFC 7515 rules, refusals one by one, and joserfc agreeing on random tokens both ways."""

import hashlib
import json
from base64 import urlsafe_b64encode

import pytest
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, derive_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st
from joserfc import jws as joserfc_jws
from joserfc.errors import BadSignatureError
from joserfc.jwk import ECKey, OKPKey

from shops.domain.jwk import jwk_of
from shops.domain.jws import JwsError, parse_payload, read_compact, sign_compact, verify_compact

ED = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
EC = derive_private_key(0x1234567890ABCDEF, SECP256R1())
KEYS = {"Ed25519": ED, "EdDSA": ED, "ES256": EC}
TYP = "entry+jws"


def b64(raw):
    return urlsafe_b64encode(raw).rstrip(b"=")


def signed(payload=b'{"a":1}', alg="Ed25519", typ=TYP):
    key = KEYS[alg]
    return sign_compact(payload, typ=typ, kid=jwk_of(key.public_key()).thumbprint, alg=alg, private_key=key)


def with_header(header):
    raw = header if isinstance(header, bytes) else json.dumps(header).encode()
    _, payload, signature = signed().split(b".")
    return b".".join([b64(raw), payload, signature])


def good_header(**changes):
    members = {"alg": "Ed25519", "kid": jwk_of(ED.public_key()).thumbprint, "typ": TYP} | changes
    return {name: value for name, value in members.items() if value is not ...}


def refusal(token, **options):
    with pytest.raises(JwsError) as caught:
        read_compact(token, **options)
    assert caught.value.message
    assert caught.value.cure
    return caught.value.code


@pytest.mark.parametrize("alg", KEYS)
def test_a_signed_payload_comes_back_byte_for_byte_and_verifies(alg):
    payload = b'{ "b":1,\n"a":"\xc3\xbc" }'
    token = read_compact(signed(payload, alg))
    assert (token.payload, token.alg, token.typ) == (payload, alg, TYP)
    assert verify_compact(token, jwk_of(KEYS[alg].public_key()))


@pytest.mark.filterwarnings("ignore:EdDSA is deprecated")
@given(st.sampled_from(sorted(KEYS)), st.binary(min_size=1, max_size=600))
def test_a_second_jose_library_verifies_our_tokens(alg, payload):
    key = (ECKey if alg == "ES256" else OKPKey).import_key(dict(jwk_of(KEYS[alg].public_key()).canonical))
    read = joserfc_jws.deserialize_compact(signed(payload, alg), key, algorithms=[alg])
    assert read.payload == payload
    assert read.headers()["kid"] == key.thumbprint()


@pytest.mark.filterwarnings("ignore:EdDSA is deprecated")
@given(st.sampled_from(sorted(KEYS)), st.binary(min_size=1, max_size=600))
def test_we_verify_the_tokens_of_a_second_jose_library(alg, payload):
    public = jwk_of(KEYS[alg].public_key())
    key = (ECKey if alg == "ES256" else OKPKey).import_key(KEYS[alg])
    header = {"alg": alg, "kid": public.thumbprint, "typ": TYP}
    token = joserfc_jws.serialize_compact(header, payload, key, algorithms=[alg])
    read = read_compact(token.encode())
    assert read.payload == payload
    assert verify_compact(read, public)


@given(st.integers(0, 10_000), st.integers(0, 7))
def test_no_flipped_bit_of_a_token_is_ever_accepted(place, bit):
    token = bytearray(signed(alg="Ed25519"))
    token[place % len(token)] ^= 1 << bit
    try:
        read = read_compact(bytes(token))
    except JwsError:
        return
    assert not verify_compact(read, jwk_of(ED.public_key()))
    key = OKPKey.import_key(dict(jwk_of(ED.public_key()).canonical))
    with pytest.raises((BadSignatureError, ValueError)):
        joserfc_jws.deserialize_compact(bytes(token), key, algorithms=["Ed25519", "EdDSA"])


def test_another_key_does_not_verify_a_token():
    assert not verify_compact(read_compact(signed()), jwk_of(EC.public_key()))
    other = Ed25519PrivateKey.from_private_bytes(bytes(32))
    assert not verify_compact(read_compact(signed()), jwk_of(other.public_key()))


def test_an_algorithm_that_does_not_fit_the_key_does_not_verify():
    kid = jwk_of(ED.public_key()).thumbprint
    token = sign_compact(b"{}", typ=TYP, kid=kid, alg="ES256", private_key=EC)
    assert not verify_compact(read_compact(token), jwk_of(ED.public_key()))


def test_the_digest_is_that_of_the_token_as_sent():
    assert read_compact(signed()).digest == hashlib.sha256(signed()).digest()


@pytest.mark.parametrize("alg", ["none", "None", "HS256", "RS256", "ES384", "ES256K", "", None, 7, ["Ed25519"]])
def test_every_algorithm_outside_the_allow_list_is_refused(alg):
    assert refusal(with_header(good_header(alg=alg))) == "algorithm_refused"


@pytest.mark.parametrize(
    "extra",
    [
        {"crit": ["exp"]},
        {"jwk": {}},
        {"jku": "https://keys.example"},
        {"x5u": "https://keys.example"},
        {"x5c": []},
        {"b64": False},
        {"cty": "json"},
        {"kid": ...},
        {"typ": ...},
        {"alg": ...},
        {"kid": 7},
        {"kid": ""},
        {"kid": "short"},
        {"kid": "a" * 44},
        {"kid": "a" * 42 + "\n"},
        {"typ": 7},
        {"typ": ""},
        {"typ": "a\nb"},
        {"typ": "x" * 128},
        {"typ": {"a": 1}},
    ],
)
def test_a_header_with_anything_but_its_three_members_is_refused(extra):
    assert refusal(with_header(good_header(**extra))) == "header_refused"


@pytest.mark.parametrize(
    "header",
    [b"[]", b"null", b"{", b"\xff", b"{}", b'{"alg":"none","alg":"Ed25519","kid":"k","typ":"t"}', b"[" * 300],
)
def test_a_header_that_is_no_plain_object_is_refused(header):
    assert refusal(with_header(header)) == "header_refused"


def test_a_long_header_is_refused():
    assert refusal(with_header(good_header(note="x" * 600))) == "header_refused"


@pytest.mark.parametrize(
    "damage",
    [
        lambda h, p, s: b"",
        lambda h, p, s: h,
        lambda h, p, s: h + b"." + p,
        lambda h, p, s: b".".join([h, p, s, b""]),
        lambda h, p, s: b".".join([h, p, s, s, s]),  # five parts: encrypted
        lambda h, p, s: b".".join([h, b"", s]),  # detached payload
        lambda h, p, s: b".".join([b"", p, s]),
        lambda h, p, s: b".".join([h, p, b""]),
        lambda h, p, s: b".".join([h, p + b"=", s]),
        lambda h, p, s: b".".join([h, p, s + b"=="]),
        lambda h, p, s: b".".join([h, p, s]) + b"\n",
        lambda h, p, s: b" " + b".".join([h, p, s]),
        lambda h, p, s: b".".join([h, p, s[:-1] + b"h"]),  # trailing bits
        lambda h, p, s: b".".join([h, p, s[:-4]]),  # 61 bytes
        lambda h, p, s: b".".join([h, p, s + b"AAAA"]),
        lambda h, p, s: b".".join([h, p[:-1] + b"\0", s]),
        lambda h, p, s: b".".join([h, p[:-1] + b"\xc3", s]),
        lambda h, p, s: b".".join([h, p, s[:-2] + b"+/"]),
        lambda h, p, s: b".".join([h, b"AAAAA", s]),
        lambda h, p, s: b'{"payload":"' + p + b'","signature":"' + s + b'"}',
    ],
)
def test_a_token_that_is_not_three_canonical_parts_is_refused(damage):
    assert refusal(damage(*signed().split(b"."))) == "token_malformed"


@given(st.binary(min_size=1, max_size=40), st.integers(0, 63))
def test_every_payload_has_exactly_one_accepted_spelling(payload, other):
    head, part, signature = signed(payload).split(b".")
    letters = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-_"
    respelt = part[:-1] + letters[other : other + 1]
    try:
        read = read_compact(b".".join([head, respelt, signature]))
    except JwsError:
        return
    assert (read.payload == payload) is (respelt == part)


def test_a_token_beyond_64_kib_is_refused():
    assert refusal(signed(b"x" * 65536)) == "token_too_large"
    assert len(read_compact(signed(b"x" * 48000)).payload) == 48000


def test_a_token_of_another_purpose_is_refused_when_the_caller_asks():
    assert refusal(signed(typ="enrolment+jws"), typ=TYP) == "typ_refused"
    assert read_compact(signed(), typ=TYP).typ == TYP


def test_a_key_is_not_used_for_an_algorithm_that_does_not_fit_it():
    for alg, key in (("ES256", ED), ("Ed25519", EC), ("none", ED), ("HS256", ED)):
        with pytest.raises(ValueError):
            sign_compact(b"{}", typ=TYP, kid="k", alg=alg, private_key=key)


@given(st.binary(max_size=60))
def test_no_bytes_lead_to_anything_but_an_object_or_a_named_refusal(raw):
    for read in (read_compact, parse_payload):
        try:
            read(raw)
        except JwsError as error:
            assert error.code  # noqa: PT017 (some bytes are a good payload)
