"""What a rule says about an entry: the finding, its response, and the rule it comes from."""

from dataclasses import dataclass
from enum import StrEnum
from typing import TypedDict


class Response(StrEnum):
    """What a finding does: the entry earns nothing, or a named person must decide, or it is only shown."""

    NO_CREDIT = "no_credit"
    HOLD = "hold"
    FLAG = "flag"


class FindingDocument(TypedDict):
    rule: int
    code: str
    response: str
    what: str
    cure: str


@dataclass(frozen=True, slots=True)
class Rule:
    """A numbered rule: the plain sentence stands in docs/rules.md under the same number."""

    number: int
    code: str
    sentence: str
    response: Response

    def found(self, what: str, cure: str) -> "Finding":
        return Finding(self.number, self.code, self.response, what, cure)


@dataclass(frozen=True, slots=True)
class Finding:
    """One rule's answer about one entry, in plain words: what is the matter, and what cures it."""

    rule: int
    code: str
    response: Response
    what: str
    cure: str

    @property
    def withholds_credit(self) -> bool:
        return self.response is not Response.FLAG

    def document(self) -> FindingDocument:
        return {
            "rule": self.rule,
            "code": self.code,
            "response": self.response.value,
            "what": self.what,
            "cure": self.cure,
        }
