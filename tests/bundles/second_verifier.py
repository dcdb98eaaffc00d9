"""A second verifier of bundles, written from docs/bundle-format.md alone: `python second_verifier.py BUNDLE VKEY`.

Standard library and `cryptography`, nothing of this project. It checks containers, signatures, keys, chains, rows,
proofs and checkpoints (steps 1 to 7); it judges no work. Exit code 0: nothing contradicts; 1: something does.
"""

import hashlib
import io
import json
import re
import sys
import zipfile
import zlib
from base64 import b64decode, urlsafe_b64decode, urlsafe_b64encode
from datetime import datetime, timedelta
from itertools import pairwise
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ec import ECDSA, SECP256R1, EllipticCurvePublicNumbers
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256

NAME = re.compile(r"[a-z0-9_]+(/[a-z0-9_][a-z0-9_.-]*)?(\.[a-z]+)?")
KNOWN = re.compile(
    r"entries/\d{6}\.(jws|json)|facts/[a-z_]+\.ndjson|procedures/\w{64}\.json|log/checkpoint\.note|cautions\.txt"
)
MALFORMED = (InvalidSignature, ValueError, LookupError, TypeError, AttributeError, zipfile.BadZipFile, zlib.error)
PLAIN = {f"{name}.json" for name in ("opening", "register", "claims", "devices", "log/leaves", "log/checkpoints")}


def need(condition, what):
    if not condition:
        raise ValueError(what)


def sha(raw):
    return hashlib.sha256(raw).hexdigest()


def tree_hash(*parts):
    return hashlib.sha256(b"".join(parts)).digest()


def once(pairs):
    need(len({name for name, _ in pairs}) == len(pairs), "a member twice in one object")
    return dict(pairs)


def read_container(raw):  # step 1
    need(raw[:4] == b"PK\x03\x04" and raw[-22:-18] == b"PK\x05\x06", "no zip, or something around it")
    members = {}
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        infos = archive.infolist()
        need(len(infos) <= 20_000 and sum(info.file_size for info in infos) <= 256 << 20, "too large")
        for info in infos:
            name = info.filename
            need(NAME.fullmatch(name) and ".." not in name and name not in members, f"name {name!r}")
            need(info.file_size <= 64 << 20 and info.compress_type in {0, 8} and not info.flag_bits & 1, name)
            need(info.external_attr >> 16 & 0o170000 != 0o120000, f"{name} is a link")
            members[name] = archive.read(info)
    manifest = json.loads(members.pop("manifest.json", b"{}"), object_pairs_hook=once)
    need((manifest.get("format"), manifest.get("version")) == ("rebuild-bundle", 1), "unknown format or version")
    listed = {name: {"sha256": sha(content), "size": len(content)} for name, content in members.items()}
    need(listed == manifest["members"] and members.keys() >= PLAIN, "members are not those of the manifest")
    need(all(name in PLAIN or KNOWN.fullmatch(name) for name in members), "a member that the format has not")
    return manifest, members


def decoded(part):
    raw = urlsafe_b64decode(part + b"=" * (-len(part) % 4))
    need(urlsafe_b64encode(raw).rstrip(b"=") == part, "base64url that is not canonical")
    return raw


def public_key(jwk):
    """The RFC 7638 thumbprint of a key, and what verifies under it."""
    names = {"OKP Ed25519": ("crv", "kty", "x"), "EC P-256": ("crv", "kty", "x", "y")}[f"{jwk['kty']} {jwk['crv']}"]
    text = json.dumps({name: jwk[name] for name in names}, separators=(",", ":"))
    points = [decoded(jwk[name].encode()) for name in names[2:]]

    def verify(algorithm, message, signature):
        fitting = {"Ed25519", "EdDSA"} if len(points) == 1 else {"ES256"}
        need(algorithm in fitting and len(signature) == 64, "the algorithm does not fit the key")
        if len(points) == 1:
            return Ed25519PublicKey.from_public_bytes(points[0]).verify(signature, message)
        x, y, r, s = (int.from_bytes(half) for half in (*points, signature[:32], signature[32:]))
        key = EllipticCurvePublicNumbers(x, y, SECP256R1()).public_key()
        return key.verify(encode_dss_signature(r, s), message, ECDSA(SHA256()))

    return urlsafe_b64encode(hashlib.sha256(text.encode()).digest()).rstrip(b"=").decode(), verify


