"""Tells the story as it happens, in lines that a shop lead reads, and keeps count of what came out otherwise."""

import os
import textwrap
from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import Enum
from typing import TextIO

WIDTH = 100
_INDENT = " " * 12


class Tone(Enum):
    """How a result is coloured on a terminal."""

    GOOD = "32"
    HELD_BACK = "33"
    REFUSED = "31"
    PLAIN = "0"
    HEADING = "1"


def wants_colour(stream: TextIO, environment: Mapping[str, str] = os.environ) -> bool:
    """Only on a terminal, and not where NO_COLOR is set or the terminal knows none."""
    return stream.isatty() and not environment.get("NO_COLOR") and environment.get("TERM") != "dumb"


@dataclass(slots=True)
class Telling:
    """`surprises` are the sentences that should have come true and did not."""

    stream: TextIO
    colour: bool = False
    surprises: list[str] = field(default_factory=list)
    shown: dict[str, int] = field(default_factory=dict)

    def heading(self, text: str) -> None:
        self._write(f"\n{self._paint(text, Tone.HEADING)}")

    def say(self, text: str) -> None:
        """A paragraph between the acts."""
        self._write(textwrap.fill(text, WIDTH, initial_indent="  ", subsequent_indent="  "))

    def plain(self, text: str) -> None:
        """A line as it is, for commands and tokens to copy."""
        self._write(text)

    def act(self, clock: str, who: str, what: str, result: str, tone: Tone) -> None:
        """One line of the story: when, who, what, what came of it."""
        self._write(f"  {clock:<6} {who:<3} {what:<62} {self._paint(result, tone)}")

    def why(self, what: str, cure: str = "") -> None:
        """In plain words, why something earned no credit or was refused, and what to do."""
        self._write(textwrap.fill(what, WIDTH, initial_indent=_INDENT, subsequent_indent=_INDENT))
        if cure:
            self._write(textwrap.fill(cure, WIDTH, initial_indent=f"{_INDENT}> ", subsequent_indent=f"{_INDENT}  "))

    def check(self, came_true: bool, sentence: str) -> None:
        """The story says `sentence`; if it did not come true, say so and remember it."""
        if not came_true:
            self.surprises.append(sentence)
            self._write(f"{_INDENT}{self._paint('NOT AS THE STORY SAYS:', Tone.REFUSED)} {sentence}")

    def count(self, kind: str) -> None:
        """One more thing of a kind, such as `refused`, was shown."""
        self.shown[kind] = self.shown.get(kind, 0) + 1

    def _paint(self, text: str, tone: Tone) -> str:
        return f"\x1b[{tone.value}m{text}\x1b[0m" if self.colour else text

    def _write(self, text: str) -> None:
        self.stream.write(text + "\n")
        self.stream.flush()
