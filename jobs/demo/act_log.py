"""The auditor asks for proof that the release stands in the log, and checks it against a signed checkpoint."""

import time
from typing import Any

from jobs.demo.stage import Stage, today
from jobs.demo.telling import Tone
from jobs.domain.checkpoint import CheckpointError, open_checkpoint
from jobs.domain.merkle import verify_inclusion
from jobs.domain.signed_note import read_note_key

LOOK_SECONDS = 0.5
MOST_LOOKS = 120


def prove_release(stage: Stage, release: str) -> str | None:
    """The checkpoint that covers the release, to be kept; None if it was not to be had."""
    found = _inclusion(stage, release)
    stage.telling.check(found is not None, "the log's worker signs a checkpoint over the release")
    if found is None:
        return None
    what = "Checks the proof that the release stands in the company's log"
    shown = _is_shown(stage, found)
    result = f"leaf {found['index']} of {found['size']}" if shown else "not shown"
    stage.telling.act(today(stage), "NU", what, result, Tone.GOOD if shown else Tone.REFUSED)
    stage.telling.check(shown, "the proof leads from the release's leaf to the root that the log signed")
    return str(found["checkpoint"])


def _inclusion(stage: Stage, release: str) -> dict[str, Any] | None:
    """The worker sequences and signs every few seconds; until then there is no proof."""
    path = f"/v1/log/inclusion_proofs?table=releases&row={release}"
    for _ in range(MOST_LOOKS):
        answer = stage.offices["auditor"].get(path)
        document: dict[str, Any] = answer.json()
        if answer.ok and document["checkpoint"] is not None:
            return document
        time.sleep(LOOK_SECONDS)
    return None


def _is_shown(stage: Stage, found: dict[str, Any]) -> bool:
    key = read_note_key(stage.offices["auditor"].read("/v1/log/key")["vkey"])
    try:
        checkpoint = open_checkpoint(found["checkpoint"].encode(), log_keys=(key,)).checkpoint
    except CheckpointError:
        return False
    proof = [bytes.fromhex(sibling) for sibling in found["proof"]]
    leaf = bytes.fromhex(found["leaf_hash"])
    same_size = checkpoint.size == found["size"]
    return same_size and verify_inclusion(leaf, found["index"], found["size"], proof, checkpoint.root)
