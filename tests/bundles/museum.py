"""The museum: bundles with one defect each, and what a verifier must say of it. `build.py` makes them."""

from collections.abc import Callable
from dataclasses import dataclass
from functools import cache
from io import BytesIO
from pathlib import Path

from jobs.domain.bundle import BundleSource
from jobs.domain.verification import verify_bundle
from jobs.domain.verification_finding import Kind, Report, SelectionReport, Step
from jobs.domain.verification_log import Trust
from jobs.domain.verification_population import Beside
from jobs.domain.verification_selection import is_selection, verify_selection
from tests.bundles import breaking as broken
from tests.bundles import containers, forking, selections
from tests.bundles import rebuilding as rebuilt
from tests.bundles.world import build_source
from tests.bundles.world_rows import LOG_KEY, WITNESS_KEYS

FOLDER = Path(__file__).parent / "museum"
NO, UNSURE, TOLD = Kind.MISMATCH, Kind.UNCHECKED, Kind.NOTE


@cache
def good() -> BundleSource:
    return build_source()


def kept(which: str) -> bytes:
    """The checkpoint that the auditor kept: an early one of the good log, or its newest; or one of the history's log."""
    source = selections.sources()[selections.JOB] if which == "history" else good()
    return (source.checkpoint or "").encode() if which == "newest" else source.checkpoints[0].note.encode()


@dataclass(frozen=True)
class Exhibit:
    """A bundle, the finding that it must give, and which checkpoint the auditor brings."""

    name: str
    make: Callable[[BundleSource], bytes]
    step: Step
    kind: Kind
    code: str
    kept: str = "early"

    @property
    def path(self) -> Path:
        return FOLDER / f"{self.name}.zip"

    def trust(self) -> Trust:
        return Trust((LOG_KEY,), WITNESS_KEYS, 2, kept(self.kept))

    def beside(self) -> Beside:
        """Of several bundles: the population as the auditor fetched it before he named the seed."""
        return Beside(selections.population())


def report_of(raw: bytes, trust: Trust, beside: Beside) -> Report | SelectionReport:
    """As `python -m jobs.verify` has it: of a job, or of several in one file."""
    file = BytesIO(raw)
    return verify_selection(file, trust, beside) if is_selection(file) else verify_bundle(raw, trust)


