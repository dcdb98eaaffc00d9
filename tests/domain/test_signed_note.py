"""Signed notes: the worked examples of C2SP signed-note and tlog-cosignature, and every way to break a note."""

from base64 import b64decode, b64encode
from hashlib import sha256

import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey, Ed25519PublicKey
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.signed_note import (
    NoteError,
    NoteKey,
    NoteSignature,
    SignatureType,
    SignedNote,
    check_note,
    cosign_text,
    note_key_of,
    open_note,
    read_note,
    read_note_key,
    sign_text,
    write_note,
)

# The worked example of C2SP signed-note: a verifier key and a note that it signed.
VKEY = "example.com/foo+530d903a+AekyeRrm56hApGFkyQR4ZCbV54Id2LKaANYcrnKv3U2k"
NOTE = (
    "This is an example message.\n\n"
    "— example.com/foo Uw2QOkn8srV1yJGh2VYRlL1Tnagv1YEq6TfXppzi2ONncAlTgK7Ztg1ERYNZXsYjOBH3mFXmRKuwHjG1Yu72IneyaQM=\n"
).encode()
# The example of C2SP tlog-cosignature (its public keys are not printed there): a log's line and a witness's.
COSIGNED = (
    "example.com/behind-the-sofa\n20852163\nCsUYapGGPo4dkMgIAUqom/Xajj7h2fB2MPA3j2jxq2I=\n\n"
    "— example.com/behind-the-sofa Az3grlgtzPICa5OS8npVmf1Myq/5IZniMp+ZJurmRDeOoRDe4URYN7u5/Zhcyv2q1gGzGku9nTo+zyWE+xeMcTOAYQ8=\n"
    "— witness.example.com/w1 jWbPPwAAAABkGFDLEZMHwSRaJNiIDoe9DYn/zXcrtPHeolMI5OWXEhZCB9dlrDJsX3b2oyin1nPZqhf5nNo0xUe+mbIUBkBIfZ+qnA==\n"
).encode()
# RFC 8032, 7.1, test 1
RFC_KEY = Ed25519PrivateKey.from_private_bytes(
    bytes.fromhex("9d61b19deffd5a60ba844af492ec2cc44449c5697b326919703bac031cae7f60")
)
OTHER = Ed25519PrivateKey.from_private_bytes(bytes(32))
LOG = note_key_of("log.example/a", SignatureType.ED25519, RFC_KEY)
WITNESS = note_key_of("witness.example/w", SignatureType.COSIGNATURE, OTHER)
TEXT = "log.example/a\nÜber 3 lines\n\nafter an empty one\n"


def signed(*signatures, text=TEXT):
    return write_note(SignedNote(text, signatures))


def log_line(text=TEXT):
    return sign_text(text, name=LOG.name, private_key=RFC_KEY)


def witness_line(text=TEXT, timestamp=1679315147):
    return cosign_text(text, name=WITNESS.name, private_key=OTHER, timestamp=timestamp)


def refusal(raw, *keys):
    with pytest.raises(NoteError) as caught:
        open_note(raw, keys or (LOG, WITNESS))
    assert caught.value.cure
    return caught.value.code


def test_the_published_example_opens_under_its_published_key():
    key = read_note_key(VKEY)
    check = open_note(NOTE, (key,))
    assert check.text == "This is an example message.\n"
    assert [signature.key for signature in check.verified] == [key]
    assert key.vkey == VKEY


def test_the_published_example_does_not_open_with_one_letter_changed():
    assert refusal(NOTE.replace(b"example message", b"examplE message"), read_note_key(VKEY)) == "note_signature_wrong"


def test_the_published_cosigned_example_is_taken_apart_and_written_back_the_same():
    note = read_note(COSIGNED)
    assert [line.name for line in note.signatures] == [
        "example.com/behind-the-sofa",
        "witness.example.com/w1",
    ]
    assert int.from_bytes(note.signatures[1].signature[:8]) == 1679315147
    assert [len(line.signature) for line in note.signatures] == [64, 72]
    assert write_note(note) == COSIGNED


