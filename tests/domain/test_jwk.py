"""Public keys: RFC 7638, RFC 8037 A, RFC 8032 7.1, RFC 7515 A.3; joserfc as comparator; weak and broken keys."""

from base64 import urlsafe_b64decode, urlsafe_b64encode

import pytest
from cryptography.hazmat.primitives.asymmetric.ec import SECP256R1, SECP384R1, generate_private_key
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st
from joserfc.jwk import ECKey, OKPKey

from shops.domain.ed25519_point import P
from shops.domain.jwk import (
    JwkError,
    algorithm_fits,
    jwk_of,
    read_canonical_jwk,
    read_public_jwk,
    verify_signature,
)

# RFC 8037, A.2 and A.3
OKP = {"kty": "OKP", "crv": "Ed25519", "x": "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo"}
OKP_THUMBPRINT = "kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k"
# RFC 7515, A.3.1, public part
EC = {
    "kty": "EC",
    "crv": "P-256",
    "x": "f83OJ3D2xF1Bg8vub9tLe1gHMzV76e8Tus9uPHvRVEU",
    "y": "x_FEzRu9m36HLN_tue659LNpXW6pCyStikYjKIWI5a0",
}
# RFC 8032, 7.1, tests 1 to 3 and SHA(abc): public key, message, signature
RFC_8032 = [
    (
        "d75a980182b10ab7d54bfed3c964073a0ee172f3daa62325af021a68f707511a",
        "",
        "e5564300c360ac729086e2cc806e828a84877f1eb8e5d974d873e065224901555fb8821590a33bacc61e39701cf9b46bd25bf5f0595bbe24655141438e7a100b",
    ),
    (
        "3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c",
        "72",
        "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    ),
    (
        "fc51cd8e6218a1a38da47ed00230f0580816ed13ba3303ac5deb911548908025",
        "af82",
        "6291d657deec24024827e69c3abe01a30ce548a284743a445e3680d7db5ac3ac18ff9b538d16f290ae67f760984dc6594a7c15e9716ed28dc027beceea1ec40a",
    ),
    (
        "ec172b93ad5e563bf4932c70e1245034c35467ef2efd4d64ebf819683467e2bf",
        "ddaf35a193617abacc417349ae20413112e6fa4e89a97ea20a9eeee64b55d39a2192992a274fc1a836ba3c23a3feebbd454d4423643ce80e2a9ac94fa54ca49f",
        "dc2a4459e7369633a52b1bf277839a00201009a3efbf3ecb69bea2186c26b58909351fc9ac90b3ecfdfbc7c66431e0303dca179c138ac17ad9bef1177331a704",
    ),
]
SMALL_ORDER_Y = [
    0,
    1,
    P - 1,
    2707385501144840649318225287225658788936804267575313519463743609750303402022,
    55188659117513257062467267217118295137698188065244968500265048394206261417927,
]


def b64(raw):
    return urlsafe_b64encode(raw).rstrip(b"=").decode()


def okp(raw):
    return {"kty": "OKP", "crv": "Ed25519", "x": b64(raw)}


def test_the_published_ed25519_key_has_its_published_thumbprint():
    assert read_public_jwk(OKP).thumbprint == OKP_THUMBPRINT


def test_the_canonical_form_holds_only_the_required_members_in_order():
    document = {"use": "sig", "x": OKP["x"], "kid": "mine", "kty": "OKP", "crv": "Ed25519", "alg": "EdDSA"}
    key = read_public_jwk(document)
    assert key.canonical_json == '{"crv":"Ed25519","kty":"OKP","x":"' + OKP["x"] + '"}'
    assert read_canonical_jwk(key.canonical_json) == key == read_public_jwk(OKP)


@pytest.mark.parametrize(("public", "message", "signature"), RFC_8032)
def test_the_published_ed25519_signatures_verify(public, message, signature):
    key = read_public_jwk(okp(bytes.fromhex(public)))
    assert verify_signature(key, bytes.fromhex(message), bytes.fromhex(signature))
    assert not verify_signature(key, bytes.fromhex(message) + b"\0", bytes.fromhex(signature))


def test_the_published_es256_signature_verifies():
    signing_input = (  # RFC 7515, A.3.1
        b"eyJhbGciOiJFUzI1NiJ9"
        b".eyJpc3MiOiJqb2UiLA0KICJleHAiOjEzMDA4MTkzODAsDQogImh0dHA6Ly9leGFtcGxlLmNvbS9pc19yb290Ijp0cnVlfQ"
    )
    signature = urlsafe_b64decode(
        "DtEhU3ljbEg8L38VWAfUAqOyKAM6-Xx-F4GawxaepmXFCgfTjDxw5djxLa8ISlSApmWQxfKTUJqPP3-Kg6NU1Q=="
    )
    key = read_public_jwk(EC)
    assert verify_signature(key, signing_input, signature)
    assert not verify_signature(key, signing_input + b"A", signature)


def test_the_published_eddsa_token_verifies():
    signing_input = b"eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc"  # RFC 8037, A.4
    signature = urlsafe_b64decode(
        "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg=="
    )
    assert verify_signature(read_public_jwk(OKP), signing_input, signature)


def test_thumbprints_agree_with_a_second_jose_library():
    assert read_public_jwk(EC).thumbprint == ECKey.import_key(EC).thumbprint()
    assert read_public_jwk(OKP).thumbprint == OKPKey.import_key(OKP).thumbprint()


@pytest.mark.parametrize("make", [Ed25519PrivateKey.generate, lambda: generate_private_key(SECP256R1())])
def test_a_key_object_and_its_document_are_the_same_key(make):
    key = jwk_of(make().public_key())
    assert read_public_jwk(dict(key.canonical)) == key
    other = (OKPKey if key.kty == "OKP" else ECKey).import_key(dict(key.canonical))
    assert other.thumbprint() == key.thumbprint


@pytest.mark.parametrize("private", ["d", "p", "k"])
def test_a_private_member_is_refused(private):
    with pytest.raises(JwkError) as caught:
        read_public_jwk(OKP | {private: "nWGxne_9WmC6hEr0kuwsxERJxWl7MmkZcDusAxyuf2A"})
    assert caught.value.code == "private_key_sent"


@pytest.mark.parametrize(
    "document",
    [
        {},
        {"kty": "oct", "k": 1, "crv": "x"} | {"k": None},
        {"kty": "RSA", "n": "AQAB", "e": "AQAB"},
        OKP | {"crv": "X25519"},
        OKP | {"crv": "Ed448"},
        OKP | {"kty": "EC"},
        EC | {"crv": "P-384"},
        EC | {"kty": ["EC"]},
        OKP | {"alg": "ES256"},
        OKP | {"alg": "HS256"},
        EC | {"alg": "EdDSA"},
        OKP | {"use": "enc"},
    ],
)
def test_another_type_of_key_is_refused(document):
    with pytest.raises(JwkError) as caught:
        read_public_jwk(document)
    assert caught.value.code in ("key_type_refused", "private_key_sent")


def test_a_p384_key_object_is_refused():
    with pytest.raises(JwkError):
        jwk_of(generate_private_key(SECP384R1()).public_key())


@pytest.mark.parametrize(
    "x",
    [
        None,
        7,
        "",
        OKP["x"] + "=",
        OKP["x"][:-1],
        OKP["x"] + "A",
        OKP["x"][:-1] + "p",  # another spelling of the same bytes
        OKP["x"].replace("_", "/"),
        " " + OKP["x"][1:],
        "é" + OKP["x"][1:],
    ],
)
def test_a_coordinate_that_is_not_canonical_base64url_of_32_bytes_is_refused(x):
    for document in (OKP | {"x": x}, EC | {"y": x}):
        with pytest.raises(JwkError) as caught:
            read_public_jwk(document)
        assert caught.value.code == "key_malformed"


def test_a_point_off_the_curve_p256_is_refused():
    flipped = bytes([urlsafe_b64decode(EC["y"] + "=")[0] ^ 1]) + urlsafe_b64decode(EC["y"] + "=")[1:]
    for document in (EC | {"y": b64(flipped)}, EC | {"x": b64(bytes(32)), "y": b64(bytes(32))}):
        with pytest.raises(JwkError) as caught:
            read_public_jwk(document)
        assert caught.value.code == "key_malformed"


@pytest.mark.parametrize("sign", [0, 1])
@pytest.mark.parametrize("y", SMALL_ORDER_Y)
def test_an_ed25519_key_of_small_order_is_refused(y, sign):
    with pytest.raises(JwkError) as caught:
        read_public_jwk(okp((y | sign << 255).to_bytes(32, "little")))
    is_zero_x = y in (1, P - 1)
    assert caught.value.code == ("key_malformed" if is_zero_x and sign else "key_weak")


@pytest.mark.parametrize("y", [P, P + 1, 2**255 - 1])
def test_an_ed25519_key_that_is_not_canonically_encoded_is_refused(y):
    with pytest.raises(JwkError) as caught:
        read_public_jwk(okp(y.to_bytes(32, "little")))
    assert caught.value.code == "key_malformed"


def test_an_ed25519_key_that_is_no_point_is_refused():
    with pytest.raises(JwkError) as caught:
        read_public_jwk(okp((2).to_bytes(32, "little")))
    assert caught.value.code == "key_malformed"


@given(st.binary(min_size=32, max_size=32))
def test_every_honest_ed25519_key_is_accepted(seed):
    key = Ed25519PrivateKey.from_private_bytes(seed)
    assert verify_signature(jwk_of(key.public_key()), b"m", key.sign(b"m"))


def test_the_algorithm_must_fit_the_key():
    fits = {
        (key.alg, alg)
        for key in (read_public_jwk(OKP), read_public_jwk(EC))
        for alg in ("Ed25519", "EdDSA", "ES256", "none", "HS256", "ES384", "", "ed25519")
        if algorithm_fits(key, alg)
    }
    assert fits == {("Ed25519", "Ed25519"), ("Ed25519", "EdDSA"), ("ES256", "ES256")}


@pytest.mark.parametrize("length", [0, 63, 65, 70])
def test_a_signature_of_another_length_never_verifies(length):
    assert not verify_signature(read_public_jwk(OKP), b"", bytes(length))
    assert not verify_signature(read_public_jwk(EC), b"", bytes(length))


def test_an_all_zero_es256_signature_never_verifies():
    assert not verify_signature(read_public_jwk(EC), b"", bytes(64))


def test_a_stored_key_that_is_no_object_is_refused():
    with pytest.raises(JwkError):
        read_canonical_jwk("[]")
