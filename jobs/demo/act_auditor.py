"""The auditor trusts nobody: takes the export, checks every signature with the public keys, and every chain."""

from collections.abc import Iterable
from itertools import pairwise
from typing import Any

import orjson

from jobs.demo.stage import Stage, today
from jobs.demo.telling import Tone
from jobs.demo.work import CREDIT, LATE, NO_CREDIT, Work
from shops.domain.jwk import PublicJwk, read_public_jwk
from shops.domain.jws import read_compact, verify_compact

ENTRY_TYP = "rebuild-entry+jws"


def audit(stage: Stage, works: Iterable[Work]) -> None:
    telling = stage.telling
    telling.heading("Today: the auditor takes the export")
    lines = [orjson.loads(line) for line in stage.offices["auditor"].lines("/v1/entries.ndjson")]
    wanted = sum(work.entries for work in works)
    telling.act(today(stage), "NU", "Streams all entries of the company as NDJSON", f"{len(lines)} entries", Tone.PLAIN)
    telling.check(len(lines) == wanted, f"the export holds all that was stored: {len(lines)} of {wanted}")
    _check_signatures(stage, lines)
    _check_chains(stage, lines)
    _check_credit(stage, lines)


def _check_signatures(stage: Stage, lines: list[dict[str, Any]]) -> None:
    keys = public_keys(stage)
    good = sum(_is_signed(line["token"].encode(), keys) for line in lines)
    result = f"{good} of {len(lines)} good"
    what = f"Checks each signature with the {len(keys)} public keys alone"
    stage.telling.act(today(stage), "NU", what, result, Tone.GOOD if good == len(lines) else Tone.REFUSED)
    stage.telling.check(good == len(lines), f"every signature is good: {result}")


def public_keys(stage: Stage) -> dict[str, PublicJwk]:
    """The device keys of the company, by thumbprint."""
    found, path = {}, "/v1/device_keys?limit=200"
    while path:
        page = stage.offices["auditor"].read(path)
        for item in page["items"]:
            found[item["thumbprint"]] = read_public_jwk(item["jwk"])
        path = f"/v1/device_keys?limit=200&cursor={page['next']}" if page["next"] else ""
    return found


def _is_signed(token: bytes, keys: dict[str, PublicJwk]) -> bool:
    jws = read_compact(token, typ=ENTRY_TYP)
    return jws.kid in keys and verify_compact(jws, keys[jws.kid])


def _check_chains(stage: Stage, lines: list[dict[str, Any]]) -> None:
    """In each job every entry names the leaf before it, without a gap in the positions."""
    jobs: dict[str, list[dict[str, Any]]] = {}
    for line in lines:
        jobs.setdefault(line["job"], []).append(line)
    whole = all(_is_chained(sorted(entries, key=lambda entry: int(entry["position"]))) for entries in jobs.values())
    result = f"{len(jobs)} chains whole" if whole else "a chain is broken"
    stage.telling.act(today(stage), "NU", "Follows each job's chain of leaf hashes", result, Tone.GOOD)
    stage.telling.check(whole, "every chain is whole")


def _is_chained(entries: list[dict[str, Any]]) -> bool:
    numbered = [entry["position"] for entry in entries] == list(range(1, len(entries) + 1))
    linked = all(later["previous"] == earlier["leaf"] for earlier, later in pairwise(entries))
    return numbered and linked


def _check_credit(stage: Stage, lines: list[dict[str, Any]]) -> None:
    """What earned nothing is in the export too, with its findings."""
    without = [line for line in lines if not line["credit"]]
    codes = sorted({f["code"] for line in without for f in line["findings"] if f["response"] != "flag"})
    stage.telling.say(f"{len(without)} entries have no credit, and say why: {', '.join(codes)}.")
    late = sum(any(finding["code"] == LATE for finding in line["findings"]) for line in lines)
    stage.telling.say(f"{late} of {len(lines)} are marked as received late, as they were.")
    stage.telling.check(late == len(lines), f"all that is told now is marked as late: {late} of {len(lines)}")
    wanted = stage.telling.shown.get(NO_CREDIT, 0)
    stage.telling.check(len(without) == wanted, f"what was stored without credit is there: {len(without)} of {wanted}")
    kept = stage.telling.shown.get(CREDIT, 0) + 1  # the release is told apart from the entries
    stage.telling.check(len(lines) - len(without) == kept, f"{kept} entries have credit: {len(lines) - len(without)}")
