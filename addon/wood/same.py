"""Which parts of an assembly are the same, turned or not, and which are mirror images of each other.

Cut lists and part sheets ask it too: one board of each kind is described, and how many of it are cut.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from .assembly import Assembly
from .corners import Corners, Turn, corners_of, together, turn_between


@dataclass(frozen=True, eq=False)
class Alike:
    """Parts, or groups of parts that are glued up, that are the same solid of the same stock, their grain included.

    Parameters
    ----------
    members : labels of each, the first in the assembly's order first
    turns : of each, how the first is turned to be it: between the parts' own frames, of groups in the table
    mirror : which other of the kinds is their mirror image, where that is another one; None where it is none, or they
        are their own mirror image
    """

    members: tuple[tuple[str, ...], ...]
    turns: tuple[Turn, ...]
    mirror: int | None = None

    @property
    def first(self) -> tuple[str, ...]:
        """Labels of the first."""
        return self.members[0]

    @property
    def count(self) -> int:
        """How many there are."""
        return len(self.members)


def alike_parts(assembly: Assembly) -> tuple[Alike, ...]:
    """The parts of an assembly by kinds, in order. Raises PartError where a part has no sound section."""
    parts = assembly.parts
    solids = [corners_of(part) for part in parts]
    return _kinds([(part.label,) for part in parts], solids, [(part.stock.name,) for part in parts])


def alike_units(assembly: Assembly, units: Sequence[Sequence[str]]) -> tuple[Alike, ...]:
    """Groups of parts that stay together, by kinds: alike where all their parts are, in the same places to each other.

    Parameters
    ----------
    units : labels of the parts of each; of parts with different roles none are alike
    """
    # Mirror images count as one kind here: that they are different solids shows in their corners.
    kind_of = {
        label: number if kind.mirror is None else min(number, kind.mirror)
        for number, kind in enumerate(alike_parts(assembly))
        for (label,) in kind.members
    }
    solids, told = [], []
    for labels in units:
        parts = [assembly.by_label[label] for label in labels]
        if len(parts) == 1:
            solids.append(corners_of(parts[0]))
        else:
            solids.append(
                together(corners_of(part).placed(part.placement, kind_of[part.label]) for part in parts)
            )
        told.append(tuple(sorted(f"{part.role.word}, {part.stock.name}" for part in parts)))
    return _kinds([tuple(labels) for labels in units], solids, told)


def _kinds(
    labels: Sequence[tuple[str, ...]], solids: Sequence[Corners], told: Sequence[tuple[str, ...]]
) -> tuple[Alike, ...]:
    """Solids by kinds; `told` is what has to be equal besides."""
    found: list[list[tuple[int, Turn]]] = []
    of_word: dict[tuple[str, ...], list[int]] = {}
    known: dict[tuple[int, tuple[str, ...]], tuple[int, Turn]] = {}
    mirrors: dict[int, int] = {}
    for number, solid in enumerate(solids):
        key = id(solid), told[number]
        if key not in known:
            kinds = of_word.setdefault(told[number], [])
            known[key] = _kind(
                solid, [(kind, solids[found[kind][0][0]]) for kind in kinds], mirrors, len(found)
            )
            if known[key][0] == len(found):
                kinds.append(len(found))
                found.append([])
        kind, turn = known[key]
        found[kind].append((number, turn))
    return tuple(
        Alike(
            tuple(labels[number] for number, _ in members),
            tuple(turn for _, turn in members),
            mirrors.get(kind),
        )
        for kind, members in enumerate(found)
    )


def _kind(
    solid: Corners, firsts: Sequence[tuple[int, Corners]], mirrors: dict[int, int], new: int
) -> tuple[int, Turn]:
    """The kind of a solid, and how the first of that kind is turned to be it; a new kind notes its mirror image."""
    partner = None
    for kind, first in firsts:
        turn = turn_between(first, solid)
        if turn is not None:
            return kind, turn
        if kind not in mirrors and turn_between(first, solid, mirrored=True) is not None:
            partner = kind
    if partner is not None:
        mirrors |= {partner: new, new: partner}
    return new, Turn(np.eye(3), np.zeros(3))
