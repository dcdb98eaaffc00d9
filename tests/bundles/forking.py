"""A phone that signed one number on two jobs, as the bundle of one of them shows it, or does not."""

from dataclasses import replace
from datetime import timedelta
from typing import Any

from jobs.domain.bundle import BundleSource, write_bundle
from jobs.domain.receipt import utc_text
from tests.bundles import world
from tests.bundles.world import build_source
from tests.bundles.world_rows import JOB, MADE, Device, Rows, identifier, row

NUMBER = 2
OTHER_JOB = str(identifier("other job"))


def _key() -> str:
    return Device("RM's phone").jwk.thumbprint


def _fork_row(rows: Rows) -> dict[str, Any]:
    entry = next(
        one for table, one in rows if table == "entries" and (one["key"], one["device_seq"]) == (_key(), NUMBER)
    )
    return row(
        "device fork",
        key=_key(),
        number=NUMBER,
        first_id=entry["id"],
        first_job_id=JOB,
        second_id=identifier("twin"),
        second_job_id=OTHER_JOB,
        since=utc_text(MADE - timedelta(hours=1)),
    )


def _noted(rows: Rows) -> Rows:
    """The fork was noted, and suspended the release; nobody has lifted that."""
    code = {"code": "forked_across_jobs"}
    suspended = [(table, {**one, **code} if table == "release_suspensions" else one) for table, one in rows]
    kept = [(table, one) for table, one in suspended if table != "suspension_liftings"]
    return [*kept, ("device_forks", _fork_row(rows))]


def _forked(*, row_is_there: bool = True, twin_is_there: bool = True) -> BundleSource:
    """RM's phone was copied; the copy signed its second entry once more, for another job, after the release."""
    source = build_source(rows=_noted if row_is_there else lambda rows: rows)
    devices = {_key(): [(NUMBER, "ab" * 32, OTHER_JOB)]} if twin_is_there else {}
    return world.with_claims(replace(source, devices=devices))


def told(_good: BundleSource) -> bytes:
    """The record says so: the work keeps its credit, and the release is suspended."""
    return write_bundle(_forked())


def hidden(_good: BundleSource) -> bytes:
    """The record is silent."""
    return write_bundle(_forked(row_is_there=False))


def not_held(_good: BundleSource) -> bytes:
    """There is a row of it, but the record does not judge by it."""
    source, outcomes = _forked(), dict[str, Any]()
    for entry, outcome in source.claims["outcomes"].items():
        left = [found for found in outcome["findings"] if found["rule"] != 707]
        outcomes[entry] = {**outcome, "findings": left}
    return write_bundle(replace(source, claims={**source.claims, "outcomes": outcomes}))


def made_up(_good: BundleSource) -> bytes:
    """A row tells of a fork, and the phone signed nothing of that number for another job."""
    return write_bundle(_forked(twin_is_there=False))
