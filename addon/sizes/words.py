"""Words for people: one and many, several in a row, sentences in lines."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from typing import Final


def plural(words: str) -> str:
    """The name of several: "leg boards", "cover leaves", "benches", "bodies"."""
    if words.endswith(("leaf", "shelf")):
        return f"{words[:-1]}ves"
    if words.endswith(("s", "x", "z", "ch", "sh")):
        return f"{words}es"
    if words.endswith("y") and words[-2:-1] not in "aeiou":
        return f"{words[:-1]}ies"
    return f"{words}s"


def listed(words: Sequence[str], last: str = "and") -> str:
    """Words in a row: "a, b and c"."""
    return f" {last} ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else list(words))


def ordinal(number: int) -> str:
    """Which of several: "1st", "2nd", "11th"."""
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def capital(words: str) -> str:
    """The same as the beginning of a sentence; names and labels within keep their letters."""
    return words[:1].upper() + words[1:]


_IN_AMOUNT: Final = re.compile(r"(?<=[\d±]) (?=\d|mm\b|in\b|%)")
"""Blanks inside of an amount, where no line ends."""


def lines_of(text: str, letters: int, most: int | None = None) -> list[str]:
    """A sentence in lines of so many letters at most; amounts (``157 7/16 in``) stay whole.

    With `most` lines, what is longer ends in dots.
    """
    joined = _IN_AMOUNT.sub("\u00a0", text)
    return [
        line.replace("\u00a0", " ")
        for line in textwrap.wrap(joined, letters, max_lines=most, placeholder=" …")
    ]
