"""First layouts, quick and plain: shelves, and boxes filled with whatever suits them best."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from ..sizes.arrays import Floats, Ints
from .blocks import ABOVE, BESIDE, Block, Stock, above, beside, row, stack


@dataclass(frozen=True)
class Taste:
    """What a box is filled by.

    Parameters
    ----------
    values : (K,) of a part of each kind; the most valuable is taken first
    match : by how much more a part is worth that is as wide or as high as the box
    crosswise : whether what is left is split into two boxes that are more alike, not one large and one small
    """

    values: Floats
    match: float = 0.5
    crosswise: bool = False


def shelves(stock: Stock, upright: bool, lying: bool = False) -> list[Block]:
    """Parts in shelves, the highest first, each on the first shelf with room, shelves on the first sheet with room.

    First-fit decreasing height (Coffman, Garey, Johnson and Tarjan 1980) and first-fit for the sheets (hybrid
    first-fit, Chung, Garey and Johnson 1982; both from memory).

    Parameters
    ----------
    upright : shelves stand side by side rather than one above the other
    lying : parts that may be turned lie as low on their shelf as they can, rather than as drawn
    """
    parts = [
        sorted(stock.ways(kind), key=lambda one: _sides(one, upright)[1] if lying else 0)[0]
        for kind, count in enumerate(stock.counts)
        for _ in range(count)
    ]
    parts.sort(key=lambda one: (-_sides(one, upright)[1], -_sides(one, upright)[0]))
    long, high = (stock.height, stock.width) if upright else (stock.width, stock.height)
    found: list[tuple[list[Block], int, int]] = []  # parts, length used, height
    for part in parts:
        length, height = _sides(part, upright)
        for number, (some, used, most) in enumerate(found):
            if used + length <= long:
                some.append(part)
                found[number] = (some, used + length, most)
                break
        else:
            found.append(([part], length, height))
    sheets: list[tuple[list[Block], int]] = []
    for some, _, height in found:
        shelf = stack(some) if upright else row(some)
        for number, (on, used) in enumerate(sheets):
            if used + height <= high:
                on.append(shelf)
                sheets[number] = (on, used + height)
                break
        else:
            sheets.append(([shelf], height))
    return [row(on) if upright else stack(on) for on, _ in sheets]


def _sides(block: Block, upright: bool) -> tuple[int, int]:
    """Along and across a shelf."""
    return (block.height, block.width) if upright else (block.width, block.height)


_NONE: Final = -1


def fill(stock: Stock, left: Ints, taste: Taste, start: Block | None = None) -> Block | None:
    """A sheet filled with parts of those that are left, box by box: a part in its corner, two boxes of the rest.

    Parameters
    ----------
    left : (K,) how many of each kind there are; not changed
    start : lies in the first corner; its parts are none of `left`

    Returns
    -------
    None where no part fits
    """
    have = {kind: int(count) for kind, count in enumerate(left) if count}
    ways = sorted(
        ((float(taste.values[kind]), kind, way) for kind in have for way in stock.ways(kind)),
        key=lambda one: -one[0],
    )
    least = min((min(way.width, way.height) for _, _, way in ways), default=1)
    boxes = [(stock.width, stock.height)]
    parts: list[Block | None] = []
    joined: list[tuple[int, int, int]] = []  # how, box beside or above first, box after it
    at = 0
    while at < len(boxes):
        width, height = boxes[at]
        part = start if at == 0 and start is not None else _choice(ways, have, width, height, taste.match)
        if part is not None and part is not start and isinstance(part.first, int):
            have[part.first] -= 1
        parts.append(part)
        if part is None:
            joined.append((BESIDE, _NONE, _NONE))
        else:
            over, up = width - part.width, height - part.height
            how = BESIDE if (over * height > up * width) != taste.crosswise else ABOVE
            near = (part.width, up) if how == BESIDE else (over, part.height)
            far = (over, height) if how == BESIDE else (width, up)
            numbers = []
            for box in (near, far):
                numbers.append(len(boxes) if min(box) >= least else _NONE)
                if min(box) >= least:
                    boxes.append(box)
            joined.append((how, *numbers))
        at += 1
    for number in reversed(range(len(boxes))):
        how, near, far = joined[number]
        for other, by in ((near, ABOVE if how == BESIDE else BESIDE), (far, how)):
            one, two = parts[number], parts[other] if other != _NONE else None
            if one is not None and two is not None:
                parts[number] = beside(one, two) if by == BESIDE else above(one, two)
    return parts[0]


def _choice(
    ways: list[tuple[float, int, Block]], have: dict[int, int], width: int, height: int, match: float
) -> Block | None:
    """The part that suits a box best; `ways` with the most valuable first."""
    best, most = None, 0.0
    for value, kind, way in ways:
        if value * (1 + 2 * match) <= most:
            break
        if not have[kind] or way.width > width or way.height > height:
            continue
        worth = value * (1 + match * ((way.width == width) + (way.height == height)))
        if worth > most:
            best, most = way, worth
    return best
