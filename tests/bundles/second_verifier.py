"""A second verifier of bundles, written from docs/bundle-format.md alone: `python second_verifier.py BUNDLE VKEY`.

Standard library and `cryptography` only. Steps 1 to 7 and 9; it judges no work. Exit code 0: no contradiction; 1: one.
"""

import io
import json
import re
import sys
import zipfile
import zlib
from base64 import b64decode, urlsafe_b64decode, urlsafe_b64encode
from collections import defaultdict
from datetime import datetime, timedelta
from hashlib import sha256
from itertools import pairwise
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ec import ECDSA, SECP256R1, EllipticCurvePublicNumbers
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256

OF_JOB = re.compile(
    r"entries/\d{6}\.(jws|json)|facts/[a-z_]+\.ndjson|procedures/[0-9a-f]{64}\.json|log/checkpoint\.note|cautions\.txt"
    r"|(manifest|opening|register|claims|devices|evidence|log/leaves|log/checkpoints)\.json|evidence/[0-9a-f]{64}|record\.pdf"
)
OF_SELECTION = re.compile(r"manifest\.json|population\.txt|jobs/[0-9a-f-]{36}\.zip")
METHOD = "the jobs in the order of the SHA-256 of the text seed:job in hex; the first n of them"
MALFORMED = (InvalidSignature, ValueError, LookupError, TypeError, AttributeError, zipfile.BadZipFile, zlib.error)


def need(condition, what):
    if not condition:
        raise ValueError(what)


def sha(*parts):
    return sha256(b"".join(parts)).digest()


def once(pairs):
    need(len({name for name, _ in pairs}) == len(pairs), "a member twice in one object")
    return dict(pairs)


def read_container(raw, form="rebuild-bundle", known=OF_JOB, packed=(0, 8), limit=64 << 20):  # step 1
    need(len(raw) <= limit, "too large")
    need(raw[:4] == b"PK\x03\x04" and raw[-22:-18] == b"PK\x05\x06", "no zip, or something around it")
    members = {}
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        sizes = [info.file_size for info in archive.infolist()]
        need(len(sizes) <= 20_000 and sum(sizes) <= 4 * limit and max(sizes) <= 64 << 20, "too large")
        for info in archive.infolist():
            name = info.filename
            need(known.fullmatch(name) and name not in members, f"name {name!r}")
            need(info.compress_type in packed and not info.flag_bits & 1, name)
            need(info.external_attr >> 16 & 0o170000 != 0o120000, f"{name} is a link")
            members[name] = archive.read(info)
    manifest = json.loads(members.pop("manifest.json", b"{}"), object_pairs_hook=once)
    need((manifest.get("format"), manifest.get("version")) == (form, 1), "unknown format or version")
    listed = {name: {"sha256": sha(content).hex(), "size": len(content)} for name, content in members.items()}
    need(listed == manifest["members"], "members are not those of the manifest")
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

    return urlsafe_b64encode(sha(text.encode())).rstrip(b"=").decode(), verify


def check_token(token, typ, keys):  # step 2; without its key it could not be checked: that is no contradiction
    header, payload, signature = token.split(b".")
    head = json.loads(decoded(header), object_pairs_hook=once)
    need(head.keys() == {"alg", "kid", "typ"} and head["typ"] == typ, f"no token of type {typ}")
    if head["kid"] in keys:
        keys[head["kid"]](head["alg"], header + b"." + payload, decoded(signature))
    return head["kid"], json.loads(decoded(payload), object_pairs_hook=once)


def check_devices(entries, elsewhere, job, told):  # step 4; what the record tells by R703 is no contradiction
    for key in {entry["kid"] for entry in entries}:
        digests, made = defaultdict(set), [one for one in entries if one["kid"] == key]
        for number, digest, other in elsewhere.get(key, []):
            need(other != job, "an entry of this job is not here")
            digests[number].add(digest)
        forked = {one["payload"]["device_seq"] for one in made if one["payload"]["entry"] in told}
        for entry in sorted(made, key=lambda one: one["payload"]["device_seq"]):
            number, previous = entry["payload"]["device_seq"], entry["payload"]["device_previous"]
            need(number not in digests or number in forked, "two entries of a device with one number")
            follows = previous is None if number == 1 else previous in digests.get(number - 1, {previous})
            need(follows or entry["payload"]["entry"] in told, "a device's chain")
            digests[number].add(entry["digest"])


