"""What matters for a leaf's tolerances on a sheet of paper: contributions as bars, the largest first."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from ..check.tolerance.report import RowTolerance, ToleranceReport
from ..designs.words.answer import Lines, Told
from ..sizes.units import Units, format_amount
from .sheet import BLACK, WHITE, Drawing, Pen
from .sheet.clip import Rectangle
from .sheet.dimensions import (
    LARGE_LETTERS,
    LETTERS,
    NARROW,
    OUTLINE,
    SMALL_LETTERS,
    THIN,
    TITLE_LETTERS,
    fitted,
)
from .sheet.lettering import shortened, text_width, wrapped
from .sheet.palette import GRAY, NOTE, PALE
from .sheet.save import PAPER_AND_SCREEN, named_files, save_pictures
from .sheet.sheet import A4, CAUTION, draw_answer

MOST: Final = 24
"""Bars on a sheet; the rest is one bar."""

_VITAL: Final = 0.8
"""Share that the first ones make together, after which bars are pale: Juran's usual mark (common practice)."""


@dataclass(frozen=True)
class Bar:
    """One contribution.

    Parameters
    ----------
    label : what contributes
    value : its amount in words, with its unit
    share : of the whole, 0 to 1
    """

    label: str
    value: str
    share: float


def ranked_bars(
    bars: Sequence[Bar], *, title: str, table: str, date: str, note: str = "", answer: Lines = ()
) -> Drawing:
    """A sheet of bars, the largest share first, with a line of what they make together (Pareto's picture).

    Parameters
    ----------
    title : what the shares are shares of
    note : a sentence below
    answer : the three lines, below; () where nobody asked

    Raises
    ------
    ValueError
        Where a share is not from 0 to 1.
    """
    if any(not 0.0 <= one.share <= 1.0 for one in bars):
        raise ValueError("the share of a bar has to be from 0 to 1")
    ranked = _ranked(bars)
    drawing = A4.drawing(f"{table}: {title}")
    left, bottom, right, top = A4.frame
    drawing.text(shortened(title, TITLE_LETTERS, 240.0), left + 5.0, top - 9.0, TITLE_LETTERS, weight=0.13)
    drawing.text(
        shortened(f"{table}, {date}", LARGE_LETTERS, 240.0),
        left + 5.0,
        top - 15.5,
        LARGE_LETTERS,
        color=GRAY,
    )
    foot = wrapped(f"{note} {CAUTION}".strip(), LETTERS, right - left - 10.0)
    for place, line in enumerate(foot):
        drawing.text(line, left + 5.0, bottom + 3.0 + 4.2 * (len(foot) - 1 - place), LETTERS)
    base = bottom + 4.0 + 4.2 * len(foot)
    if answer:
        foot_top = base + 4.5 * len(answer)
        draw_answer(drawing, answer, left + 4.6, foot_top, right - left - 10.0)
        base = foot_top + 1.0
    _draw_key(drawing, right - 5.0, top - 5.0)
    if ranked:
        _draw_bars(drawing, ranked, base + 9.0, top - 22.0)
    return drawing


def _ranked(bars: Sequence[Bar]) -> list[Bar]:
    """The largest first, equal ones in the order given; what is more than a sheet takes is one bar at the end."""
    ranked = sorted(bars, key=lambda one: -one.share)
    if len(ranked) <= MOST:
        return ranked
    rest = ranked[MOST - 1 :]
    return [
        *ranked[: MOST - 1],
        Bar(f"{len(rest)} more together", "", min(sum(one.share for one in rest), 1.0)),
    ]


def _draw_key(drawing: Drawing, right: float, top: float) -> None:
    y = top - 1.25
    for words, sign in (("together with those above", None), ("the rest", NOTE), ("the first 80 %", GRAY)):
        at = right - text_width(words, LETTERS)
        drawing.text(words, at, y, LETTERS, vertical="middle")
        if sign is None:
            drawing.line((at - 11.0, y), (at - 2.0, y), Pen(0.5))
            _dot(drawing, at - 6.5, y)
        else:
            _bar(drawing, (at - 11.0, y - 1.5, at - 2.0, y + 1.5), sign == GRAY, "")
        right = at - 16.0


def _bar(drawing: Drawing, box: Rectangle, most: bool, name: str) -> None:
    drawing.rectangle(box, GRAY if most else NOTE, Pen(NARROW), name)
    if not most:
        left, bottom, right, top = box
        drawing.hatch([[(left, bottom), (right, bottom), (right, top), (left, top)]], Pen(0.2), 1.4, 45)


