"""An assembly made ready to be checked: every part as convex pieces, every leaf as something that slides.

And what is cut for a leaf to pass: slots and windows right through a board, and grooves in which its edge runs.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ..sizes.arrays import Floats
from ..sizes.tolerances import WELD
from ..wood.assembly import Assembly, StowPath
from ..wood.features import Groove, Hole, Opening
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


Cut = Opening | Groove

Box = tuple[tuple[float, float, float], tuple[float, float, float]]


def cuts_for(leaf: str, parts: Iterable[Part]) -> list[tuple[Part, Cut]]:
    """All cuts that a leaf passes, each with its part."""
    found: list[tuple[Part, Cut]] = []
    for part in parts:
        found += [(part, cut) for cut in part.shape.openings if cut.leaf == leaf]
        found += [(part, cut) for cut in part.shape.grooves if cut.leaf == leaf]
    return found


def land_of(part: Part, cut: Cut) -> Box:
    """Low and high corner of a cut between its chamfers, in the part's frame, as far as the board reaches; mm."""
    thickness = part.shape.thickness
    if isinstance(cut, Opening):
        return (cut.u0, cut.v0, 0.0), (cut.u1, cut.v1, thickness)
    (u0, v0), (u1, v1) = part.shape.blank.low, part.shape.blank.high
    top, bottom = (0.0, cut.depth) if cut.face == "front" else (thickness - cut.depth, thickness)
    return (max(cut.u0, u0), max(cut.v0, v0), top), (min(cut.u1, u1), min(cut.v1, v1), bottom)


def wood_beside(part: Part, cut: Cut, direction: Floats) -> tuple[bool, bool]:
    """Whether there is wood beyond a cut against a direction of the table, (3,) float, and along it."""
    turned = (part.placement.axes @ direction).tolist()
    axis = max(range(3), key=lambda k: abs(turned[k]))
    low, high = _walls(part, cut, axis)
    return (low, high) if turned[axis] > 0 else (high, low)


def _walls(part: Part, cut: Cut, axis: int) -> tuple[bool, bool]:
    """Whether there is wood on the lesser and on the greater side along u, v or w (axis 0, 1 or 2)."""
    if isinstance(cut, Opening):
        return cut.walls[axis] if axis < 2 else (False, False)
    if axis == 2:
        return cut.face == "back", cut.face == "front"
    blank, (low, high) = part.shape.blank, cut.spans[axis]
    return low > blank.low[axis] + WELD, high < blank.high[axis] - WELD


def chamfers_of(part: Part, cut: Cut, inward: Floats) -> tuple[float, float]:
    """Sizes of the chamfers where a nose goes in and where it comes out, mm; `inward`: (3,) float, its direction."""
    if isinstance(cut, Groove):
        return 0.0, 0.0
    enters_front = float(inward @ part.placement.axes[2]) > 0
    return (cut.front_chamfer, cut.back_chamfer) if enters_front else (cut.back_chamfer, cut.front_chamfer)
