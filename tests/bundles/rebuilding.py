"""What somebody can do who owns the server, the data base and the log's key, or a phone: all is built anew after it."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

from jobs.domain.bundle import BundleSource, bundle_members, write_bundle
from tests.acts import Act, jaw_gap
from tests.bundles import world
from tests.bundles.breaking import zipped
from tests.bundles.world import ACTS, build_source
from tests.bundles.world_rows import Device, Rows, identifier, key_row, stated

Make = Callable[[BundleSource], bytes]


def enrolled_without_key(_good: BundleSource) -> bytes:
    """OK's key was enrolled by somebody who did not hold it."""

    def forge(rows: Rows) -> Rows:
        forged = key_row("OK", Device("OK's phone"))
        forged["proof"] = key_row("OK", Device("server"))["proof"]
        return [(table, forged if found["id"] == forged["id"] else found) for table, found in rows]

    return write_bundle(build_source(rows=forge))


def back_dated_by_phone(good: BundleSource) -> bytes:
    """RM's phone signs its first entry as of a time before it was enrolled; the record gives credit all the same."""

    def clock(index: int, at: datetime) -> datetime:
        return at - timedelta(days=60) if index == 0 else at

    source = build_source(clock=clock)
    return _claiming(source, good)


def _claiming(source: BundleSource, good: BundleSource) -> bytes:
    """The bundle of `source`, whose record claims of each position what `good` may."""
    twins = {str(old[1].entry): str(new[1].entry) for old, new in zip(good.entries, source.entries, strict=False)}
    outcomes = {twins[entry]: outcome for entry, outcome in good.claims["outcomes"].items() if entry in twins}
    readings = [{**one, "entry": twins.get(one["entry"], one["entry"])} for one in good.claims["readings"]]
    return write_bundle(replace(source, claims={**source.claims, "outcomes": outcomes, "readings": readings}))


def _numbered(
    change: Callable[[int], int],
    *,
    previous: Callable[[list[str]], str | None] | None = None,
    rows: Callable[[Rows], Rows] = lambda rows: rows,
) -> BundleSource:
    """The whole job with a phone of OK that numbers otherwise, or names another entry as the one before."""
    signed, digests = world._sign, list[str]()

    def sign(device: Device, act: Act, index: int, at: datetime) -> Any:
        if act.who != "OK":
            return signed(device, act, index, at)
        before = device.sequence
        device.sequence = change(before + 1) - 1
        if previous is not None:
            device.previous = previous(digests)
        made = signed(device, act, index, at)
        digests.append(device.previous or "")
        device.sequence = before + 1
        return made

    world._sign = sign
    try:
        return build_source(rows=rows)
    finally:
        world._sign = signed


def _forked(rows: Callable[[Rows], Rows] = lambda rows: rows) -> BundleSource:
    """OK's phone, restored from a backup after its second entry, gives the number 2 again."""

    def previous(digests: list[str]) -> str | None:
        return digests[0 if len(digests) == 2 else -1] if digests else None

    return _numbered(lambda number: number - (number > 2), previous=previous, rows=rows)


def fork_told(_good: BundleSource) -> bytes:
    """The record shows it, withholds credit, and suspended the release when the phone's entry came in."""

    def undermined(rows: Rows) -> Rows:
        code = {"code": "undermined"}
        return [(table, {**one, **code} if table == "release_suspensions" else one) for table, one in rows]

    return write_bundle(_forked(undermined))


def fork_hidden(good: BundleSource) -> bytes:
    """The record claims what it would without the fork."""
    return _claiming(_forked(), good)


def gap(_good: BundleSource) -> bytes:
    """An entry of OK's phone never came."""
    return write_bundle(_numbered(lambda number: number + 1 if number > 2 else number))


def device_chain_broken(good: BundleSource) -> bytes:
    """OK's phone names what it never signed as the entry before, and the record is silent."""
    source = _numbered(lambda number: number, previous=lambda digests: "00" * 32 if digests else None)
    return _claiming(source, good)


def receipts_anew(good: BundleSource) -> bytes:
    """The server takes one entry out, and issues receipts, rows and log anew: JD signed over another head."""

    dropped = good.entries[19][0]
    entries, previous, position = [], good.opening.digest(), 0
    for token, receipt in good.entries:
        if token == dropped:
            continue
        position += 1
        reissued = replace(receipt, position=position, previous=previous)
        previous = reissued.leaf()
        entries.append((token, reissued))
    by_entry = {str(receipt.entry): receipt for _, receipt in entries}

    def anew(rows: Rows) -> Rows:
        found: Rows = []
        for table, one in rows:
            if table != "entries":
                found.append((table, one))
            elif one["id"] in by_entry:
                receipt = by_entry[one["id"]]
                place = {"position": receipt.position, "previous": receipt.previous, "leaf": receipt.leaf()}
                found.append((table, {**one, **place}))
        return found

    return write_bundle(world.with_claims(replace(build_source(rows=anew), entries=entries)))


