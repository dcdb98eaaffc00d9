"""A second verifier of bundles, written from docs/bundle-format.md alone: `python second_verifier.py BUNDLE VKEY`.

Standard library and `cryptography` only. Steps 1 to 7 and 9; it judges no work. Exit code 0: no contradiction; 1: one."""

import io
import json
import re
import sys
import zipfile
import zlib
from base64 import b64decode, urlsafe_b64decode, urlsafe_b64encode
from collections import defaultdict
from datetime import datetime, timedelta
from fractions import Fraction
from hashlib import sha256
from pathlib import Path

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric import ec, utils
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.hashes import SHA256

NAME = re.compile(r"([a-z0-9_-][a-z0-9_.-]*/)?[a-z0-9_-][a-z0-9_.-]*")
METHOD = "the jobs in the order of the SHA-256 of the text seed:job in hex; the first n of them"
STATED = {  # the columns that a statement of a fact speaks of, and what it calls those of ids
    "qualification_grants": "technician_id scopes valid_from valid_to evidence",
    "qualification_withdrawals": "grant_id withdrawn_from reason",
    "key_revocations": "key_id revoked_from reason",
    "calibrations": "instrument_id performed_at due_at result as_found as_left certificate",
}
IDS = {"technician_id": "technician", "grant_id": "qualification", "key_id": "key", "instrument_id": "instrument"}
MALFORMED = (InvalidSignature, ValueError, LookupError, TypeError, AttributeError, zipfile.BadZipFile, zlib.error)


def need(condition, what):
    if not condition:
        raise ValueError(what)


def sha(*parts):
    return sha256(b"".join(parts)).digest()


def once(pairs):
    need(len({name for name, _ in pairs}) == len(pairs), "a member twice in one object")
    return dict(pairs)


def read_container(raw, form="rebuild-bundle", packed=(0, 8), limit=64 << 20):  # step 1
    is_zip, members = raw[:4] == b"PK\x03\x04" and raw[-22:-18] == b"PK\x05\x06", {}
    need(is_zip and len(raw) <= limit, "no zip, something around it, or too large")
    with zipfile.ZipFile(io.BytesIO(raw)) as archive:
        sizes = [info.file_size for info in archive.infolist()]
        need(len(sizes) <= 20_000 and sum(sizes) <= 4 * limit and max(sizes) <= 64 << 20, "too large")
        for name, info in ((info.filename, info) for info in archive.infolist()):
            need(NAME.fullmatch(name) and name not in members, f"name {name!r}")
            need(info.compress_type in packed and not info.flag_bits & 1 and info.external_attr >> 28 != 0o12, name)
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


def public_key(jwk):  # the RFC 7638 thumbprint of a key, and what verifies under it
    names = {"OKP Ed25519": ("crv", "kty", "x"), "EC P-256": ("crv", "kty", "x", "y")}[f"{jwk['kty']} {jwk['crv']}"]
    text = json.dumps({name: jwk[name] for name in names}, separators=(",", ":"))
    points = [decoded(jwk[name].encode()) for name in names[2:]]

    def verify(algorithm, message, signature):
        need(algorithm in ({"Ed25519", "EdDSA"}, {"ES256"})[len(points) - 1] and len(signature) == 64, "algorithm")
        if len(points) == 1:
            return Ed25519PublicKey.from_public_bytes(points[0]).verify(signature, message)
        x, y, r, s = (int.from_bytes(half) for half in (*points, signature[:32], signature[32:]))
        key = ec.EllipticCurvePublicNumbers(x, y, ec.SECP256R1()).public_key()
        return key.verify(utils.encode_dss_signature(r, s), message, ec.ECDSA(SHA256()))

    return urlsafe_b64encode(sha(text.encode())).rstrip(b"=").decode(), verify


