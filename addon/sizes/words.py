"""Words for people: one and many, several in a row, sentences in lines."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Iterable, Sequence
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


_LABEL: Final = re.compile(r"(\D*)(\d+)")


def codes_in_row(labels: Iterable[str]) -> str:
    """Labels of parts by their letters and numbers; three and more that follow each other as "R5 to R19"."""
    own = sorted({*labels}, key=_letters_and_number)
    runs: list[list[str]] = []
    for label in own:
        letters, number = _letters_and_number(label)
        if runs and _letters_and_number(runs[-1][-1]) == (letters, number - 1):
            runs[-1].append(label)
        else:
            runs.append([label])
    words = [word for run in runs for word in ([f"{run[0]} to {run[-1]}"] if len(run) > 2 else run)]
    return listed(words) if words else ""


def code_of_unit(labels: Sequence[str]) -> str:
    """Of parts that go as one: "LEG1+LEG2"; of three and more, "LEG1 to LEG6"."""
    return "+".join(labels) if len(labels) < 3 else codes_in_row(labels)


def _letters_and_number(label: str) -> tuple[str, int]:
    found = _LABEL.fullmatch(label)
    return (found[1], int(found[2])) if found else (label, 0)


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
