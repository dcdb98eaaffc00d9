"""What holds at any time: the record says of the job what the model says of it."""

from typing import Any

from hypothesis.stateful import RuleBasedStateMachine, invariant

from jobs.queries import folds
from jobs.queries.availability import availability_documents
from jobs.queries.company_facts import company_facts, facts_version
from jobs.queries.folds import fresh_fold
from jobs.queries.job_rows import job_row
from jobs.services.read_job import gate_of, read_job
from shops.queries.prepared import run
from tests.machine.hands import Hands


class Agreement(RuleBasedStateMachine):
    """A job, and everybody who has to do with it."""

    def __init__(self) -> None:
        super().__init__()
        self.hands = Hands()

    @invariant()
    def the_record_and_the_model_agree(self) -> None:
        hands, bench = self.hands, self.hands.bench
        with bench.inside():
            read = read_job(grant=bench.grant(), job=bench.job)
            blockers = gate_of(grant=bench.grant(), read=read, now=hands.now)
            self._credits(read.bench)
            self._rows()
            self._projections()
            found = availability_documents(bench.grant(), [bench.unit], hands.now)[0]
        assert (not blockers) == self.gate_is_open(), (blockers, vars(hands.told))
        suspended = "release_suspended" in {reason["code"] for reason in found["reasons"]}
        assert suspended == self.is_suspended(told=suspended), found
        assert (found["state"] != "not_available") == self.may_go(), found

    # What a follow-up answers otherwise.

    def gate_is_open(self) -> bool:
        return self.hands.gate_is_open()

    def state(self) -> str:
        hands = self.hands
        return "released" if hands.released else "condemned" if hands.condemned else "open"

    def is_suspended(self, *, told: bool) -> bool:
        """Whether it must be; `told` is whether the record says so."""
        return self.hands.suspended

    def may_go(self) -> bool:
        hands = self.hands
        return bool(hands.released and not (hands.suspended or hands.revoked or hands.condemned))

    # Each part of the record.

    def _credits(self, bench: Any) -> None:
        told = self.hands.told
        credited = {step.removesuffix("-again") for step in bench.credited}  # as follow-ups name what is measured again
        assert credited - {"release"} == told.credited(), (bench.credited, told.credited(), told.against)
        waiting = {entry: hold.needs - len(hold.cleared_by) for entry, hold in bench.holds.items()}
        assert waiting == {deed: hold.needs - len(hold.cleared) for deed, hold in told.holds.items()}, bench.holds
        earned = {entry for entry, outcome in bench.outcomes.items() if outcome.credit}
        assert earned == {deed for deed, why in told.against.items() if not why}, told.against

    def _rows(self) -> None:
        """Exactly what was accepted is stored, byte for byte, in an unbroken count."""
        of_job = (self.hands.bench.company, self.hands.bench.job)
        stored = run("SELECT id, token, position FROM entries WHERE company_id = %s AND job_id = %s", of_job)
        assert {row[0]: row[1].encode() for row in stored} == self.hands.tokens
        assert sorted(row[2] for row in stored) == list(range(1, len(stored) + 1))

    def _projections(self) -> None:
        bench = self.hands.bench
        row = job_row(bench.company, bench.job)
        assert row is not None
        facts = company_facts(bench.company, facts_version(bench.company)).facts
        derived = fresh_fold(bench.company, row, facts).bench
        stored = folds.stored_outcomes(bench.company, bench.job)
        expected = {entry: folds.said_of(outcome) for entry, outcome in derived.outcomes.items()}
        if row.facts_version == facts.version:
            assert stored == expected
        assert {entry for entry, said in stored.items() if said[0]} <= {
            entry for entry, said in expected.items() if said[0]
        }
        assert row.state == self.state()