def check_job(manifest, members, entries):  # step 5
    claims, opening = json.loads(members["claims.json"]), json.loads(members["opening.json"])
    need((opening["job"], opening["company"]) == (manifest["job"], manifest["company"]["id"]), "another opening")
    head = sha(members["opening.json"]).hex()
    for place, entry in enumerate(entries, start=1):
        receipt, payload = entry["receipt"], entry["payload"]
        said = {"digest": entry["digest"], "entry": payload["entry"], "job": manifest["job"], "position": place}
        need(said == {name: receipt[name] for name in said}, "a receipt of another entry, job or position")
        need(entry["position"] == place and payload["job"] == manifest["job"], "an entry of another job or position")
        need(receipt["previous"] == head, "an entry does not follow the one before it")
        need(payload["kind"] != "release" or payload["chain_head"] == head, "the releaser saw another head")
        head = sha(b"\x00", entry["raw"]).hex()
    need((claims["entries"], claims["chain_head"]) == (len(entries), head), "the record's head is another")
    named = {digest for entry in entries for digest in entry["payload"].get("evidence", [])}
    for name in (name for name in members if name.startswith(("procedures/", "evidence/"))):
        need(sha(members[name]).hex() == name.split("/")[1][:64], "a file is not that of its digest")
        need(name[:9] != "evidence/" or name[9:] in named, "a file that no entry names")


def read_rows(members, company):
    """The rows, their lines, and (step 3) the keys: each that of its thumbprint, its enrolment signed by itself."""
    rows, lines = {}, {}
    for name in (name for name in members if name.startswith("facts/")):
        for line, document in ((line, json.loads(line)) for line in members[name].splitlines()):
            table, row = document["table"], document["id"]
            need(name == f"facts/{table}.ndjson" and (table, row) not in lines, "a row twice, or in a wrong member")
            need(document["columns"]["company_id"] == company, "a row of another company")
            lines[table, row] = line
            rows.setdefault(table, {})[row] = {**document["columns"], "id": row}
    keys, owners = {}, {}
    for row in rows.get("device_keys", {}).values():
        thumbprint, verify = public_key(row["jwk"])
        kid, proof = check_token(row["proof"].encode(), "rebuild-enrolment+jws", {thumbprint: verify})
        need(row["thumbprint"] == thumbprint == kid, "a key is not the one of its thumbprint")
        need(proof["device_name"] == row["device_name"], "the enrolment of another device")
        keys[thumbprint], owners[thumbprint] = verify, row
    return rows, lines, keys, owners


def check_rows(rows, entries, outcomes, owners):
    """Step 6: rows say what was signed and received. Step 3: what has credit was done in the life of its key."""
    need(rows.get("entries", {}).keys() == {entry["payload"]["entry"] for entry in entries}, "rows and entries differ")
    for entry in entries:
        payload, said = entry["payload"], rows["entries"][entry["payload"]["entry"]]
        signed = {"token": entry["token"].decode(), "key": entry["kid"], "digest": entry["digest"]}
        signed |= {"job_id": payload["job"], "kind": payload["kind"], "device_seq": payload["device_seq"]}
        signed |= {name: entry["receipt"][name] for name in ("position", "previous", "received_at", "skew_ms")}
        key = owners.get(entry["kid"], said)
        signed |= {"technician_id": key["technician_id"]}
        need(all(said[name] == value for name, value in signed.items()), "a row does not say what was signed")
        if key is not said and outcomes.get(payload["entry"], {}).get("credit"):
            at = datetime.fromisoformat(payload["performed_at"]) + timedelta(milliseconds=said["skew_ms"])
            ends = [
                row["revoked_from"] for row in rows.get("key_revocations", {}).values() if row["key_id"] == key["id"]
            ]
            need(datetime.fromisoformat(key["enrolled_at"]) <= at, "credit before the key was enrolled")
            need(all(at < datetime.fromisoformat(end) for end in ends), "credit after the key was revoked")


