"""The time window of an entry: what the log says of the time, what witnesses say, and what neither can widen falsely."""

from datetime import UTC, datetime, timedelta

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from hypothesis import given
from hypothesis import strategies as st

from jobs.domain.checkpoint import Checkpoint, add_signatures, sign_checkpoint, signed_line
from jobs.domain.merkle import leaf_hash
from jobs.domain.seen_checkpoint import SeenCheckpoint
from jobs.domain.signed_note import NoteKey, SignatureType, cosign_text, note_key_of, read_note
from jobs.domain.time_window import Below, SignedSize, TimeWindow, seen_in, signed_size, time_window

ORIGIN = "rebuild-record/brindlewick"
START = datetime(2026, 3, 2, 14, 0, tzinfo=UTC)
LOG, ASHLOCK, BRAYFEN = (Ed25519PrivateKey.from_private_bytes(bytes([n]) * 32) for n in range(3))
NAMES = {"witness.ashlock.example": ASHLOCK, "witness.brayfen.example": BRAYFEN}
KEYS = [note_key_of(name, SignatureType.COSIGNATURE, key) for name, key in NAMES.items()]


def note(size: int, minute: int, cosigned: dict[str, int] | None = None) -> bytes:
    """A checkpoint signed in `minute`, cosigned by each witness in his."""
    at = START + timedelta(minutes=minute)
    made = sign_checkpoint(Checkpoint(ORIGIN, size, leaf_hash(str(size).encode()), (signed_line(at),)), LOG)
    text = read_note(made).text
    return add_signatures(
        made,
        [
            cosign_text(text, name=name, private_key=NAMES[name], timestamp=int(START.timestamp()) + 60 * then)
            for name, then in (cosigned or {}).items()
        ],
    )


def clock(
    size: int, minute: int, cosigned: dict[str, int] | None = None, keys: list[NoteKey] | None = None
) -> SignedSize:
    found = signed_size(note(size, minute, cosigned), KEYS if keys is None else keys)
    assert found is not None
    return found


def named(raw: bytes) -> SeenCheckpoint:
    seen = seen_in(raw)
    return SeenCheckpoint(seen["size"], seen["root"], seen.get("cosignature"))


def at(minute: int) -> datetime:
    return START + timedelta(minutes=minute)


def test_an_entry_lies_between_the_checkpoint_it_names_and_the_first_over_it() -> None:
    clocks = [clock(812, 2), clock(815, 3), clock(819, 4), clock(900, 9)]
    window = time_window(named(note(812, 2)), 815, clocks)
    assert window.is_proved
    assert (window.opens_at, window.closes_at) == (at(2), at(4))
    assert window.sentence() == (
        "signed after the checkpoint of 812 leaves (signed 2026-03-02 14:02:00 UTC), "
        "before the checkpoint of 819 leaves (signed 2026-03-02 14:04:00 UTC)"
    )


def test_an_entry_that_names_none_has_an_upper_end_only() -> None:
    window = time_window(None, 815, [clock(819, 4)])
    assert (window.below, window.is_proved, window.opens_at, window.closes_at) == (Below.NONE_NAMED, False, None, at(4))


def test_an_entry_without_a_place_has_no_upper_end() -> None:
    window = time_window(named(note(812, 2)), None, [clock(812, 2), clock(900, 9)])
    assert (window.below, window.before, window.closes_at) == (Below.PROVED, None, None)
    assert window.sentence().endswith("not yet under a checkpoint")


def test_another_root_of_the_size_and_a_size_that_nobody_signed_prove_nothing_and_are_told_apart() -> None:
    seen = named(note(812, 2))
    other = SeenCheckpoint(812, "00" * 32)
    assert time_window(other, 815, [clock(812, 2), clock(819, 4)]).below is Below.OTHER_ROOT
    assert time_window(seen, 815, [clock(819, 4)]).below is Below.NOT_HERE
    assert time_window(other, 815, [clock(812, 2)]).opens_at is None


def test_a_cosignature_that_the_entry_names_makes_it_younger_than_the_witnesss_second() -> None:
    """Whatever the log says of its own time: here it says an hour too early."""
    seen = note(812, -60, {"witness.ashlock.example": 2})
    window = time_window(named(seen), 815, [clock(812, -60, {"witness.ashlock.example": 2}), clock(819, 4)])
    assert window.after_witness is not None
    assert (window.after_witness.witness, window.opens_at) == ("witness.ashlock.example", at(2))


def test_a_cosignature_that_came_after_the_phone_looked_makes_nothing_younger() -> None:
    window = time_window(named(note(812, 2)), 815, [clock(812, 2, {"witness.ashlock.example": 30}), clock(819, 4)])
    assert (window.after_witness, window.opens_at) == (None, at(2))


def test_the_earliest_witness_of_any_checkpoint_over_it_says_by_when_the_entry_was_there() -> None:
    """The log says that it signed at 15:00; witnesses had it before them at 14:06 and 14:05."""
    clocks = [
        clock(819, 60, {"witness.ashlock.example": 6}),
        clock(900, 61, {"witness.brayfen.example": 5}),
        clock(700, 1, {"witness.ashlock.example": 1}),
    ]
    window = time_window(None, 815, clocks)
    assert window.before_witness is not None
    assert (window.before_witness.witness, window.closes_at) == ("witness.brayfen.example", at(5))


def test_a_witness_whose_key_is_not_known_says_nothing() -> None:
    assert clock(819, 4, {"witness.ashlock.example": 5}, keys=KEYS[1:]).cosigned == ()
    assert clock(819, 4, {"witness.ashlock.example": 5}, keys=KEYS[:1]).witnessed_by == at(5)


def test_a_checkpoint_that_tells_no_time_opens_and_closes_nothing_by_itself() -> None:
    silent = SignedSize(812, leaf_hash(b"812"), None)
    window = time_window(named(note(812, 2)), 811, [silent])
    assert (window.is_proved, window.opens_at, window.closes_at) == (True, None, None)


def test_what_is_no_checkpoint_is_no_clock() -> None:
    assert signed_size(b"hello", KEYS) is None


@given(st.lists(st.integers(1, 60), min_size=2, max_size=12, unique=True), st.data())
def test_of_an_honest_log_the_true_time_lies_in_every_window(sizes: list[int], data: st.DataObject) -> None:
    """A leaf a minute: leaf i comes in minute i, a checkpoint of n leaves is signed in minute n."""
    clocks = [clock(size, size) for size in sizes]
    index = data.draw(st.integers(0, 59))
    old = [size for size in sizes if size <= index]
    seen = data.draw(st.sampled_from([None, *old]))
    window: TimeWindow = time_window(None if seen is None else named(note(seen, seen)), index, clocks)
    assert window.opens_at is None or window.opens_at <= at(index)
    assert window.closes_at is None or window.closes_at > at(index)
    assert window.is_proved == (seen is not None and max(sizes) > index)