GOOD = FOLDER / "good.zip"
GOOD_SELECTIONS = {FOLDER / "good-sample.zip": selections.sample, FOLDER / "good-history.zip": selections.history}
MUSEUM = (
    # 1: the container
    Exhibit("not-a-zip", containers.not_a_zip, Step.CONTAINER, NO, "no_zip"),
    Exhibit("something-before-the-zip", containers.something_before, Step.CONTAINER, NO, "no_zip"),
    Exhibit("way-out-of-the-folder", containers.named("../evil.txt"), Step.CONTAINER, NO, "name_refused"),
    Exhibit("absolute-name", containers.named("/etc/evil.txt"), Step.CONTAINER, NO, "name_refused"),
    Exhibit("backslash-name", containers.named("entries\\..\\evil.txt"), Step.CONTAINER, NO, "name_refused"),
    Exhibit("link", containers.link, Step.CONTAINER, NO, "member_refused"),
    Exhibit("bomb-that-says-so", containers.bomb, Step.CONTAINER, NO, "too_large"),
    Exhibit("bomb-that-lies", containers.lying_bomb, Step.CONTAINER, NO, "member_damaged"),
    Exhibit("name-twice", containers.name_twice, Step.CONTAINER, NO, "name_twice"),
    Exhibit("damaged-member", containers.damaged, Step.CONTAINER, NO, "member_damaged"),
    Exhibit("no-manifest", containers.no_manifest, Step.CONTAINER, NO, "manifest_missing"),
    Exhibit("unknown-version", containers.told(version=2), Step.CONTAINER, NO, "version_unknown"),
    Exhibit("unknown-format", containers.told(format="other-bundle"), Step.CONTAINER, NO, "version_unknown"),
    Exhibit("member-not-listed", containers.unlisted, Step.CONTAINER, NO, "member_unlisted"),
    Exhibit("member-not-there", containers.not_there, Step.CONTAINER, NO, "member_missing"),
    Exhibit("member-changed-not-listed", containers.changed_unlisted, Step.CONTAINER, NO, "member_changed"),
    # 2 and 3: signatures and keys
    Exhibit("digit-changed", broken.digit_changed, Step.SIGNATURES, NO, "signature_wrong"),
    Exhibit("signed-again-by-the-server", broken.signed_again, Step.SIGNATURES, NO, "signature_wrong"),
    Exhibit("token-of-another-purpose", broken.other_purpose, Step.SIGNATURES, NO, "entry_malformed"),
    Exhibit("key-left-out", broken.key_left_out, Step.SIGNATURES, UNSURE, "key_missing"),
    Exhibit("key-swapped", broken.key_swapped, Step.KEYS, NO, "key_changed"),
    Exhibit("enrolled-without-the-key", rebuilt.enrolled_without_key, Step.KEYS, NO, "possession_not_proved"),
    Exhibit("person-swapped", broken.person_swapped, Step.KEYS, NO, "other_person"),
    Exhibit("qualification-altered", rebuilt.qualification_widened, Step.KEYS, NO, "statement_says_other"),
    Exhibit("qualified-by-oneself", rebuilt.qualified_by_oneself, Step.KEYS, NO, "statement_of_oneself"),
    Exhibit("back-dated-by-the-phone", rebuilt.back_dated_by_phone, Step.KEYS, NO, "key_not_valid"),
    # 4 and 5: the chains
    Exhibit("fork-that-the-record-hides", rebuilt.fork_hidden, Step.DEVICE_CHAINS, NO, "fork"),
    Exhibit("fork-that-the-record-tells", rebuilt.fork_told, Step.DEVICE_CHAINS, TOLD, "fork"),
    Exhibit("fork-on-another-job-hidden", forking.hidden, Step.DEVICE_CHAINS, NO, "fork"),
    Exhibit("fork-on-another-job-told", forking.told, Step.DEVICE_CHAINS, TOLD, "fork"),
    Exhibit("fork-on-another-job-not-held", forking.not_held, Step.RECOMPUTATION, NO, "findings"),
    Exhibit("fork-made-up", forking.made_up, Step.RECOMPUTATION, NO, "fork_made_up"),
    Exhibit("gap-of-a-device", rebuilt.gap, Step.DEVICE_CHAINS, UNSURE, "gap"),
    Exhibit("device-chain-broken", rebuilt.device_chain_broken, Step.DEVICE_CHAINS, NO, "device_chain_broken"),
    Exhibit("entry-dropped-from-the-middle", broken.dropped(12), Step.JOB_CHAIN, NO, "position_missing"),
    Exhibit("entry-dropped-from-the-end", broken.dropped(28), Step.JOB_CHAIN, NO, "head"),
    Exhibit("entries-swapped", broken.swapped, Step.JOB_CHAIN, NO, "chain_broken"),
    Exhibit("receipt-back-dated", broken.receipt_back_dated, Step.JOB_CHAIN, NO, "chain_broken"),
    Exhibit("receipts-issued-anew", rebuilt.receipts_anew, Step.JOB_CHAIN, NO, "release_head"),
    Exhibit("entry-of-another-job", rebuilt.other_job, Step.JOB_CHAIN, NO, "other_job"),
    Exhibit("opening-changed", broken.opening_changed, Step.JOB_CHAIN, NO, "chain_broken"),
    Exhibit("procedure-replaced", broken.procedure_replaced, Step.JOB_CHAIN, NO, "procedure_changed"),
    # 6: rows and proofs
    Exhibit("calibration-altered", broken.calibration_altered, Step.INCLUSION, NO, "row_changed"),
    Exhibit("row-slipped-in", broken.slipped_in, Step.INCLUSION, UNSURE, "not_sequenced"),
    Exhibit("row-taken-out", broken.taken_out, Step.INCLUSION, NO, "row_missing"),
    Exhibit("proof-altered", broken.proof_altered, Step.INCLUSION, NO, "not_included"),
    Exhibit("place-altered", broken.place_altered, Step.INCLUSION, NO, "not_included"),
    # 7: checkpoints
    Exhibit("checkpoint-forged", broken.checkpoint_forged, Step.CHECKPOINTS, NO, "checkpoint_signature"),
    Exhibit("checkpoint-text-changed", broken.checkpoint_changed, Step.CHECKPOINTS, NO, "checkpoint_signature"),
    Exhibit("log-key-of-another", rebuilt.other_log_key, Step.CHECKPOINTS, NO, "log_key_other"),
    Exhibit("earlier-checkpoint-not-continued", broken.not_continued, Step.CHECKPOINTS, NO, "not_consistent"),
    Exhibit("split-view", rebuilt.split_view, Step.CHECKPOINTS, NO, "not_consistent", "newest"),
    Exhibit("log-rewritten", rebuilt.calibration_rewritten, Step.CHECKPOINTS, NO, "not_consistent"),
    Exhibit("log-rewritten-under-phones", rebuilt.rewritten_under_phones, Step.CHECKPOINTS, NO, "seen_other_root"),
    Exhibit("seen-checkpoint-made-up", rebuilt.seen_made_up, Step.CHECKPOINTS, UNSURE, "seen_not_here"),
    Exhibit("all-signed-anew-by-the-server", rebuilt.all_signed_anew, Step.CHECKPOINTS, NO, "not_consistent"),
    Exhibit("older-than-the-kept-one", rebuilt.cut_short, Step.CHECKPOINTS, UNSURE, "no_consistency_proof", "newest"),
    Exhibit("witness-missing", broken.witness_missing, Step.CHECKPOINTS, UNSURE, "witnesses_missing"),
    Exhibit("witness-forged", broken.witness_forged, Step.CHECKPOINTS, NO, "witness_signature"),
    # 8: conclusions
    Exhibit("credit-claimed", rebuilt.credit_claimed, Step.RECOMPUTATION, NO, "credit"),
    Exhibit("reading-claimed", broken.reading_claimed, Step.RECOMPUTATION, NO, "reading"),
    Exhibit("gate-not-open", rebuilt.gate_not_open, Step.RECOMPUTATION, NO, "gate_closed"),
    Exhibit("phone-still-out", rebuilt.claim_open, Step.RECOMPUTATION, NO, "gate_closed"),
    Exhibit("photo-altered", broken.photo_altered, Step.INCLUSION, NO, "evidence_changed"),
    Exhibit("photo-that-nobody-named", broken.photo_unnamed, Step.INCLUSION, NO, "evidence_unnamed"),
    Exhibit("photo-left-out", broken.photo_left_out, Step.INCLUSION, UNSURE, "evidence_not_here"),
    Exhibit("photo-not-named", rebuilt.photo_not_named, Step.RECOMPUTATION, NO, "gate_closed"),
    Exhibit("photo-not-arrived", rebuilt.photo_not_arrived, Step.RECOMPUTATION, NO, "gate_closed"),
    Exhibit("availability-claimed", broken.availability_claimed, Step.RECOMPUTATION, NO, "availability"),
    Exhibit("state-claimed", broken.state_claimed, Step.RECOMPUTATION, NO, "state"),
    # 9: several bundles in one file
    Exhibit("sample-with-a-job-swapped", selections.job_swapped, Step.SELECTION, NO, "not_drawn", "history"),
    Exhibit("sample-of-another-seed", selections.seed_altered, Step.SELECTION, NO, "not_drawn", "history"),
    Exhibit(
        "sample-with-a-job-struck-off", selections.population_altered, Step.SELECTION, NO, "drawn_missing", "history"
    ),
    Exhibit("sample-of-a-cut-list", selections.population_cut, Step.SELECTION, NO, "population_incomplete", "history"),
    Exhibit(
        "sample-of-a-shrunk-list", selections.population_shrunk, Step.SELECTION, NO, "population_shrunk", "history"
    ),
    Exhibit(
        "history-with-a-job-left-out", selections.history_cut, Step.SELECTION, NO, "population_incomplete", "history"
    ),
    Exhibit(
        "history-with-a-digit-changed", selections.digit_changed, Step.SIGNATURES, NO, "signature_wrong", "history"
    ),
    Exhibit("history-with-a-bomb-inside", selections.bomb_inside, Step.CONTAINER, NO, "too_large", "history"),
    Exhibit("history-packed-again", selections.packed_again, Step.CONTAINER, NO, "member_refused", "history"),
    Exhibit("history-of-two-logs", selections.two_logs, Step.SELECTION, NO, "two_logs", "history"),
    Exhibit("history-with-a-job-twice", selections.other_jobs_bundle, Step.SELECTION, NO, "other_job", "history"),
    Exhibit(
        "history-with-an-entry-withheld", selections.entry_withheld, Step.SELECTION, NO, "entry_withheld", "history"
    ),
)