def inclusion(leaf, index, size, proof):
    """The root that a proof gives (RFC 9162, 2.1.1 and 2.1.3): down the tree, and up again."""
    if size == 1:
        need(index == 0 and not proof, "a proof of another leaf")
        return leaf
    split = 1 << ((size - 1).bit_length() - 1)
    if index < split:
        return sha(b"\x01", inclusion(leaf, index, split, proof[:-1]), proof[-1])
    return sha(b"\x01", proof[-1], inclusion(leaf, index - split, size - split, proof[:-1]))


def consistency(first, second, proof, old):
    """The roots of both sizes that a proof gives (RFC 9162, 2.1.4); `old` is None off the left edge."""
    if first == second:
        need(len(proof) == (old is None), "a proof of another length")
        return (proof[0], proof[0]) if old is None else (old, old)
    split = 1 << ((second - 1).bit_length() - 1)
    if first <= split:
        before, after = consistency(first, split, proof[:-1], old)
        return before, sha(b"\x01", after, proof[-1])
    before, after = consistency(first - split, second - split, proof[:-1], None)
    return sha(b"\x01", proof[-1], before), sha(b"\x01", proof[-1], after)


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
            need(sha(name.encode() + b"\n" + b64decode(public))[:4].hex() == key_id, "a verifier key")
            head = f"cosignature/v1\ntime {int.from_bytes(signed[4:12])}\n" if kind == 4 else ""
            Ed25519PublicKey.from_public_bytes(b64decode(public)[1:]).verify(signed[-64:], (head + text).encode())
            found.add(vkey)
    return found, text.split("\n")


def check_log(manifest, members, rows, lines, trusted, kept, witnesses, entries):
    """Step 7, and the proofs of step 6. Without a proof a kept checkpoint could not be checked: no contradiction."""
    chain = sorted(rows.get("log_keys", {}).values(), key=lambda row: row["number"])
    for old, new in pairwise(chain):
        found, text = signers(new["change"], [old["vkey"], new["vkey"]])
        said = text[0] == "rebuild-record key change v1" and text[3:5] == [old["vkey"], new["vkey"]]
        need(said and new["vkey"] in found, "a hand-over of the log's key")
    keys, earlier = {row["vkey"] for row in chain}, json.loads(members["log/checkpoints.json"])
    need(keys & set(trusted), "none of the log's keys is the trusted one")
    notes = [members["log/checkpoint.note"].decode(), *(one["note"] for one in earlier), *([kept] if kept else [])]
    opened = []
    for found, text in (signers(note, keys | {*trusted, *witnesses}) for note in notes):
        names = {vkey.split("+")[0] for vkey in found & (keys | set(trusted))}
        need(text[0] == f"rebuild-record/{manifest['company']['slug']}" in names, "a checkpoint that is not the log's")
        opened.append((int(text[1]), b64decode(text[2], validate=True)))
    size, root = opened[0]
    for place in json.loads(members["log/leaves.json"]):
        name, leaf = (place["table"], place["row"]), bytes.fromhex(place["leaf"])
        need(name in lines and sha(b"\x00", lines[name]) == leaf, f"{name} is not its leaf")
        proof = [bytes.fromhex(value) for value in place["proof"]]
        need(inclusion(leaf, place["index"], size, proof) == root, f"{name} is not in the log")
    proofs = {int(one["size"]): [bytes.fromhex(value) for value in one["consistency"]] for one in earlier}
    for first, old in opened[1:]:
        proof = [] if first == size else proofs.get(first)
        if first and proof is not None:
            need(consistency(first, size, proof, old) == (old, root), "one is not continued")
    for seen in filter(None, (entry["payload"].get("seen_checkpoint") for entry in entries)):
        need(dict(opened).get(seen["size"], b"").hex() in {"", seen["root"]}, "a phone saw another log")