def check_token(token, typ, keys):  # step 2; without its key it could not be checked: that is no contradiction
    header, payload, signature = token.split(b".")
    head = json.loads(decoded(header), object_pairs_hook=once)
    need(head.keys() == {"alg", "kid", "typ"} and head["typ"] == typ, f"no token of type {typ}")
    if head["kid"] in keys:
        keys[head["kid"]](head["alg"], header + b"." + payload, decoded(signature))
    return head["kid"], json.loads(decoded(payload), object_pairs_hook=once)


def check_devices(entries, elsewhere, job, told):  # step 4; what the record tells by R703 or R707 is no contradiction
    digests = defaultdict(set)
    for key, number, digest, other in ((key, *one) for key, made in elsewhere.items() for one in made):
        need(other != job, "an entry of this job is not here")
        digests[key, number].add(digest)
    forked = {(one["key"], one["device_seq"]) for one in entries if one["entry"] in told}
    for entry in sorted(entries, key=lambda one: one["device_seq"]):
        key, number, previous = entry["key"], entry["device_seq"], entry["device_previous"]
        need((key, number) not in digests or (key, number) in forked, "two entries of a device with one number")
        follows = previous is None if number == 1 else previous in digests.get((key, number - 1), {previous})
        need(follows or entry["entry"] in told, "a device's chain")
        digests[key, number].add(entry["digest"])


def check_job(manifest, members, entries):  # step 5
    claims, opening = json.loads(members["claims.json"]), json.loads(members["opening.json"])
    need((opening["job"], opening["company"]) == (manifest["job"], manifest["company"]["id"]), "another opening")
    head = sha(members["opening.json"]).hex()
    for place, entry in enumerate(entries, start=1):
        said = {"digest": entry["digest"], "entry": entry["entry"], "job": manifest["job"], "position": place}
        need(said == {name: entry["receipt"][name] for name in said}, "a receipt of another entry, job or position")
        at = (entry["job"], entry["position"], entry["receipt"]["previous"])
        need(at == (manifest["job"], place, head), "an entry of another job or position, or that does not follow")
        need(entry["kind"] != "release" or entry["chain_head"] == head, "the releaser saw another head")
        head = sha(b"\x00", entry["raw"]).hex()
    need((claims["entries"], claims["chain_head"]) == (len(entries), head), "the record's head is another")
    named = {digest for entry in entries for digest in entry.get("evidence", [])}
    for name in (name for name in members if name.startswith(("procedures/", "evidence/"))):
        is_named = name[:9] != "evidence/" or name[9:] in named
        need(sha(members[name]).hex() == name.split("/")[1][:64] and is_named, "a file not of its digest, or unnamed")


def read_rows(members, company):  # and step 3: a key is that of its thumbprint, its enrolment signed by itself
    rows, lines = defaultdict(dict), {}
    for name in (name for name in members if name.startswith("facts/")):
        for line, document in ((line, json.loads(line)) for line in members[name].splitlines()):
            table, row = document["table"], document["id"]
            need(name == f"facts/{table}.ndjson" and (table, row) not in lines, "a row twice, or in a wrong member")
            need(document["columns"]["company_id"] == company, "a row of another company")
            lines[table, row] = line
            rows[table][row] = {**document["columns"], "id": row}
    keys, owners = {}, {}
    for row in rows["device_keys"].values():
        thumbprint, verify = public_key(row["jwk"])
        kid, proof = check_token(row["proof"].encode(), "rebuild-enrolment+jws", {thumbprint: verify})
        need(row["thumbprint"] == thumbprint == kid, "a key is not the one of its thumbprint")
        need(proof["device_name"] == row["device_name"], "the enrolment of another device")
        ends = [it["revoked_from"] for it in rows["key_revocations"].values() if it["key_id"] == row["id"]]
        start, end = map(datetime.fromisoformat, (row["enrolled_at"], min(ends, default="9999-12-31T00:00:00Z")))
        keys[thumbprint], owners[thumbprint] = verify, {**row, "life": (start, end)}
    return rows, lines, keys, owners


