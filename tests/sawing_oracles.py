"""Layouts on sheets judged and made from the definition alone, without the program's own blocks.

The recursion for whether pieces come apart by through cuts is the definition of a guillotine layout; the exhaustive
search follows Christofides and Whitlock 1977 in trying every place of every cut, on whole numbers.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Sequence
from functools import cache
from typing import Any

NEAR = 1e-6
"""mm"""

Box = tuple[float, float, float, float]
"""x, y, width, height."""


def faults(job: dict[str, Any], found: dict[str, Any]) -> list[str]:
    """What is wrong with a layout; empty where it can be sawn."""
    (wide, high), kerf, trim = job["sheet"], job["kerf"], job["trim"]
    wrong = []
    wanted = Counter({part["name"]: 0 for part in job["parts"]})
    for part in job["parts"]:
        wanted[part["name"]] += part["quantity"]
    if Counter(one["name"] for one in found["placements"]) != +wanted:
        wrong.append("other parts than wanted")
    sizes = {part["name"]: part for part in job["parts"]}
    for one in found["placements"]:
        part = sizes[one["name"]]
        size = part["size"][::-1] if one["turned"] else part["size"]
        if max(abs(one["w"] - size[0]), abs(one["h"] - size[1])) > NEAR:
            wrong.append(f"{one} has another size")
        if one["turned"] and part["grain"] == "fixed":
            wrong.append(f"{one} lies against its grain")
        if min(one["x"], one["y"]) < trim - NEAR:
            wrong.append(f"{one} lies in the trim")
        if one["x"] + one["w"] > wide - trim + NEAR or one["y"] + one["h"] > high - trim + NEAR:
            wrong.append(f"{one} lies outside")
    numbers = {one["sheet"] for one in found["placements"]}
    if numbers != set(range(1, found["sheets"] + 1)):
        wrong.append(f"sheets are numbered {numbers}")
    for number in numbers:
        boxes = [
            (one["x"], one["y"], one["w"], one["h"]) for one in found["placements"] if one["sheet"] == number
        ]
        if not comes_apart(boxes, kerf):
            wrong.append(f"sheet {number} does not come apart by through cuts")
        cuts = [one for one in found["cuts"] if one["sheet"] == number]
        inner = (trim, trim, wide - 2 * trim, high - 2 * trim)
        if (left := replayed(cuts, inner, kerf)) is None:
            wrong.append(f"a cut of sheet {number} splits no piece")
        elif not all(any(close(box, piece) for piece in left) for box in boxes):
            wrong.append(f"sheet {number}: the cuts do not give the parts")
    return wrong


def close(one: Sequence[float], two: Sequence[float]) -> bool:
    """Whether two boxes are the same."""
    return all(abs(a - b) <= NEAR for a, b in zip(one, two, strict=True))


def comes_apart(boxes: Iterable[Box], kerf: float) -> bool:
    """Whether through cuts of this kerf part the boxes, by recursion; with it, they do not overlap either."""
    boxes = list(boxes)
    if len(boxes) < 2:
        return True
    for axis in (0, 1):
        order = sorted(boxes, key=lambda box, axis=axis: box[axis])
        end = order[0][axis] + order[0][axis + 2]
        pieces = [[order[0]]]
        for box in order[1:]:
            if box[axis] >= end + kerf - NEAR:
                pieces.append([])
            pieces[-1].append(box)
            end = max(end, box[axis] + box[axis + 2])
        if len(pieces) > 1:
            return all(comes_apart(piece, kerf) for piece in pieces)
    return False


def replayed(cuts: list[dict[str, Any]], sheet: Box, kerf: float) -> list[Box] | None:
    """The pieces that cuts leave, in their order; None where one splits what is not there."""
    pieces = [sheet]
    for cut in cuts:
        split = [piece for piece in pieces if close(piece, cut["box"])]
        if not split:
            return None
        x, y, wide, high = split[0]
        pieces.remove(split[0])
        if cut["axis"] == "x":
            first, second = cut["at"] - x, x + wide - cut["at"] - kerf
            two = [(x, y, first, high), (cut["at"] + kerf, y, second, high)]
        else:
            first, second = cut["at"] - y, y + high - cut["at"] - kerf
            two = [(x, y, wide, first), (x, cut["at"] + kerf, wide, second)]
        if first <= 0 or second < -kerf - NEAR:
            return None
        pieces += [piece for piece in two if min(piece[2:]) > NEAR]
    return pieces


def fewest_sheets(job: dict[str, Any]) -> int:
    """By trying all: every set of parts in every box, every place of every cut; whole numbers, a handful of parts."""
    kerf, trim = job["kerf"], job["trim"]
    wide, high = (side - 2 * trim for side in job["sheet"])
    parts = [
        (*part["size"], part["grain"] == "either") for part in job["parts"] for _ in range(part["quantity"])
    ]

    @cache
    def fits(some: frozenset[int], width: int, height: int) -> bool:
        if not some:
            return True
        if width <= 0 or height <= 0:
            return False
        if len(some) == 1:
            w, h, turns = parts[min(some)]
            return (w <= width and h <= height) or (turns and h <= width and w <= height)
        first = min(some)
        others = sorted(some - {first})
        for bits in range(2 ** len(others) - 1):
            one = frozenset([first, *(other for at, other in enumerate(others) if bits >> at & 1)])
            two = some - one
            for at in range(1, width):
                if fits(one, at, height) and fits(two, width - at - kerf, height):
                    return True
            for at in range(1, height):
                if fits(one, width, at) and fits(two, width, height - at - kerf):
                    return True
        return False

    @cache
    def fewest(some: frozenset[int]) -> int:
        if not some:
            return 0
        first = min(some)
        others = sorted(some - {first})
        best = len(some)
        for bits in range(2 ** len(others)):
            one = frozenset([first, *(other for at, other in enumerate(others) if bits >> at & 1)])
            if fits(one, wide, high):
                best = min(best, 1 + fewest(some - one))
        return best

    return fewest(frozenset(range(len(parts))))


def planted(seed: int, sheets: int, pieces: int, step: float = 1, kerf: float = 3.2) -> dict[str, Any]:
    """Parts of sheets that were sawn up at random without waste, at multiples of `step`; half of them may be turned."""
    rng = random.Random(seed)
    parts = []
    for _ in range(sheets):
        boxes = [(2420.0, 1200.0)]
        while len(boxes) < pieces:
            box = max(boxes, key=lambda one: one[0] * one[1] * rng.uniform(0.3, 1))
            axis = 0 if rng.random() < box[0] / sum(box) else 1
            if box[axis] < 170:
                axis = 1 - axis
            at = round(round(rng.uniform(80, box[axis] - kerf - 80) / step) * step, 6)
            rest = round(box[axis] - at - kerf, 6)
            boxes.remove(box)
            boxes += [(at, box[1]), (rest, box[1])] if axis == 0 else [(box[0], at), (box[0], rest)]
        for box in boxes:
            fixed = rng.random() < 0.5
            size = list(box) if fixed or rng.random() < 0.5 else [box[1], box[0]]
            parts.append({"size": size, "quantity": 1, "grain": "fixed" if fixed else "either"})
    rng.shuffle(parts)
    named = [{"name": f"P{number}", **part} for number, part in enumerate(parts, 1)]
    return {"sheet": [2440, 1220], "kerf": kerf, "trim": 10, "parts": named}


def shelf_sheets(job: dict[str, Any]) -> int:
    """Sheets that next-fit shelves take, parts as drawn where they fit, the highest first, rows across the sheet."""
    kerf, trim = job["kerf"], job["trim"]
    wide, high = (side - 2 * trim for side in job["sheet"])
    sizes = []
    for part in job["parts"]:
        w, h = part["size"]
        if w > wide + NEAR or h > high + NEAR:
            w, h = h, w
        sizes += [(h, w)] * part["quantity"]
    sheets, x, y, shelf = 0, 0.0, 0.0, 0.0
    for h, w in sorted(sizes, reverse=True):
        if sheets and x + w > wide + NEAR:
            x, y, shelf = 0.0, y + shelf + kerf, 0.0
        if not sheets or y + h > high + NEAR:
            sheets, x, y, shelf = sheets + 1, 0.0, 0.0, 0.0
        x, shelf = x + w + kerf, max(shelf, h)
    return sheets
