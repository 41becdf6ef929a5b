"""Which opening a leaf misses by the most, and where strips would carry or guide it."""

from __future__ import annotations

from itertools import pairwise
from typing import TYPE_CHECKING, Literal, NamedTuple

if TYPE_CHECKING:
    from ..row.openings import MouthProof
    from .proof import LeafProof, ViewProof


def worst_mouth(proof: LeafProof) -> tuple[ViewProof, int] | None:
    """The view and the number of the mouth that a leaf misses by the most; None where it misses none."""
    found = [
        (miss(view, number), -place, view, number)
        for place, view in enumerate(proof.views)
        for number, mouth in enumerate(view.proof.mouths)
        if mouth.verdict == "needs-steering"
    ]
    if not found:
        return None
    _, _, view, number = max(found, key=lambda one: one[:2])
    return view, number


def miss(view: ViewProof, number: int) -> float:
    """By how much the worst pose misses a mouth, mm."""
    mouth: MouthProof = view.proof.mouths[number]
    if mouth.margin is not None:
        return max(-mouth.margin, 0.0)
    assert mouth.snag is not None
    low, high = mouth.catch_low, mouth.catch_high
    below = 0.0 if low is None else low - mouth.snag.height
    above = 0.0 if high is None else mouth.snag.height + view.of.row.thickness - high
    return max(below, above)


Strip = Literal["runner", "kicker", "guide"]
"""What would carry a leaf, keep it from tipping, or keep it straight."""


class Bay(NamedTuple):
    """A strip that would help, and the boards between which."""

    strip: Strip
    before: str
    after: str


def bays_to_steer(proof: LeafProof) -> list[Bay]:
    """Strips that would carry or guide a leaf between boards whose openings its nose may miss."""
    found = []
    for view in proof.views:
        boards = [
            (one.label, mouth)
            for one, mouth in zip(view.of.row.openings, view.proof.mouths, strict=True)
            if one.window
        ]
        for (before, _), (label, mouth) in pairwise(boards):
            if mouth.verdict == "needs-steering":
                found += [Bay(strip, before, label) for strip in _strips_for(view, mouth)]
    return list(dict.fromkeys(found))


def _strips_for(view: ViewProof, mouth: MouthProof) -> list[Strip]:
    if view.of.view == "plan":
        return ["guide"]
    lowest, highest = mouth.nose_low, mouth.nose_high
    strips: list[Strip] = []
    if mouth.catch_low is not None and (lowest is None or lowest < mouth.catch_low):
        strips.append("runner")
    top = None if highest is None else highest + view.of.row.thickness
    if mouth.catch_high is not None and (top is None or top > mouth.catch_high):
        strips.append("kicker")
    return strips