def check_statements(rows, keys, owners):  # step 3, of facts of the registry
    def plain(name, value):  # times are compared as moments, points as numbers
        if name in {"as_found", "as_left"}:
            return [(Fraction(point["reference"]), Fraction(point["indicated"])) for point in value]
        is_time = value and name.endswith(("_at", "_from", "_to"))
        return datetime.fromisoformat(value) if is_time else sorted(value) if name == "scopes" else value

    signed = [(table, row) for table in STATED for row in rows[table].values() if row.get("statement")]
    for table, row in signed:
        signer, payload = check_token(row["statement"].encode(), "rebuild-registry+jws", keys)
        said = {"fact": table, "id": row["id"], **{IDS.get(it, it): row.get(it) for it in STATED[table].split()}}
        key = owners.get(signer)
        if key:
            odd = [it for it in said if plain(it, payload[it]) != plain(it, said[it])]
            need(payload.keys() == said.keys() and not odd, "a row that its signer contradicts")
            need(key["technician_id"] != row.get("technician_id"), "a statement of oneself")
            at = datetime.fromisoformat(row["recorded_at"])
            need(key["life"][0] <= at < key["life"][1], "a statement outside the life of its key")


def check_rows(rows, entries, outcomes, owners):  # step 6, and step 3: what has credit was done in the life of its key
    need(rows["entries"].keys() == {entry["entry"] for entry in entries}, "rows and entries differ")
    for entry in entries:
        said = rows["entries"][entry["entry"]]
        signed = {name: entry[name] for name in ("token", "key", "digest", "kind", "device_seq")}
        signed |= {name: entry["receipt"][name] for name in ("position", "previous", "received_at", "skew_ms")}
        key = owners.get(entry["key"], said)
        signed |= {"job_id": entry["job"], "technician_id": key["technician_id"]}
        need(all(said[name] == value for name, value in signed.items()), "a row does not say what was signed")
        if key is not said and outcomes.get(entry["entry"], {}).get("credit"):
            at = datetime.fromisoformat(entry["performed_at"]) + timedelta(milliseconds=said["skew_ms"])
            need(key["life"][0] <= at < key["life"][1], "credit outside the life of its key")


def inclusion(leaf, index, size, proof):  # the root that a proof gives (RFC 9162, 2.1.1, 2.1.3): down, and up again
    if size == 1:
        need(index == 0 and not proof, "a proof of another leaf")
        return leaf
    split = 1 << ((size - 1).bit_length() - 1)
    if index < split:
        return sha(b"\x01", inclusion(leaf, index, split, proof[:-1]), proof[-1])
    return sha(b"\x01", proof[-1], inclusion(leaf, index - split, size - split, proof[:-1]))


def consistency(first, second, proof, old):  # the roots of both sizes (RFC 9162, 2.1.4); None off the left edge
    if first == second:
        need(len(proof) == (old is None), "a proof of another length")
        return (proof[0], proof[0]) if old is None else (old, old)
    split = 1 << ((second - 1).bit_length() - 1)
    if first <= split:
        before, after = consistency(first, split, proof[:-1], old)
        return before, sha(b"\x01", after, proof[-1])
    before, after = consistency(first - split, second - split, proof[:-1], None)
    return sha(b"\x01", proof[-1], before), sha(b"\x01", proof[-1], after)


def signers(note, keys):  # which of the keys signed a note; a signature of one of them that fails is a contradiction
    body, _, lines = note.rpartition("\n\n")
    found, text = set(), body + "\n"
    for dash, name, raw in (line.split(" ") for line in lines.splitlines()):
        signed = b64decode(raw, validate=True)
        for vkey in (vkey for vkey in keys if [dash, *vkey.split("+")[:2]] == ["\u2014", name, signed[:4].hex()]):
            public = b64decode(vkey.split("+", 2)[2])
            need(len(signed) == (76 if public[0] == 4 else 68), "a signature of another length")
            need(sha(name.encode() + b"\n" + public)[:4] == signed[:4], "a verifier key of another name")
            head = f"cosignature/v1\ntime {int.from_bytes(signed[4:12])}\n" if public[0] == 4 else ""
            Ed25519PublicKey.from_public_bytes(public[1:]).verify(signed[-64:], (head + text).encode())
            found.add(vkey)
    return found, text.split("\n")


