"""The list below a part's drawing: each feature with its letter and those of its dimensions that are not drawn."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ....shop.part_sheets import Entry, PartSheet
from ...sheet.dimensions import LETTERS
from ...sheet.lettering import text_width, wrapped
from .placing import PITCH, Placing

_BETWEEN = 1.1
_BOLD = 0.14


@dataclass(frozen=True)
class Word:
    """What is printed as one text item: its place on the line, mm, whether it is a number or a letter, and of what."""

    text: str
    x: float
    bold: bool
    entry: Entry | None = None


Line = tuple[Word, ...]


def legend(sheet: PartSheet, entries: Sequence[Entry], width: float) -> list[Line]:
    """Lines of a width, mm: the board's own dimensions that are not drawn, then feature by feature."""
    lines: list[Line] = []
    own = [one for one in entries if not one.letter]
    if own:
        lines += _flowed("", "", own, width)
    for feature in sheet.features:
        mine = [one for one in entries if one.letter == feature.letter]
        lines += _flowed(feature.letter, feature.words, mine, width)
    return lines


def _flowed(letter: str, words: str, entries: Sequence[Entry], width: float) -> list[Line]:
    indent = 5.0
    lines: list[list[Word]] = [[]]
    at = indent
    if letter:
        lines[0].append(Word(letter, 0.0, True))
        heading = words + (":" if entries else "")
        for number, part in enumerate(wrapped(heading, LETTERS, width - indent)):
            if number:
                lines.append([])
            lines[-1].append(Word(part, indent, False))
            at = indent + text_width(part, LETTERS) + 1.6
    for place, one in enumerate(entries):
        tokens = list(_tokens(one, last=place == len(entries) - 1))
        long = sum(text_width(text, LETTERS) + gap for text, _, gap in tokens)
        if at + long > width and at > indent:
            lines.append([])
            at = indent
        for text, bold, gap in tokens:
            lines[-1].append(Word(text, at, bold, one if bold else None))
            at += text_width(text, LETTERS) + gap
    return [tuple(line) for line in lines]


def _tokens(one: Entry, last: bool) -> Iterator[tuple[str, bool, float]]:
    """Text, whether it is a number, and the space after it."""
    yield one.words, False, _BETWEEN
    after = "°" if one.figure.unit == "°" else ""
    after += "" if last else ";"
    yield one.figure.printed, True, 0.4 if after else 2.2
    if after:
        yield after, False, 2.2


def draw_lines(placing: Placing, lines: Sequence[Line], left: float, top: float) -> float:
    """Draws lines from the top down; returns where they end, mm."""
    for line in lines:
        for word in line:
            weight = _BOLD if word.bold else 0.1
            placing.text(word.text, left + word.x, top - LETTERS, weight=weight)
        top -= PITCH
    return top


def note_lines(notes: Sequence[str], width: float) -> list[str]:
    """Sentences in lines."""
    return [line for note in notes for line in wrapped(note, LETTERS, width)]