def check_token(token, typ, keys):
    """Step 2. A token without its key here could not be checked: that is no contradiction."""
    header, payload, signature = token.split(b".")
    head = json.loads(decoded(header), object_pairs_hook=once)
    need(head.keys() == {"alg", "kid", "typ"} and head["typ"] == typ, f"no token of type {typ}")
    if head["kid"] in keys:
        keys[head["kid"]](head["alg"], header + b"." + payload, decoded(signature))
    return head["kid"], json.loads(decoded(payload), object_pairs_hook=once)


def read_keys(rows):
    """Step 3: a key is that of its thumbprint, and its enrolment is signed by itself."""
    keys = {}
    for row in rows.get("device_keys", {}).values():
        thumbprint, verify = public_key(row["jwk"])
        kid, proof = check_token(row["proof"].encode(), "rebuild-enrolment+jws", {thumbprint: verify})
        need(row["thumbprint"] == thumbprint == kid, "a key is not the one of its thumbprint")
        need(proof["device_name"] == row["device_name"], "the enrolment of another device")
        keys[thumbprint] = verify
    return keys


def check_life(entry, key, rows):
    """Step 3: what has credit was done between the enrolment of its key and the revocation."""
    at = datetime.fromisoformat(entry["payload"]["performed_at"]) + timedelta(milliseconds=entry["receipt"]["skew_ms"])
    revoked = [row for row in rows.get("key_revocations", {}).values() if row["key_id"] == key["id"]]
    need(datetime.fromisoformat(key["enrolled_at"]) <= at, "credit before the key was enrolled")
    need(all(at < datetime.fromisoformat(row["revoked_from"]) for row in revoked), "credit after the key was revoked")


def check_devices(entries, elsewhere):  # step 4
    for key in {entry["kid"] for entry in entries}:
        digests, made = dict(map(tuple, elsewhere.get(key, []))), [one for one in entries if one["kid"] == key]
        for entry in sorted(made, key=lambda one: one["payload"]["device_seq"]):
            number, previous = entry["payload"]["device_seq"], entry["payload"]["device_previous"]
            need(number not in digests, "two entries of a device with one number")
            need(previous is None if number == 1 else digests.get(number - 1, previous) == previous, "a device's chain")
            digests[number] = entry["digest"]


def check_job(manifest, members, entries):  # step 5
    claims, opening = json.loads(members["claims.json"]), json.loads(members["opening.json"])
    need((opening["job"], opening["company"]) == (manifest["job"], manifest["company"]["id"]), "another opening")
    head = sha(members["opening.json"])
    for place, entry in enumerate(entries, start=1):
        receipt, payload = entry["receipt"], entry["payload"]
        need(entry["position"] == place == receipt["position"], "a position is missing")
        need((receipt["digest"], receipt["entry"]) == (entry["digest"], payload["entry"]), "a receipt of other bytes")
        need(receipt["job"] == payload["job"] == manifest["job"], "an entry of another job")
        need(receipt["previous"] == head, "an entry does not follow the one before it")
        need(payload["kind"] != "release" or payload["chain_head"] == head, "the releaser saw another head")
        head = sha(b"\x00" + entry["raw"])
    need((claims["entries"], claims["chain_head"]) == (len(entries), head), "the record's head is another")
    for name, raw in members.items():
        need(not name.startswith("procedures/") or sha(raw) == name[11:75], "a procedure is not that of its digest")


