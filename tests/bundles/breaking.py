"""Ways to break a bundle with a zip tool and a text editor: the members are changed, the manifest follows."""

from base64 import urlsafe_b64decode, urlsafe_b64encode
from collections.abc import Callable, Mapping
from hashlib import sha256
from typing import Any

import orjson

from jobs.demo.picture import picture, picture_digest
from jobs.domain.bundle import MANIFEST, BundleSource, about, bundle_members, manifest, write_zip
from jobs.domain.canonical_json import canonical_json
from shops.domain.jws import sign_compact
from tests.bundles.world import cosigned, note_of
from tests.bundles.world_rows import Device, key_row, row, secret

Make = Callable[[BundleSource], bytes]
Members = dict[str, bytes]


def zipped(members: Mapping[str, bytes], source: BundleSource, **told: Any) -> bytes:
    listed = dict(sorted(members.items()))
    return write_zip({MANIFEST: manifest(listed, {**about(source), **told}), **listed})


def listing(raw: bytes) -> dict[str, Any]:
    """What a manifest says of a member."""
    return {"sha256": sha256(raw).hexdigest(), "size": len(raw)}


def edit(change: Callable[[Members], None]) -> Make:
    def make(source: BundleSource) -> bytes:
        members = bundle_members(source)
        before = dict(members)
        change(members)
        assert members != before, "the defect is none"
        return zipped(members, source)

    return make


def json_of(members: Members, name: str) -> Any:
    return orjson.loads(members[name])


def in_row(members: Members, table: str, change: Callable[[dict[str, Any]], bool]) -> None:
    """Change the first row of the table that `change` takes."""
    lines = members[f"facts/{table}.ndjson"].splitlines()
    for at, line in enumerate(lines):
        document = orjson.loads(line)
        if change(document["columns"]):
            lines[at] = canonical_json(document)
            break
    members[f"facts/{table}.ndjson"] = b"".join(line + b"\n" for line in lines)


def in_json(members: Members, name: str, change: Callable[[Any], None]) -> None:
    document = json_of(members, name)
    change(document)
    members[name] = canonical_json(document)


# signatures and keys


def _payload_changed(token: bytes, old: bytes, new: bytes) -> bytes:
    header, payload, signature = token.split(b".")
    raw = urlsafe_b64decode(payload + b"=" * (-len(payload) % 4))
    assert old in raw
    return b".".join((header, urlsafe_b64encode(raw.replace(old, new, 1)).rstrip(b"="), signature))


def _gap_entry(members: Members) -> str:
    """The entry with the readings of the jaw gap."""
    for name in sorted(members):
        if name.endswith(".jws"):
            payload = members[name].split(b".")[1]
            if b'"jaw-gap"' in urlsafe_b64decode(payload + b"=" * (-len(payload) % 4)):
                return name
    raise AssertionError("no reading of the jaw gap")


@edit
def digit_changed(members: Members) -> None:
    name = _gap_entry(members)
    members[name] = _payload_changed(members[name], b".221", b".224")


@edit
def signed_again(members: Members) -> None:
    """The server changes a digit and signs with a key of its own, under the phone's name."""
    name = _gap_entry(members)
    payload = _payload_changed(members[name], b".221", b".224").split(b".")[1]
    raw = urlsafe_b64decode(payload + b"=" * (-len(payload) % 4))
    kid = Device("RM's phone").jwk.thumbprint
    members[name] = sign_compact(raw, typ="rebuild-entry+jws", kid=kid, alg="Ed25519", private_key=secret("server"))


@edit
def other_purpose(members: Members) -> None:
    proof = Device("RM's phone").sign({"code": "a", "device_name": "b"}, "rebuild-enrolment+jws")
    members["entries/000003.jws"] = proof


@edit
def key_left_out(members: Members) -> None:
    """Key and place are left out: nothing contradicts the rest, but nobody can check RM's signatures."""
    wanted = Device("RM's phone").jwk.thumbprint.encode()
    name = "facts/device_keys.ndjson"
    gone = [line for line in members[name].splitlines() if wanted in line]
    members[name] = b"".join(line + b"\n" for line in members[name].splitlines() if line not in gone)
    row_id = orjson.loads(gone[0])["id"]
    in_json(members, "log/leaves.json", lambda places: places.remove(next(p for p in places if p["row"] == row_id)))


@edit
def key_swapped(members: Members) -> None:
    def swap(columns: dict[str, Any]) -> bool:
        columns["jwk"] = orjson.loads(Device("server").jwk.canonical_json)
        return True

    in_row(members, "device_keys", swap)


@edit
def person_swapped(members: Members) -> None:
    def swap(columns: dict[str, Any]) -> bool:
        columns["technician_id"] = row("nobody")["id"]
        return True

    in_row(members, "entries", swap)


