"""Words for people: one and many, several in a row."""

from __future__ import annotations

from collections.abc import Sequence


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