def read_rows(members):
    rows, lines = {}, {}
    for name in (name for name in members if name.startswith("facts/")):
        for line, document in ((line, json.loads(line)) for line in members[name].splitlines()):
            table, row = document["table"], document["id"]
            need(name == f"facts/{table}.ndjson" and (table, row) not in lines, "a row twice, or in a wrong member")
            lines[table, row] = line
            rows.setdefault(table, {})[row] = {**document["columns"], "id": row}
    return rows, lines


def check_rows(manifest, rows, entries):
    """Step 6: rows say what was signed and received."""
    for table in rows.values():
        need(all(row["company_id"] == manifest["company"]["id"] for row in table.values()), "a row of another company")
    need(rows.get("entries", {}).keys() == {entry["payload"]["entry"] for entry in entries}, "rows and entries differ")
    for entry in entries:
        payload, said = entry["payload"], rows["entries"][entry["payload"]["entry"]]
        signed = {"token": entry["token"].decode(), "key": entry["kid"], "digest": entry["digest"]}
        signed |= {"job_id": payload["job"], "kind": payload["kind"], "device_seq": payload["device_seq"]}
        signed |= {name: entry["receipt"][name] for name in ("position", "previous", "received_at", "skew_ms")}
        need(all(said[name] == value for name, value in signed.items()), "a row does not say what was signed")


def inclusion(leaf, index, size, proof):
    """The root that a proof gives (RFC 9162, 2.1.1 and 2.1.3): down the tree, and up again."""
    if size == 1:
        need(index == 0 and not proof, "a proof of another leaf")
        return leaf
    split = 1 << ((size - 1).bit_length() - 1)
    if index < split:
        return tree_hash(b"\x01", inclusion(leaf, index, split, proof[:-1]), proof[-1])
    return tree_hash(b"\x01", proof[-1], inclusion(leaf, index - split, size - split, proof[:-1]))


def consistency(first, second, proof, old):
    """The roots of both sizes that a proof gives (RFC 9162, 2.1.4); `old` is None off the left edge."""
    if first == second:
        need(len(proof) == (old is None), "a proof of another length")
        return (proof[0], proof[0]) if old is None else (old, old)
    split = 1 << ((second - 1).bit_length() - 1)
    if first <= split:
        before, after = consistency(first, split, proof[:-1], old)
        return before, tree_hash(b"\x01", after, proof[-1])
    before, after = consistency(first - split, second - split, proof[:-1], None)
    return tree_hash(b"\x01", proof[-1], before), tree_hash(b"\x01", proof[-1], after)


def check_leaves(members, lines, size, root):
    """Step 6: every row with a place is in the log."""
    for place in json.loads(members["log/leaves.json"]):
        name, leaf = (place["table"], place["row"]), bytes.fromhex(place["leaf"])
        proof = [bytes.fromhex(value) for value in place["proof"]]
        need(name in lines and tree_hash(b"\x00", lines[name]) == leaf, f"{name} is not its leaf")
        need(inclusion(leaf, place["index"], size, proof) == root, f"{name} is not in the log")


def signers(note, keys):
    """Which of the verifier keys signed a note; a signature of one of them that fails is a contradiction."""
    body, _, lines = note.rpartition("\n\n")
    found, text = set(), body + "\n"
    for dash, name, raw in (line.split(" ") for line in lines.splitlines()):
        for vkey in keys:
            known, key_id, public = vkey.split("+", 2)
            kind, signed = b64decode(public)[0], b64decode(raw, validate=True)
            if (dash, known, key_id) != ("\u2014", name, signed[:4].hex()):
                continue
            need(len(signed) == (76 if kind == 4 else 68), "a signature of another length")
            need(sha(name.encode() + b"\n" + b64decode(public))[:8] == key_id, "a verifier key")
            head = f"cosignature/v1\ntime {int.from_bytes(signed[4:12])}\n" if kind == 4 else ""
            Ed25519PublicKey.from_public_bytes(b64decode(public)[1:]).verify(signed[-64:], (head + text).encode())
            found.add(vkey)
    return found, text.split("\n")