def _draw_bars(drawing: Drawing, ranked: list[Bar], bottom: float, top: float) -> None:
    left, _, right, _ = A4.frame
    room = 68.0
    zero, one = left + room + 7.0, right - 40.0
    pitch = min((top - bottom) / len(ranked), 12.0)
    low = top - pitch * len(ranked)
    room_right = right - one - 19.0
    _draw_shares(drawing, zero, one, low, top)
    together, dots = 0.0, []
    for place, bar in enumerate(ranked):
        middle, half = top - pitch * (place + 0.5), min(pitch * 0.34, 3.4)
        box = (zero, middle - half, zero + max(bar.share * (one - zero), 0.15), middle + half)
        most = together < _VITAL - 1e-9
        _bar(drawing, box, most, f"bar {bar.label}")
        size = fitted(bar.label, LETTERS, room)
        drawing.text(shortened(bar.label, size, room), zero - 2.0, middle, size, "end", vertical="middle")
        together += bar.share
        dots.append((zero + min(together, 1.0) * (one - zero), middle))
        drawing.text(_percent(bar.share), one + 14.0, middle, LETTERS, "end", vertical="middle")
        size = fitted(bar.value, LETTERS, room_right)
        words = shortened(bar.value, size, room_right)
        drawing.text(words, right - 3.0, middle, size, "end", vertical="middle")
    drawing.polyline(dots, Pen(1.3, WHITE))
    drawing.polyline(dots, Pen(0.5), name="together")
    for x, y in dots:
        _dot(drawing, x, y)
    drawing.line((zero, low), (zero, top), OUTLINE)


def _draw_shares(drawing: Drawing, zero: float, one: float, low: float, top: float) -> None:
    for tenth in range(0, 11, 2):
        x = zero + tenth / 10 * (one - zero)
        drawing.line((x, low), (x, top), PALE if tenth else THIN)
        drawing.text(f"{tenth * 10} %", x, low - 1.5, SMALL_LETTERS * 1.2, "middle", vertical="top")


def _dot(drawing: Drawing, x: float, y: float) -> None:
    drawing.polygon([(x - 1.3, y), (x, y - 1.3), (x + 1.3, y), (x, y + 1.3)], WHITE, Pen(0.3, BLACK))


def _percent(share: float) -> str:
    return f"{share * 100:.0f} %" if share >= 0.0995 or share == 0 else f"{share * 100:.1f} %"


def save_tolerance_pictures(
    report: ToleranceReport,
    units: Units,
    folder: Path,
    date: str,
    suffixes: Sequence[str] = PAPER_AND_SCREEN,
    told: Told | None = None,
) -> list[str]:
    """What matters in each view of each leaf, `L1-side-dimensions` and so on; the names of all files written.

    Parameters
    ----------
    told : the three lines of each leaf

    Raises
    ------
    ExportError : where they cannot be written
    """
    pictures = named_files(tolerance_pages(report, units, date, told), suffixes)
    return save_pictures(pictures, folder, r"\w+-(side|plan)-dimensions")


def tolerance_pages(
    report: ToleranceReport, units: Units, date: str, told: Told | None
) -> Iterator[tuple[str, Drawing]]:
    """A page for each view of each leaf, by its name: what matters in it."""
    for leaf in report.leaves:
        for row in (leaf.side, leaf.plan):
            bars = _bars(row, units)
            if bars:
                seen = "side view" if row.view == "side" else "plan view"
                yield (
                    f"{leaf.leaf}-{row.view}-dimensions",
                    ranked_bars(
                        bars,
                        title=f"{leaf.leaf}, {seen}: what matters",
                        table=report.name,
                        date=date,
                        note="Shares of the worst case: how much the tolerance of each dimension takes from the room.",
                        answer=() if told is None else told.leaves[leaf.leaf],
                    ),
                )


_SHOWN: Final = 5e-4
"""Share from which a dimension has a bar: less would read 0.0 %."""


def _bars(row: RowTolerance, units: Units) -> list[Bar]:
    if row.governing is None:
        return []
    return [
        Bar(one.name, format_amount(one.amount, units), one.of_worst)
        for one in row.governing.effects
        if one.of_worst >= _SHOWN
    ]
