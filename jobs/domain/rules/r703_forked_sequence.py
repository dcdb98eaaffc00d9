"""R703 · A phone's entries form one chain; two of the same number, or a broken link, hold the job.

Example: a phone restored from a copy signs a second entry 17: one of the two was meant to be forgotten.
"""

from jobs.domain.act import Act
from jobs.domain.bench import Bench
from jobs.domain.finding import Finding, Response, Rule

RULE = Rule(
    703,
    "forked_sequence",
    "A phone's entries form one chain; two of the same number, or a broken link, hold the job.",
    Response.HOLD,
)


def check(bench: Bench, act: Act) -> Finding | None:
    entry = act.entry
    before = bench.last_of_device.get(entry.key)
    if before is None:
        return None
    number, last = entry.signed.device_seq, before.signed.device_seq
    if number == last:
        return RULE.found(f"The phone signed two entries with the number {number}.", _CURE)
    broken = number == last + 1 and before.digest is not None and entry.signed.device_previous != before.digest
    return RULE.found(f"Entry {number} of the phone does not follow its entry {last}.", _CURE) if broken else None


_CURE = "A lead looks at the phone, revokes its key if in doubt, and clears the hold; the work is logged again."