def test_a_key_id_is_computed_as_the_specification_writes_it():
    raw = RFC_KEY.public_key().public_bytes_raw()
    assert LOG.key_id == sha256(b"log.example/a\n\x01" + raw).digest()[:4]
    assert WITNESS.key_id == sha256(b"witness.example/w\n\x04" + OTHER.public_key().public_bytes_raw()).digest()[:4]
    assert read_note_key(LOG.vkey) == LOG
    assert read_note_key(WITNESS.vkey) == WITNESS


def test_a_signature_verifies_by_hand_with_a_bare_ed25519():
    line = signed(log_line()).decode().splitlines()[-1]
    raw = b64decode(line.split(" ")[2])
    Ed25519PublicKey.from_public_bytes(LOG.public_key).verify(raw[4:], TEXT.encode())


def test_a_cosignature_verifies_by_hand_over_its_dated_message():
    raw = witness_line(timestamp=1679315147).signature
    message = b"cosignature/v1\ntime 1679315147\n" + TEXT.encode()
    Ed25519PublicKey.from_public_bytes(WITNESS.public_key).verify(raw[8:], message)


def test_signatures_of_unknown_keys_are_ignored():
    raw = signed(witness_line(), NoteSignature("other.example", b"abcd", b"whatever"), log_line())
    assert [v.key for v in open_note(raw, (LOG,)).verified] == [LOG]
    assert {(v.key, v.timestamp) for v in open_note(raw, (LOG, WITNESS)).verified} == {
        (LOG, None),
        (WITNESS, 1679315147),
    }


def test_a_line_that_shares_only_the_name_or_only_the_id_is_unknown():
    same_name = NoteSignature(LOG.name, b"abcd", bytes(64))
    same_id = NoteSignature("other.example", LOG.key_id, bytes(64))
    assert [v.key for v in open_note(signed(same_name, same_id, log_line()), (LOG,)).verified] == [LOG]
    assert refusal(signed(same_name, same_id)) == "note_unsigned"


def test_a_known_key_whose_line_fails_condemns_the_whole_note():
    forged = NoteSignature(WITNESS.name, WITNESS.key_id, (7).to_bytes(8) + bytes(64))
    raw = signed(log_line(), forged)
    assert refusal(raw) == "note_signature_wrong"
    check = check_note(read_note(raw), (LOG, WITNESS))
    assert ([v.key for v in check.verified], check.failed) == ([LOG], (WITNESS,))


def test_a_key_that_signs_twice_counts_once():
    check = open_note(signed(witness_line(timestamp=5), witness_line(timestamp=6)), (WITNESS,))
    assert [(v.key, v.timestamp) for v in check.verified] == [(WITNESS, 5)]


def test_a_cosignature_is_no_plain_signature_and_the_other_way_round():
    plain = sign_text(TEXT, name=WITNESS.name, private_key=OTHER)
    assert refusal(signed(NoteSignature(WITNESS.name, WITNESS.key_id, plain.signature))) == "note_signature_wrong"
    dated = witness_line().signature
    as_plain = note_key_of(WITNESS.name, SignatureType.ED25519, OTHER)
    for signature in (dated, dated[8:]):
        raw = signed(NoteSignature(as_plain.name, as_plain.key_id, signature))
        assert refusal(raw, as_plain) == "note_signature_wrong"


def test_another_timestamp_on_a_cosignature_fails():
    line = witness_line(timestamp=1000)
    later = NoteSignature(line.name, line.key_id, (1001).to_bytes(8) + line.signature[8:])
    assert refusal(signed(later)) == "note_signature_wrong"


def test_a_timestamp_beyond_2_63_is_refused():
    message = b"cosignature/v1\ntime %d\n" % 2**63 + TEXT.encode()
    line = NoteSignature(WITNESS.name, WITNESS.key_id, (2**63).to_bytes(8) + OTHER.sign(message))
    assert refusal(signed(line)) == "note_signature_wrong"
    for timestamp in (2**63, -1):
        with pytest.raises(ValueError):
            witness_line(timestamp=timestamp)


GOOD = signed(log_line()).decode()
LINE = GOOD.splitlines()[-1]
BASE64 = LINE.split(" ")[2]


