"""How a job ends: a casting condemned by two persons, or a release over an open gate."""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.entry import CondemnBody
from jobs.domain.finding import Finding
from jobs.domain.gate import unmet_by_the_record
from jobs.domain.rules import r999_gate_closed


def apply_condemn(bench: Bench, act: Act, findings: list[Finding]) -> None:
    credit = bench.record(act.entry, act.at, tuple(findings))
    if not credit or not isinstance(act.body, CondemnBody):
        return
    if act.body.concurs_with is None:
        bench.condemned_by = act.entry.id
    else:
        bench.concurred_by = act.entry.id


def apply_release(bench: Bench, act: Act, findings: list[Finding]) -> None:
    closed = [
        r999_gate_closed.RULE.found(blocker.what, blocker.cure) for blocker in unmet_by_the_record(bench, act.placed)
    ]
    bench.signed_off = True
    if bench.record(act.entry, act.at, (*findings, *closed)):
        bench.released_by = act.entry.id
        release = bench.procedure.release_step
        if release is not None:
            bench.credited[release.key] = act.entry.id