# chains


def dropped(position: int) -> Make:
    def drop(members: Members) -> None:
        del members[f"entries/{position:06}.jws"], members[f"entries/{position:06}.json"]

    return edit(drop)


@edit
def swapped(members: Members) -> None:
    for end in ("jws", "json"):
        one, other = f"entries/000007.{end}", f"entries/000008.{end}"
        members[one], members[other] = members[other], members[one]


@edit
def receipt_back_dated(members: Members) -> None:
    in_json(members, "entries/000012.json", lambda found: found.update(received_at="2026-03-01T08:00:00.000000Z"))


@edit
def opening_changed(members: Members) -> None:
    in_json(members, "opening.json", lambda found: found.update(top_plate=row("another plate")["id"]))


@edit
def procedure_replaced(members: Members) -> None:
    """The jaw gap's limit is widened where the verifier reads it."""
    name = next(name for name in members if name.startswith("procedures/"))
    in_json(members, name, lambda found: found.update(title="Rebuild, with wider limits"))


# rows and proofs


@edit
def calibration_altered(members: Members) -> None:
    def longer(columns: dict[str, Any]) -> bool:
        columns["due_at"] = "2031-01-01T00:00:00.000000Z"
        return True

    in_row(members, "calibrations", longer)


@edit
def slipped_in(members: Members) -> None:
    """A second key that nobody logged."""
    found = key_row("RM", Device("RM's other phone"))
    columns = {name: value for name, value in found.items() if name != "id"}
    line = canonical_json({"columns": columns, "id": found["id"], "table": "device_keys"})
    members["facts/device_keys.ndjson"] += line + b"\n"


@edit
def taken_out(members: Members) -> None:
    del members["facts/release_suspensions.ndjson"]
    del members["facts/suspension_liftings.ndjson"]


@edit
def proof_altered(members: Members) -> None:
    def alter(places: Any) -> None:
        places[9]["proof"][0] = "00" * 32

    in_json(members, "log/leaves.json", alter)


@edit
def place_altered(members: Members) -> None:
    in_json(members, "log/leaves.json", lambda places: places[9].update(index=places[9]["index"] + 1))


def _photo(members: Members) -> str:
    return next(name for name in members if name.startswith("evidence/"))


@edit
def photo_altered(members: Members) -> None:
    name = _photo(members)
    members[name] = members[name].replace(b"heap", b"seat")


@edit
def photo_unnamed(members: Members) -> None:
    members[f"evidence/{picture_digest(picture('kerb'))}"] = picture("kerb")


@edit
def photo_left_out(members: Members) -> None:
    """It would not have fitted, the bundle says."""
    name = _photo(members)
    del members[name]
    in_json(members, "evidence.json", lambda left_out: left_out.update({name.removeprefix("evidence/"): "no_room"}))


# checkpoints


def _size_and_root(members: Members) -> tuple[int, bytes]:
    from base64 import b64decode

    lines = members["log/checkpoint.note"].split(b"\n")
    return int(lines[1]), b64decode(lines[2])


@edit
def checkpoint_forged(members: Members) -> None:
    """The right size and root, under the log's name, by somebody who has not its key."""
    members["log/checkpoint.note"] = cosigned(note_of(*_size_and_root(members), "server"))


@edit
def checkpoint_changed(members: Members) -> None:
    size, _ = _size_and_root(members)
    members["log/checkpoint.note"] = members["log/checkpoint.note"].replace(
        f"\n{size}\n".encode(), f"\n{size + 1}\n".encode(), 1
    )


@edit
def not_continued(members: Members) -> None:
    def alter(checkpoints: Any) -> None:
        checkpoints[0]["consistency"][0] = "00" * 32

    in_json(members, "log/checkpoints.json", alter)


@edit
def witness_missing(members: Members) -> None:
    members["log/checkpoint.note"] = cosigned(note_of(*_size_and_root(members)), ["witness.ashlock.example"])


@edit
def witness_forged(members: Members) -> None:
    """The cosignature of another checkpoint, put under this one."""
    size, root = _size_and_root(members)
    foreign = cosigned(note_of(size + 1, root)).split(b"\n")[-2]
    members["log/checkpoint.note"] = cosigned(note_of(size, root), ["witness.ashlock.example"]) + foreign + b"\n"


# conclusions


@edit
def reading_claimed(members: Members) -> None:
    in_json(members, "claims.json", lambda claims: claims["readings"][0].update(value="1/64"))


@edit
def availability_claimed(members: Members) -> None:
    in_json(members, "claims.json", lambda claims: claims["availability"].update(state="available", reasons=[]))


@edit
def state_claimed(members: Members) -> None:
    in_json(members, "claims.json", lambda claims: claims.update(state="abandoned"))