def other_job(_good: BundleSource) -> bytes:
    """An entry that was signed for another job, received into this one."""

    def elsewhere(index: int, act: Act) -> Act:
        return replace(act, body={**act.body, "job": str(identifier("other job"))}) if index == 1 else act

    return write_bundle(build_source(act=elsewhere))


def other_log_key(_good: BundleSource) -> bytes:
    """The whole log under another key, which the bundle presents as the log's."""

    def with_key(rows: Rows) -> Rows:
        vkey = world.note_key("server").vkey
        return [(table, {**one, "vkey": vkey} if table == "log_keys" else one) for table, one in rows]

    return write_bundle(build_source(rows=with_key, log="server"))


def split_view(_good: BundleSource) -> bytes:
    """A log of the same size for this auditor alone: one row that is not of this job is another there."""
    return write_bundle(build_source(fillers="other filler"))


def _longer(rows: Rows) -> Rows:
    due = {"due_at": "2031-01-01T00:00:00.000000Z"}
    return [(table, {**one, **due} if table == "calibrations" else one) for table, one in rows]


def calibration_rewritten(_good: BundleSource) -> bytes:
    """A calibration is altered before the log is built anew and signed with the true key: all fits, but for the past.

    No phone had seen a checkpoint.
    """
    return write_bundle(build_source(rows=_longer, see=lambda _: None))


def rewritten_under_phones(_good: BundleSource) -> bytes:
    """The same, where phones had seen the log as it was, and say so in what they signed."""
    return write_bundle(build_source(rows=_longer))


def qualification_widened(_good: BundleSource) -> bytes:
    """RM may release too, says the row; its leaf, the log and its checkpoint follow. The lead had signed otherwise."""

    def wider(rows: Rows) -> Rows:
        more = {"evidence": "Card on file, and another course"}
        return [(table, {**one, **more} if one["id"] == str(identifier("RM grant")) else one) for table, one in rows]

    return write_bundle(build_source(rows=wider, see=lambda _: None))


def qualified_by_oneself(_good: BundleSource) -> bytes:
    """OK's qualification is signed by OK's own phone."""

    def own(rows: Rows) -> Rows:
        return [
            (
                table,
                stated(table, _without(one), lambda _: "OK's phone")
                if one["id"] == str(identifier("OK grant"))
                else one,
            )
            for table, one in rows
        ]

    return write_bundle(build_source(rows=own, see=lambda _: None))


def _without(one: dict[str, Any]) -> dict[str, Any]:
    return {name: value for name, value in one.items() if name != "statement"}


def seen_made_up(_good: BundleSource) -> bytes:
    """OK's phone names a checkpoint of a size that the log did not sign."""
    return write_bundle(build_source(see=lambda seen: {**seen, "size": 1}))


def all_signed_anew(_good: BundleSource) -> bytes:
    """The server makes keys for everybody, signs a better story with them and builds chain and log anew."""
    return write_bundle(build_source(phone=lambda who: f"{who}'s phone as the server has it"))


def cut_short(good: BundleSource) -> bytes:
    """A bundle of an older log than the auditor's checkpoint, without a proof between them."""
    early = build_source(rows=lambda rows: rows[:-2])
    assert len(early.places) < len(good.places)
    return write_bundle(early)


def _failing(index: int, act: Act) -> Act:
    return jaw_gap(".318", ".321", ".319") if act.step == "measure-lock" and "jaw-gap" in str(act.body) else act


def credit_claimed(good: BundleSource) -> bytes:
    """The jaw gap was out of limits; the record says that it passed."""
    return _claiming(build_source(act=_failing), good)


def gate_not_open(_good: BundleSource) -> bytes:
    """Released after three of four cycles, and the record does not even hide it."""
    acts = [act for act in ACTS if act.body.get("cycle") != 4]
    return write_bundle(build_source(acts=acts))


def claim_open(good: BundleSource) -> bytes:
    """The end of a claim that never was on record: RM's phone was still out when JD released."""
    source = build_source(rows=lambda rows: [one for one in rows if one[0] != "claim_ends"])
    return zipped(bundle_members(source), source)


def photo_not_named(_good: BundleSource) -> bytes:
    """RM names no photo of the base and its fasteners; whoever runs the server lets the unit go all the same."""

    def unnamed(_: int, act: Act) -> Act:
        body = {name: value for name, value in act.body.items() if name != "evidence"}
        return replace(act, body=body) if act.step == "base-and-fasteners" else act

    return write_bundle(build_source(act=unnamed))


def photo_not_arrived(_good: BundleSource) -> bytes:
    """RM named the photo of the heap, and it never came; the unit was released all the same."""
    source = build_source(rows=lambda rows: [one for one in rows if one[0] != "evidence_files"])
    return zipped(bundle_members(source), source)