def check_log(manifest, members, rows, lines, trusted, kept, witnesses, entries):  # step 7, and proofs of step 6
    chain = sorted(rows["log_keys"].values(), key=lambda row: row["number"])
    for old, new in ((chain[at], chain[at + 1]) for at in range(len(chain) - 1)):
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
        is_at = inclusion(leaf, place["index"], size, [*map(bytes.fromhex, place["proof"])]) == root
        need(name in lines and sha(b"\x00", lines[name]) == leaf and is_at, f"{name} is not in the log as it is")
    proofs = {int(one["size"]): [bytes.fromhex(value) for value in one["consistency"]] for one in earlier}
    for first, old in opened[1:]:
        proof = [] if first == size else proofs.get(first)
        if first and proof is not None:
            need(consistency(first, size, proof, old) == (old, root), "one is not continued")
    for seen in filter(None, (entry.get("seen_checkpoint") for entry in entries)):
        need(dict(opened).get(seen["size"], b"").hex() in {"", seen["root"]}, "a phone saw another log")


def verify_job(raw, trusted, kept, witnesses):
    manifest, members = read_container(raw)
    need(members.keys() >= {f"{it}.json" for it in ("opening", "register", "devices", "evidence")}, "too few")
    need(members.keys() >= {"cautions.txt", "log/leaves.json", "log/checkpoints.json"}, "a member is missing")
    rows, lines, keys, owners = read_rows(members, manifest["company"]["id"])
    outcomes, entries = json.loads(members["claims.json"])["outcomes"], []
    for name in sorted(name for name in members if name.endswith(".jws")):
        kid, payload = check_token(members[name], "rebuild-entry+jws", keys)
        entry = {**payload, "key": kid, "position": int(name[8:14]), "token": members[name].decode()}
        raw = members[f"{name[:-4]}.json"]
        entries.append({**entry, "digest": sha(members[name]).hex(), "raw": raw, "receipt": json.loads(raw)})
    told = {entry for entry, one in outcomes.items() if any(found["rule"] in (703, 707) for found in one["findings"])}
    check_devices(entries, json.loads(members["devices.json"]), manifest["job"], told)
    check_job(manifest, members, entries)
    check_rows(rows, entries, outcomes, owners)
    check_statements(rows, keys, owners)
    if "log/checkpoint.note" in members:
        check_log(manifest, members, rows, lines, trusted, kept, witnesses, entries)
    return manifest, members, {entry["digest"] for entry in entries}


def verify_selection(raw, *trust):  # step 9, of a unit's history or a sample
    manifest, members = read_container(raw, "rebuild-bundles", (0,), 1 << 30)
    chosen, population = manifest["selection"], members["population.txt"].decode().splitlines()
    sampled, narrowed = chosen["kind"] == "sample", chosen["filters"] or chosen["scope"]
    need(population == sorted(set(population)) and (not sampled or chosen["method"] == METHOD), "another draw")
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


def rejects(raw, trusted, kept=None, witnesses=()):  # what contradicts, or None; MALFORMED: another shape
    try:
        (verify_selection if b"population.txt" in raw else verify_job)(raw, trusted, kept, witnesses)
    except MALFORMED as error:
        return f"{type(error).__name__}: {error}"


if __name__ == "__main__":
    sys.exit(rejects(Path(sys.argv[1]).read_bytes(), sys.argv[2:]))  # a text is told, and exits with 1
