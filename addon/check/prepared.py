"""An assembly made ready to be checked: every part as convex pieces, every leaf as something that slides."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..sizes.arrays import Floats
from ..wood.assembly import Assembly, StowPath
from ..wood.features import Hole
from ..wood.part import Part
from ..wood.solids.pieces import Pieces
from ..wood.solids.solids import placed
from .clearance.kernel import Mover, Run, Runs, Slide, StaticScene


@dataclass(frozen=True, eq=False)
class Prepared:
    """Parts and fasteners as pieces, numbered as in `assembly.bodies`; leaves stand stowed."""

    assembly: Assembly
    pieces: list[Pieces]
    scene: StaticScene
    movers: dict[str, Mover]
    """Leaf label → its pieces as they slide, stowed."""

    runs: Runs
    """All moves of all stow paths, in order."""
    number: dict[str, int]
    """Label → number of the part or fastener."""

    def bounds(self, label: str) -> tuple[Floats, Floats]:
        """Corners of a part's bounding box, (3,) float each, mm."""
        pieces = self.pieces[self.number[label]]
        return pieces.low.min(axis=0), pieces.high.max(axis=0)

    def slides(
        self, paths: Sequence[StowPath], threshold: float, scene: StaticScene | None = None
    ) -> list[list[Slide]]:
        """For each path one slide a move, without the leaf itself and its own end stop; all worked out together."""
        own = paths is self.assembly.stow_paths
        runs = self.runs if own else _runs(paths, self.movers, self.number, len(self.pieces))
        slides = iter((scene or self.scene).slides(runs, threshold))
        return [[next(slides) for _ in path.moves] for path in paths]

    def only(self, moved: Mapping[str, Floats]) -> StaticScene:
        """A scene of some parts alone, each shifted by (3,) float mm; parts keep their numbers."""
        shifted = {
            self.number[label]: self.pieces[self.number[label]].translated(by) for label, by in moved.items()
        }
        owner = np.repeat(list(shifted), [len(pieces) for pieces in shifted.values()])
        return StaticScene(Pieces.concatenate(list(shifted.values())), owner, part_count=len(self.pieces))


def prepare(assembly: Assembly) -> Prepared:
    """Work out the pieces of all parts. Raises PartError for features that run together."""
    number = {part.label: number for number, part in enumerate(assembly.parts)}
    filled = {path.leaf: _filled(assembly.parts[number[path.leaf]], path) for path in assembly.stow_paths}
    hulls = {leaf: part for leaf, part in filled.items() if part is not None}
    every = placed([*assembly.parts, *hulls.values()])
    pieces = every.of_all()
    movers = {leaf: Mover(pieces[number[leaf]]) for leaf in filled if leaf not in hulls}
    movers |= {leaf: Mover(hull) for leaf, hull in zip(hulls, pieces[len(number) :], strict=True)}
    del pieces[len(number) :]
    together = every.together.run(0, sum(map(len, pieces)))
    if assembly.fasteners:
        number |= {one.label: len(number) + at for at, one in enumerate(assembly.fasteners)}
        own = [one.pieces for one in assembly.fasteners]
        pieces, together = pieces + own, Pieces.concatenate([together, *own])
    owner = np.repeat(np.arange(len(pieces)), [len(one) for one in pieces])
    scene = StaticScene(together, owner, part_count=len(pieces))
    runs = _runs(assembly.stow_paths, movers, number, len(pieces))
    return Prepared(assembly, pieces, scene, movers, runs, number)


def _runs(
    paths: Sequence[StowPath], movers: dict[str, Mover], number: dict[str, int], part_count: int
) -> Runs:
    """One run a move, without the leaf itself and its own end stop."""
    runs = []
    for path in paths:
        own = {number[path.leaf]} if path.end_stop is None else {number[path.leaf], number[path.end_stop]}
        runs += [Run(movers[path.leaf], move.vector, move.start, own) for move in path.moves]
    return Runs(runs, part_count)


def _filled(leaf: Part, path: StowPath) -> Part | None:
    """The leaf without its through holes, where sliding makes no difference between the two; else None.

    A through hole is closed by the slide itself if every move is at least as long as the hole is wide: what was
    before the hole passes over it. Then the leaf without the hole passes through the same space.
    """
    widest = max((hole.widest for hole in leaf.shape.holes), default=0.0)
    through = all(hole.depth is None for hole in leaf.shape.holes) and not leaf.shape.openings
    if not through or any(move.length < widest for move in path.moves):
        return None
    return replace(leaf, shape=leaf.shape.without(Hole))
