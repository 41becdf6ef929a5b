"""Pages of the sheets: each to scale with its parts and numbered cuts, then the cuts in the order of sawing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import partial
from itertools import groupby
from typing import Final, NamedTuple

from ...shop.boards import RIM, SawnStock, sawn_stocks
from ...shop.figures import Figure
from ...shop.job import Job
from ...shop.pieces import Cut, Piece, SawnSheet, is_left
from ...sizes.words import codes_in_row, listed
from ..sheet import Drawing
from ..sheet.clip import Rectangle
from ..sheet.dimensions import LETTERS
from ..sheet.lettering import shortened, wrapped
from ..sheet.sheet import scale_name
from .page import ShopPage, area_of
from .sheet_plan import SCALE, draw_plan, planned

_LINE: Final = 4.4
"""From line to line of small letters, mm."""


def pages(job: Job) -> Iterator[ShopPage]:
    """For each sheet a drawing, and as many pages of cuts as it takes."""
    for place, stock in enumerate(sawn_stocks(job)):
        letter = chr(ord("A") + place)
        if not stock.sheets:
            words = f"No sheet is large enough for {listed(stock.too_large)}: buy a larger one, or make it smaller."
            title = f"Sheet {letter}: {stock.stock.name}"
            yield ShopPage("sheets", title, partial(_draw_alone, words), letter, stock.too_large)
        for sheet in stock.sheets:
            yield from _sheet_pages(job, stock, sheet, f"{letter}{sheet.number}")


def _sheet_pages(job: Job, stock: SawnStock, sheet: SawnSheet, which: str) -> Iterator[ShopPage]:
    figures: list[Figure] = []
    plan = planned(job, stock, sheet, _heading(job, stock, figures), _cautions(job, stock, figures))
    of = f" of {len(stock.sheets)}" if len(stock.sheets) > 1 else ""
    title = f"Sheet {which}{of}: {stock.stock.name}"
    parts = tuple(dict.fromkeys(stock.boards[label].part.label for label in sheet.labels))
    lists = _fitted(_rows(sheet), area_of(job))
    yield ShopPage(
        "sheets", title, partial(draw_plan, plan), which, parts, (*figures, *plan.figures),
        scale_name(SCALE) if plan.scale == SCALE else "",
    )  # fmt: skip
    for number, rows in enumerate(lists, 1):
        several = f", {number} of {len(lists)}" if len(lists) > 1 else ""
        yield ShopPage(
            "sheets", f"{title}, cuts in order{several}", partial(_draw_rows, rows), f"{which}-cuts-{number}",
            sheet.labels, tuple(one.cuts[0].set_at for one in rows),
        )  # fmt: skip


def _draw_words(words: str, drawing: Drawing, area: Rectangle) -> float:
    """Words over the width of an area; returns how high it is below them."""
    left, _, right, y = area
    for line in wrapped(words, LETTERS, right - left):
        drawing.text(line, left, y, LETTERS, vertical="top")
        y -= _LINE
    return y


def _draw_alone(words: str, drawing: Drawing, area: Rectangle) -> None:
    _draw_words(words, drawing, area)


def _heading(job: Job, stock: SawnStock, figures: list[Figure]) -> str:
    """What the sheet is, how many it takes, and how much of them becomes parts."""
    rule, own = job.rule, stock.stock
    size = rule.figure("sheet length", own.sheet_length), rule.figure("sheet width", own.sheet_width)
    trim, kerf = rule.figure("trim", stock.trim), rule.figure("kerf", stock.kerf)
    thick = rule.measured("thickness of the sheet", own.sheet_thickness)
    figures += [*size, trim, kerf, thick]
    along = {"length": "Grain along the sheet. ", "width": "Grain across the sheet. "}.get(own.grain, "")
    rims = {label: one.part.label for label, one in stock.boards.items() if label.startswith(RIM)}
    of_rims = f"{codes_in_row(rims)}: strips of the rims of {codes_in_row(rims.values())}. " if rims else ""
    missing = f"No sheet is large enough for {listed(stock.too_large)}. " if stock.too_large else ""
    whole = "the sheets become" if len(stock.sheets) > 1 else "the sheet becomes"
    return (
        f"{missing}{of_rims}{needed(stock)} {size[0].printed} × {size[1].printed}, {thick.printed} thick as measured."
        f" {along}First trim {trim.printed} off each edge (dashed): one long edge, then the others square to it."
        f" The kerf is taken as {kerf.printed}: measure your saw's. {100 * stock.used:.0f} % of {whole} parts."
    )


def needed(stock: SawnStock) -> str:
    """How many sheets there are, and whether it could be fewer."""
    count, bound = len(stock.sheets), stock.bound
    sheets = f"{count} sheet{'s' if count > 1 else ''}"
    if count == 1:
        return f"{sheets}."
    if count <= bound:
        return f"{sheets}; fewer are impossible."
    return f"{sheets}; at least {bound} {'is' if bound == 1 else 'are'} needed."


def _cautions(job: Job, stock: SawnStock, figures: list[Figure]) -> str:
    own = stock.stock
    mass = own.density * own.sheet_length * own.sheet_width * own.sheet_thickness * 1e-9
    carried = job.rule.figure("longest piece that is carried", job.tools.carried_length)
    figures.append(carried)
    heavy = f"{mass:.0f} kg" if job.units == "mm" else f"{mass / 0.45359237:.0f} lb"
    return (
        f"A whole sheet weighs about {heavy}: two people. Thick lines first, on the floor, on battens, with a track"
        f" saw, until no piece is longer than {carried.printed}; thin lines at the bench. Support both sides of every"
        " cut, also what falls off. Guard and riving knife on, push stick for narrow strips, a stop and a hold-down for"
        " short pieces; unplug before you change the blade. Write the label on what is left over and keep it."
    )


# -- the cuts


class _Row(NamedTuple):
    """Cuts that are set alike, one after the other, and what they give."""

    cuts: list[Cut]
    gives: str


def _rows(sheet: SawnSheet) -> list[_Row]:
    rows = []
    for (on_floor, *_), group in groupby(sheet.cuts, lambda one: one.setting):
        cuts = list(group)
        if on_floor:
            rows += [_Row([one], _both(one)) for one in cuts]
        else:
            off = [_called(one.off) or "waste" for one in cuts]
            singles = [label for label in off if label.isalnum()]
            gives = codes_in_row(singles) if len(singles) == len(off) else "; ".join(off)
            left = codes_in_row(rest.label for one in cuts for rest in one.piece.pieces
                                if rest is not one.off and rest.axis is None and rest.label)  # fmt: skip
            rows.append(_Row(cuts, f"{gives}; leaves {left}" if left else gives))
    return rows


def _both(cut: Cut) -> str:
    """What is on both sides of a cut on the floor; of the side with more to come, only that."""
    sides = [("left", "right"), ("below", "above")][cut.piece.axis == "y"]
    counts = [sum(1 for _ in one.leaves) for one in cut.piece.pieces]
    words = [
        f"{side} {(_called(one) or 'waste') if count < max(*counts, _FEW) else 'the rest'}"
        for side, one, count in zip(sides, cut.piece.pieces, counts, strict=False)
    ]
    return "; ".join(words)


_FEW: Final = 4
"""Pieces that are named on either side of a cut on the floor, where there are not more."""


def _called(piece: Piece) -> str:
    """The labels of all that comes out of a piece: ``L1 to L4 and R17, LEFT4``."""
    labels = [one.label for one in piece.leaves if one.label]
    kinds = ([one for one in labels if is_left(one) is left] for left in (False, True))
    return ", ".join(codes_in_row(one) for one in kinds if one)


_COLUMNS: Final = (
    ("Cut", 16.0),
    ("Where", 14.0),
    ("Way", 15.0),
    ("Set", 20.0),
    ("from the", 25.0),
    ("gives", 0.0),
)
"""Heading and width of each column, mm; the last takes what is left."""


def _fitted(rows: Sequence[_Row], area: Rectangle) -> list[list[_Row]]:
    """As many rows on each page as fit."""
    most = int((area[3] - area[1]) / _LINE) - 4
    return [list(rows[at : at + most]) for at in range(0, len(rows), most)]


def _draw_rows(rows: Sequence[_Row], drawing: Drawing, area: Rectangle) -> None:
    y = _draw_words(_HOW, drawing, area) - 0.4 * _LINE
    _draw_row(drawing, [one for one, _ in _COLUMNS], area, y, 0.15)
    for number, row in enumerate(rows, 1):
        first, last = row.cuts[0], row.cuts[-1]
        between = ", " if last.number == first.number + 1 else " to "
        which = f"{first.number}" if first is last else f"{first.number}{between}{last.number}"
        way = "across" if first.piece.axis == "x" else "along"
        where = "floor" if first.on_floor else "bench"
        words = [which, where, way, first.set_at.printed, first.side, row.gives]
        _draw_row(drawing, words, area, y - _LINE * number, 0.1)


_HOW: Final = (
    "In the order of sawing. On the floor: running dimensions from the edge named; what lies beyond the mark is kerf."
    " At the bench: from the fence or stop to the blade; cuts in one line are sawn one after the other, nothing moved."
)


def _draw_row(drawing: Drawing, words: Sequence[str], area: Rectangle, y: float, weight: float) -> None:
    x, _, right, _ = area
    for text, (_, width) in zip(words, _COLUMNS, strict=True):
        room = width or right - x
        drawing.text(shortened(text, LETTERS, room - 1.0), x, y, LETTERS, vertical="top", weight=weight)
        x += width
