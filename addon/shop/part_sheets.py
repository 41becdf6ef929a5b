"""What a part sheet says of a part: which way its faces look, what is cut into it with which sizes, and from where."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Literal

import numpy as np

from ..sizes.tolerances import CONTACT
from ..wood.assembly import Assembly
from ..wood.features import Dimension, Face
from ..wood.part import Part
from ..wood.same import Alike
from .figures import Figure
from .job import Job

_PLACES: Final = ("opening place", "groove place", "hole place")
_RUNNING: Final[dict[str, Literal["u", "v"]]] = {"start": "u", "lower edge": "v"}
"""Edge that a place is measured from → along which way of the board."""

_LETTERS: Final = "abcdefghijkmnpqrstuvwxyz"


@dataclass(frozen=True)
class Running:
    """Places along a board, measured from its start or its lower edge, that have the same figure.

    Parameters
    ----------
    along : u from the start, v from the lower edge
    at : mm on the board as printed
    printed : the text
    figures : all that it stands for
    """

    along: Literal["u", "v"]
    at: float
    printed: str
    figures: tuple[Figure, ...]


@dataclass(frozen=True)
class Cut:
    """Features of a part that have all their sizes in common, places apart.

    Parameters
    ----------
    letter : by which the drawing points at them
    words : what they are
    sizes : word and figure of each size
    places : the middle of each on the board, (u, v), mm
    figures : all that the sizes stand for
    """

    letter: str
    words: str
    sizes: tuple[tuple[str, Figure], ...]
    places: tuple[tuple[float, float], ...]
    figures: tuple[Figure, ...]


@dataclass(frozen=True, eq=False)
class PartSheet:
    """One part that stands for all that are alike.

    Parameters
    ----------
    part : as printed
    labels : of all that are alike
    mirrored : labels of their mirror images
    gap : labels of the parts between which each is measured, where it is cut to fit
    """

    job: Job
    part: Part
    labels: tuple[str, ...]
    mirrored: tuple[str, ...] = ()
    gaps: tuple[tuple[str, ...], ...] = ()

    @property
    def is_plain(self) -> bool:
        """Whether it is a board and nothing more."""
        shape = self.part.shape
        return not shape.features and shape.is_rectangle

    @property
    def heading(self) -> str:
        """``R6, R8: rib segment``."""
        return f"{', '.join(self.labels)}: {self.part.kind}"

    @cached_property
    def outline(self) -> dict[str, Figure]:
        """Figures of length, width and thickness."""
        return {
            one.name: self.job.rounded.figure(self.part, one)
            for one in self.part.shape.dimensions
            if one.number is None
        }

    @cached_property
    def cuts(self) -> tuple[Cut, ...]:
        """What is cut into it, alike ones together."""
        by_number: dict[int, list[Dimension]] = {}
        for one in self.part.shape.dimensions:
            if one.number is not None and not _is_running(one):
                by_number.setdefault(one.number, []).append(one)
        groups: dict[tuple[object, ...], list[int]] = {}
        for number, sizes in by_number.items():
            feature = self.part.shape.features[number]
            told = tuple((one.word, self._figure(one).printed) for one in sizes)
            alone = getattr(feature, "leaf", "")
            groups.setdefault((type(feature), feature.word, alone, told), []).append(number)
        return tuple(self._cut(at, numbers, by_number) for at, numbers in enumerate(groups.values()))

    @cached_property
    def running(self) -> tuple[Running, ...]:
        """Places along the board and across it, from the least."""
        found: dict[tuple[Literal["u", "v"], str], list[Figure]] = {}
        for one in self.part.shape.dimensions:
            if _is_running(one):
                figure = self._figure(one)
                found.setdefault((_RUNNING[one.datum], figure.printed), []).append(figure)
        runs = [Running(along, of[0].value, text, tuple(of)) for (along, text), of in found.items()]
        return tuple(sorted(runs, key=lambda one: (one.along, one.at)))

    @cached_property
    def figures(self) -> tuple[Figure, ...]:
        """All that is printed."""
        return (
            *self.outline.values(),
            *(figure for run in self.running for figure in run.figures),
            *(figure for cut in self.cuts for figure in cut.figures),
        )

    def _figure(self, one: Dimension) -> Figure:
        return self.job.rounded.figure(self.part, one)

    def _cut(self, at: int, numbers: Sequence[int], sizes: dict[int, list[Dimension]]) -> Cut:
        blank, features = self.part.shape.blank, self.part.shape.features
        places = []
        for number in numbers:
            low, high = features[number].bounds(blank)
            middle = [(max(low[k], blank.low[k]) + min(high[k], blank.high[k])) / 2 for k in range(2)]
            places.append((middle[0], middle[1]))
        first = numbers[0]
        of = list(dict.fromkeys(sizes[number][0].of or features[number].word for number in numbers))
        return Cut(
            _LETTERS[at % len(_LETTERS)] + ("" if at < len(_LETTERS) else str(at // len(_LETTERS))),
            _joined(of, features[first].word),
            tuple((one.word, self._figure(one)) for one in sizes[first]),
            tuple(places),
            tuple(self._figure(one) for number in numbers for one in sizes[number]),
        )


def part_sheets(job: Job) -> tuple[PartSheet, ...]:
    """One for each kind of part, in the order of the assembly."""
    return tuple(_sheets(job, job.kinds))


def _sheets(job: Job, kinds: Sequence[Alike]) -> Iterator[PartSheet]:
    gaps = job.rounded.gaps
    for kind in kinds:
        labels = tuple(label for member in kind.members for label in member)
        mirror = () if kind.mirror is None else kinds[kind.mirror].members
        yield PartSheet(
            job,
            job.assembly.by_label[labels[0]],
            labels,
            tuple(label for member in mirror for label in member),
            tuple(gaps[label] for label in labels if label in gaps),
        )


def face_words(assembly: Assembly, part: Part) -> dict[Face, str]:
    """Which way each face looks where the part stands: ``outside``, ``inside``, ``up``, ``down``; "" where neither."""
    toward = -part.placement.axes[2]
    if abs(toward[2]) > 0.5:
        return {"front": "up" if toward[2] > 0 else "down", "back": "down" if toward[2] > 0 else "up"}
    boxes = np.array([one.box for one in assembly.parts if not one.role.slides])
    middle = (boxes[:, 0].min(axis=0) + boxes[:, 1].max(axis=0)) / 2
    own = (part.box[0] + part.box[1]) / 2
    away = float((own - middle) @ toward)
    far = np.abs(boxes[:, 1].max(axis=0) - boxes[:, 0].min(axis=0)) @ np.abs(toward) / 2
    if abs(away) < 0.8 * far - CONTACT:  # it stands within the table, where both sides look inside
        return {"front": "", "back": ""}
    return {"front": "outside" if away > 0 else "inside", "back": "inside" if away > 0 else "outside"}


def _is_running(one: Dimension) -> bool:
    return one.tolerance in _PLACES and one.datum in _RUNNING


def _joined(of: Sequence[str], word: str) -> str:
    """``chamfer on the start, front face; end, front face``: what they have in common once."""
    common = f"{word} on the "
    if len(of) > 1 and all(one.startswith(common) for one in of):
        return common + "; ".join(one.removeprefix(common) for one in of)
    return "; ".join(of)
