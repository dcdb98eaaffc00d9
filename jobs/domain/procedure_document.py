"""From text to a published procedure: one document, one digest, one proof.

1. The text is read into a plain document (`procedure_source`), with the line of every part.
2. The document has the shape of the schema (`procedure_shape`).
3. Every name it uses exists, and values that belong together agree (`procedure_names`).
4. The procedure is proved (`jobs.domain.proof`): only then may it be published.

A revision is known by the SHA-256 of its canonical JSON (RFC 8785): the same document, however it is spelled
in YAML, has the same digest.
"""

from collections.abc import Mapping
from typing import Any

from jobs.domain.canonical_json import CanonicalJsonError, canonical_digest, canonical_json
from jobs.domain.procedure import FollowUp, Procedure
from jobs.domain.procedure_errors import ProcedureError, ProcedureProblem
from jobs.domain.procedure_names import name_problems
from jobs.domain.procedure_shape import shape_problems
from jobs.domain.procedure_source import read_yaml
from jobs.domain.procedure_steps import step_from
from jobs.domain.procedure_values import moment
from jobs.domain.proof.publishing import proof_problems

Document = Mapping[str, Any]


def canonical_bytes(document: Document) -> bytes:
    """The canonical JSON of a document (RFC 8785): what is stored, and what its digest is taken of."""
    return canonical_json(document)


def digest_of(document: Document) -> str:
    """The SHA-256 of the canonical bytes, 64 hexadecimal digits."""
    return canonical_digest(document).hex()


def procedure_from_document(document: Document, digest: str) -> Procedure:
    """Build the dataclasses of a document; raise `ProcedureError` with everything that is wrong in it.

    Shape and names are checked; the proof is not made again, for only proved documents are published.
    """
    _refuse_any(shape_problems(document))
    _refuse_any(_moment_problems(document))
    procedure = _build(document, digest)
    _refuse_any(name_problems(procedure))
    return procedure


def checked(document: Document) -> tuple[str, Procedure]:
    """Check and prove a document that came as JSON: its digest and the procedure, or `ProcedureError`."""
    try:
        digest = digest_of(document)
    except CanonicalJsonError as error:
        raise ProcedureError([ProcedureProblem("", error.message, error.cure)]) from None
    procedure = procedure_from_document(document, digest)
    _refuse_any(proof_problems(procedure))
    return digest, procedure


def publishable(text: str) -> tuple[dict[str, Any], str, Procedure]:
    """Read, check and prove YAML text: document, digest, procedure.

    Raises `ProcedureError`, whose problems carry line numbers, when it may not be published.
    """
    source = read_yaml(text)
    try:
        digest, procedure = checked(source.document)
    except ProcedureError as error:
        raise error.at(source.lines) from None
    return dict(source.document), digest, procedure


def _refuse_any(problems: list[ProcedureProblem]) -> None:
    if problems:
        raise ProcedureError(problems)


def _moment_problems(document: Document) -> list[ProcedureProblem]:
    try:
        moment(document["in_force_from"])
    except ValueError as error:
        words = f"`in_force_from` is no moment: {error}."
        return [ProcedureProblem("/in_force_from", words, "Give a day and hour that exist.")]
    return []


def _build(document: Document, digest: str) -> Procedure:
    inspection = document.get("inspection", {})
    return Procedure(
        code=document["procedure"],
        revision=document["revision"],
        title=document["title"],
        coupling=document["coupling"],
        digest=digest,
        in_force_from=moment(document["in_force_from"]),
        safety_critical=document["safety_critical"],
        steps=tuple(step_from(step) for step in document["steps"]),
        follow_up=_follow_up(document.get("follow_up")),
        inspection_distance=inspection.get("distance"),
        inspection_days=inspection.get("days"),
        kit_lines=tuple(document.get("kit_lines", ())),
        cautions=tuple(document["cautions"]),
        weld_lapses_after_months=document.get("weld_lapses_after_months"),
    )


def _follow_up(document: Document | None) -> FollowUp | None:
    if document is None:
        return None
    after = document["after"]
    steps = tuple(step_from(step) for step in document["steps"])
    return FollowUp(after.get("distance"), after.get("days"), steps)