@pytest.mark.parametrize(
    "raw",
    [
        "",
        "\n",
        "\n\n",
        TEXT,
        TEXT + "\n",
        "\n\n" + LINE + "\n",
        "no newline before" + LINE + "\n",
        TEXT + LINE + "\n",
        GOOD[:-1],
        GOOD + "\n",
        GOOD + "x\n",
        GOOD.replace("— ", "- "),
        GOOD.replace("— ", "—"),
        GOOD.replace("— ", "—  "),
        GOOD.replace("— log.example/a", "— log.example+a"),
        GOOD.replace("— log.example/a", "— log.example a"),
        GOOD.replace("— log.example/a", "— log.example\u2003a"),
        GOOD.replace(BASE64, BASE64.rstrip("=")),
        GOOD.replace(BASE64, BASE64 + "===="),
        GOOD.replace(BASE64, BASE64 + " "),
        GOOD.replace(BASE64, BASE64[:-2] + "B="),
        GOOD.replace(BASE64, b64encode(LOG.key_id).decode()),
        GOOD.replace(BASE64, ""),
        GOOD.replace("Über", "\x07ber"),
        GOOD.replace("Über", "\tber"),
        GOOD.replace("\n", "\r\n"),
        GOOD.replace("Über", "\0"),
        GOOD + (LINE + "\n") * 100,
        "x" * (1 << 20) + "\n\n" + LINE + "\n",
    ],
)
def test_what_is_no_note_is_refused(raw):
    assert refusal(raw.encode()) == "note_malformed"


def test_bytes_that_are_not_utf_8_are_refused():
    assert refusal(GOOD.encode().replace("Ü".encode(), b"\xff")) == "note_malformed"


def test_at_least_sixteen_signatures_are_accepted():
    lines = [NoteSignature(f"w{n}.example", b"abcd", bytes(72)) for n in range(40)]
    assert open_note(signed(*lines, log_line()), (LOG,)).verified


@pytest.mark.parametrize("text", ["", "no last newline", "tab\there\n", "\x00\n"])
def test_a_text_that_cannot_stand_in_a_note_is_not_written(text):
    with pytest.raises(NoteError):
        signed(log_line(text), text=text)


def test_a_signature_too_short_to_read_back_is_not_written():
    with pytest.raises(NoteError):
        signed(NoteSignature("a.example", b"abc", b"defgh"))  # a key ID of three bytes


@pytest.mark.parametrize("name", ["", "a b", "a+b", "a\n", "a\u00a0b", "\ud800"])
def test_a_name_that_cannot_stand_in_a_note_signs_nothing(name):
    with pytest.raises(NoteError):
        sign_text(TEXT, name=name, private_key=RFC_KEY)


SMALL_ORDER = NoteKey("log.example/a", SignatureType.ED25519, (1).to_bytes(32, "little")).vkey


@pytest.mark.parametrize(
    "vkey",
    [
        "",
        "+",
        "++",
        "example.com/foo",
        "example.com/foo+530d903a",
        VKEY[1:],
        VKEY[:-1],
        VKEY + "=",
        VKEY.replace("530d903a", "530d903b"),
        VKEY.replace("530d903a", "530D903A"),
        VKEY.replace("530d903a", ""),
        VKEY.replace("+Aeky", "+Aelz"),
        VKEY.replace("+A", "+B"),
        VKEY.replace("example.com", "example com"),
        "\ud800" + VKEY,
        SMALL_ORDER,
    ],
)
def test_a_verifier_key_with_anything_wrong_is_refused(vkey):
    with pytest.raises(NoteError) as caught:
        read_note_key(vkey)
    assert caught.value.code == "note_key_malformed"


@given(st.integers(0, 10_000), st.integers(0, 7))
def test_no_flipped_bit_of_a_note_is_ever_accepted(place, bit):
    raw = bytearray(signed(log_line()))
    raw[place % len(raw)] ^= 1 << bit
    with pytest.raises(NoteError):
        open_note(bytes(raw), (LOG,))


LINES = st.text(st.characters(min_codepoint=32, exclude_categories=["Cs"]), min_size=1, max_size=20)


@given(st.lists(LINES, min_size=1, max_size=5).map(lambda lines: "\n".join(lines) + "\n"))
def test_every_plain_text_signs_and_opens_as_it_was(text):
    assert open_note(signed(log_line(text), text=text), (LOG,)).text == text