def verify_job(raw, trusted, kept, witnesses):
    manifest, members = read_container(raw)
    need(members.keys() >= {f"{it}.json" for it in ("opening", "register", "devices", "evidence")}, "too few")
    need(members.keys() >= {"cautions.txt", "log/leaves.json", "log/checkpoints.json"}, "a member is missing")
    rows, lines, keys, owners = read_rows(members, manifest["company"]["id"])
    outcomes, entries = json.loads(members["claims.json"])["outcomes"], []
    for name in sorted(name for name in members if name.endswith(".jws")):
        kid, payload = check_token(members[name], "rebuild-entry+jws", keys)
        raw, entry = members[f"{name[:-4]}.json"], {"position": int(name[8:14]), "token": members[name], "kid": kid}
        entry |= {"digest": sha(members[name]).hex(), "payload": payload, "raw": raw, "receipt": json.loads(raw)}
        entries.append(entry)
    told = {entry for entry, one in outcomes.items() if any(found["rule"] == 703 for found in one["findings"])}
    check_devices(entries, json.loads(members["devices.json"]), manifest["job"], told)
    check_job(manifest, members, entries)
    check_rows(rows, entries, outcomes, owners)
    if "log/checkpoint.note" in members:
        check_log(manifest, members, rows, lines, trusted, kept, witnesses, entries)
    return manifest, members, {entry["digest"] for entry in entries}


def verify_selection(raw, *trust):  # step 9, of a unit's history or a sample
    manifest, members = read_container(raw, "rebuild-bundles", OF_SELECTION, (0,), 1 << 30)
    chosen, population = manifest["selection"], members["population.txt"].decode().splitlines()
    sampled, narrowed = chosen["kind"] == "sample", chosen["filters"] or chosen["scope"]
    need(population == sorted(set(population)), "the population is not in order")
    need(not sampled or chosen["method"] == METHOD, "another way to draw")
    drawn = sorted(population, key=lambda job: sha(f"{chosen.get('seed')}:{job}".encode()))[: chosen.get("n")]
    need(members.keys() == {"population.txt", *(f"jobs/{job}.zip" for job in drawn)}, "not the jobs that are drawn")
    inside = [verify_job(members[f"jobs/{job}.zip"], *trust) for job in drawn]
    by_job, logs = {manifest["job"]: digests for manifest, _, digests in inside}, set()
    for job, (inner, held, _) in zip(drawn, inside, strict=True):
        need(inner["job"] == job and all(inner[it] == manifest[it] for it in ("company", "made_at")), "another job's")
        logs.add((held.get("log/checkpoint.note"), held.get("facts/log_keys.ndjson")))
        register = json.loads(held["register.json"])
        need(sampled or register["unit"]["id"] == chosen["unit"], "a job of another unit")
        others = [one for made in json.loads(held["devices.json"]).values() for one in made]
        need(all(digest in by_job.get(other, {digest}) for _, digest, other in others), "an entry of a job here is not")
        named = {other for *_, other in others} if sampled else {one["id"] for one in register["jobs"]}
        need(narrowed or named <= set(population), "a job that is named is not in the population")
    need(len(logs) < 2, "the bundles are of two logs")


def rejects(raw, trusted, kept=None, witnesses=()):
    """What contradicts, or None. A member of another shape than the format's raises what MALFORMED names."""
    try:
        (verify_selection if b"population.txt" in raw else verify_job)(raw, trusted, kept, witnesses)
    except MALFORMED as error:
        return f"{type(error).__name__}: {error}"
    return None


if __name__ == "__main__":
    sys.exit(rejects(Path(sys.argv[1]).read_bytes(), sys.argv[2:]))  # a text is told, and exits with 1