def open_checkpoint(note, log_keys, witnesses=()):
    found, lines = signers(note, [*log_keys, *witnesses])
    need(lines[0] in {vkey.split("+")[0] for vkey in found & set(log_keys)}, "the log's key did not sign a checkpoint")
    return lines[0], int(lines[1]), b64decode(lines[2], validate=True)


def log_keys(rows, trusted):
    """The trusted keys, and those in the chain of hand-overs that holds one of them."""
    chain = sorted(rows.get("log_keys", {}).values(), key=lambda row: row["number"])
    for old, new in pairwise(chain):
        found, lines = signers(new["change"], [old["vkey"], new["vkey"]])
        said = lines[0] == "rebuild-record key change v1" and lines[3:5] == [old["vkey"], new["vkey"]]
        need(said and new["vkey"] in found, "a hand-over of the log's key")
    keys = {row["vkey"] for row in chain}
    need(keys & set(trusted), "none of the log's keys is the trusted one")
    return keys | set(trusted)


def check_checkpoints(members, keys, kept, newest):
    """Step 7. Without a proof a kept checkpoint could not be checked: that is no contradiction."""
    proofs = {0: [], newest[1]: []}
    notes = [kept] if kept is not None else []
    for one in json.loads(members["log/checkpoints.json"]):
        proofs[int(one["size"])] = [bytes.fromhex(value) for value in one["consistency"]]
        notes.append(one["note"])
    for note in notes:
        origin, first, root = open_checkpoint(note, keys)
        need(origin == newest[0], "a checkpoint of another log")
        if first and first in proofs:
            need(consistency(first, newest[1], proofs[first], root) == (root, newest[2]), "one is not continued")


def verify(raw, trusted, kept=None, witnesses=()):
    """Raises ValueError, or what a member of another shape makes of it (see `rejects`)."""
    manifest, members = read_container(raw)
    rows, lines = read_rows(members)
    keys, outcomes, entries = read_keys(rows), json.loads(members["claims.json"])["outcomes"], []
    by_key = {row["thumbprint"]: row for row in rows.get("device_keys", {}).values()}
    for name in sorted(name for name in members if name.endswith(".jws")):
        kid, payload = check_token(members[name], "rebuild-entry+jws", keys)
        raw, entry = members[f"{name[:-4]}.json"], {"position": int(name[8:14]), "token": members[name], "kid": kid}
        entry |= {"digest": sha(members[name]), "payload": payload, "raw": raw, "receipt": json.loads(raw)}
        entries.append(entry)
        row, key = rows.get("entries", {}).get(payload["entry"]), by_key.get(kid)
        need(None in (row, key) or row["technician_id"] == key["technician_id"], "an entry of another person")
        if key and outcomes.get(payload["entry"], {}).get("credit"):
            check_life(entry, key, rows)
    check_devices(entries, json.loads(members["devices.json"]))
    check_job(manifest, members, entries)
    check_rows(manifest, rows, entries)
    if "log/checkpoint.note" in members:
        known = log_keys(rows, trusted)
        newest = open_checkpoint(members["log/checkpoint.note"].decode(), known, witnesses)
        need(newest[0] == f"rebuild-record/{manifest['company']['slug']}", "the checkpoint of another log")
        check_leaves(members, lines, *newest[1:])
        check_checkpoints(members, known, kept, newest)


def rejects(raw, trusted, kept=None, witnesses=()):
    """What contradicts, or None."""
    try:
        verify(raw, trusted, kept, witnesses)
    except MALFORMED as error:
        return f"{type(error).__name__}: {error}"
    return None


if __name__ == "__main__":
    sys.exit(rejects(Path(sys.argv[1]).read_bytes(), sys.argv[2:]))  # a text is told, and exits with 1
