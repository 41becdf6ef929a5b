"""Pictures of the table with its cover and of the leaves stowed, with words and lines on a layer before the table."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np
from bpy.types import Material, Object, Scene
from mathutils import Matrix

from ...check.facts import LeafResult
from ...designs.table.parameters import Table
from ...paper.sheet.dimensions import columns
from ...sizes.arrays import Floats
from ...sizes.units import format_amount
from ...sizes.words import capital, listed
from ...wood.assembly import Assembly
from .. import marks
from ..built import assembly_of, objects_of, report_of, told
from ..description import METERS, PartObject, TableObjects
from ..marks import WHITE, line, words
from ..materials import plain
from ..motion import animation
from ..state.values import units_of
from . import engines, framing
from .framing import View
from .studio import ABOVE, ANGLE, FAR, NEAR, Studio, flat_camera, ground, lens_camera, lights, studio

Progress = Callable[[int, int], None]

INK: Final = (0.012, 0.010, 0.009)


def ink() -> Material:
    """What lettering is written with."""
    return plain("Ink", INK, glow=True)


@dataclass(eq=False)
class Paper:
    """The layer that a view without perspective carries before it."""

    studio: Studio
    view: View

    @property
    def unit(self) -> float:
        """One per cent of the picture's height, m."""
        return self.view.height / 100.0

    def put(self, item: Object, x: float, y: float, depth: float = 0.0) -> Object:
        """Puts an object at picture coordinates, `depth` meters behind the front of the layer."""
        matrix = np.eye(4)
        matrix[:3, :3] = self.view.axes.T
        away = FAR - NEAR - depth
        matrix[:3, 3] = self.view.middle + np.array([x, y, away]) @ self.view.axes
        item.matrix_world = Matrix(matrix.tolist())
        return self.studio.add(item)

    def write(
        self,
        text: str,
        x: float,
        y: float,
        height: float,
        material: Material,
        align: str = "LEFT",
        valign: str = "CENTER",
    ) -> Object:
        """Lettering at picture coordinates; `height` of its capitals in units."""
        item = words("Label", text, height * self.unit, material)
        item.data.align_x = align  # type: ignore[union-attr]
        item.data.align_y = valign  # type: ignore[union-attr]
        item.data.space_line = 1.1  # type: ignore[union-attr]
        return self.put(item, x, y)

    def stroke(
        self, points: Floats, width: float, material: Material, closed: bool = False, depth: float = 0.02
    ) -> Object:
        """A line through (n, 2) picture coordinates; `width` in units."""
        return self.put(line("Line", points, width * self.unit, material, closed), 0.0, 0.0, depth)

    def circle(self, at: Floats, radius: float) -> Floats:
        """(48, 2) float: a circle about picture coordinates, `radius` in units."""
        turns = np.linspace(0.0, 2.0 * np.pi, 48, endpoint=False)
        return at + radius * self.unit * np.stack([np.cos(turns), np.sin(turns)], axis=1)


@dataclass(frozen=True)
class Label:
    """Something to say of a place."""

    text: str
    at: tuple[float, float, float]
    """In the scene, m."""
    material: Material
    ring: float = 0.0
    """Radius of a ring around the place, in units; a dot without."""


def label_beside(paper: Paper, labels: list[Label], column: float, height: float) -> None:
    """Writes labels in columns at the left and right of the picture, each with a leader to its place.

    Parameters
    ----------
    column : distance of the columns from the picture's middle, as a share of half its width
    height : of the letters, in units
    """
    if not labels:
        return
    anchors = paper.view.project(np.array([label.at for label in labels]))
    edge = column * paper.view.width / 2
    pitch, limit = height * 5.0 * paper.unit, paper.view.height * 0.42 + height * 2.5 * paper.unit
    placed, ends = columns(anchors, (-edge, edge), pitch, -limit, limit)
    halo = plain("Halo", WHITE, glow=True)
    for number, start in zip(placed.tolist(), ends, strict=True):
        label, anchor, away = labels[number], anchors[number], -1.0 if start[0] < 0 else 1.0
        align = "RIGHT" if start[0] < 0 else "LEFT"
        paper.write(label.text, start[0] + away * paper.unit, start[1], height, label.material, align)
        end = anchor
        if label.ring:
            toward = (start - anchor) / np.linalg.norm(start - anchor)
            end = anchor + toward * label.ring * paper.unit
            paper.stroke(paper.circle(anchor, label.ring), 1.1, halo, closed=True, depth=0.04)
            paper.stroke(paper.circle(anchor, label.ring), 0.5, label.material, closed=True)
        else:
            paper.stroke(paper.circle(anchor, 0.3), 0.6, label.material, closed=True)
        paper.stroke(np.array([start, end]), 0.7, halo, depth=0.04)
        paper.stroke(np.array([start, end]), 0.22, label.material)


PICTURE: Final = (1280, 800)
RENDER_SIZE: Final = (1120, 700)
"""Pixels."""
INTO: Final = (50.0, -24.0)
"""Elevation and azimuth of the eye that looks into the open body, degrees."""
BESIDE: Final = (0.16, 0.16, 0.04, 0.2)
"""Room for labels at the left, right, bottom and top of the picture of the open body."""


def corners(
    table: TableObjects, shown: Callable[[PartObject], bool] = lambda _: True, stowed: bool = False
) -> Floats:
    """(n, 3) float, m: every vertex of the parts shown, leaves on the cover or stowed."""
    found = []
    for part in filter(shown, table.parts):
        matrix = part.matrix if part.cover is None or stowed else part.cover
        found.append(part.mesh.positions @ matrix[:3, :3].T + matrix[:3, 3])
    return np.concatenate(found)


def assembled(table: Table, path: str | Path, size: tuple[int, int] = RENDER_SIZE) -> None:
    """The table with its cover on, as a PNG. Raises DryAssemblyError where it cannot be built."""
    with assembled_scene(table, path, size) as scene:
        engines.render_picture(scene)


@contextmanager
def assembled_scene(table: Table, path: str | Path, size: tuple[int, int] = RENDER_SIZE) -> Iterator[Scene]:
    """What `assembled` renders. Raises DryAssemblyError where the table cannot be built."""
    made = objects_of(table)
    points = corners(made)
    axes = framing.axes_of(*ABOVE)
    with studio(made, "render", size) as room:
        eye = framing.eye_for(points, axes, size, ANGLE, 0.06)
        lens_camera(room.scene, room.scene.collection, eye, axes, ANGLE)
        reach = float(np.ptp(points[:, :2], axis=0).max())
        lights(room.scene.collection, reach)
        ground(room, reach)
        engines.picture_file(room.scene, path)
        yield room.scene


def is_shown_open(part: PartObject) -> bool:
    """What is left when one looks into the body from above; what holds a part goes with it."""
    return not any(role.hides_inside for role in (part.role, part.carrier) if role is not None)


def not_shown(assembly: Assembly) -> list[str]:
    """One sentence on what is left out of pictures of the inside, or none."""
    return [f"{listed(assembly.hiding)} not shown"] if assembly.hiding else []


def stowed(table: Table, path: str | Path, size: tuple[int, int] = PICTURE) -> None:
    """The leaves stowed, floor taken out, the tightest place marked, as a PNG. Raises DryAssemblyError."""
    with stowed_scene(table, path, size) as scene:
        engines.render_picture(scene)


@contextmanager
def stowed_scene(table: Table, path: str | Path, size: tuple[int, int] = PICTURE) -> Iterator[Scene]:
    """What `stowed` renders. Raises DryAssemblyError where the table cannot be built."""
    made, report = objects_of(table), report_of(table)
    points = corners(made, is_shown_open, stowed=True)
    view = framing.fit(points, framing.axes_of(*INTO), size, BESIDE)
    with studio(made, "drawing", size, is_shown_open) as room:
        flat_camera(room, view)
        for part in made.parts:
            if part.role.slides:
                animation.stow(room.parts[part.label], part)
        paper = Paper(room, view)
        _title(
            paper,
            f"{table.name}: the leaves stowed",
            "; ".join(["seen from above", *not_shown(assembly_of(table))]),
            *(f"{capital(line.name)}: {line.words}" for line in told(table).table),
        )
        label_beside(paper, _labels(table, made, report.leaves), 0.70, 2.0)
        engines.picture_file(room.scene, path)
        yield room.scene


def _title(paper: Paper, title: str, *below: str) -> None:
    """A heading in the upper left corner, and lines under it."""
    left, top = -paper.view.width / 2 + 3 * paper.unit, paper.view.height / 2
    paper.write(title, left, top - 4.5 * paper.unit, 2.4, ink())
    for number, text in enumerate(below):
        paper.write(text, left, top - (8.6 + 3.2 * number) * paper.unit, 1.75, ink())


def _labels(table: Table, made: TableObjects, results: tuple[LeafResult, ...]) -> list[Label]:
    units = units_of(table)
    parts = {part.label: part for part in made.parts}
    assembly = assembly_of(table)
    found = []
    for result in results:
        path = assembly.path_of(result.leaf)
        text = f"{result.leaf}, through {result.slot}"
        if table.stow:
            text += f"\n{table.stow[path.position].tier} tier"
        middle = (parts[result.leaf].matrix @ np.array([*_middle(parts[result.leaf]), 1.0]))[:3]
        outer = middle + path.outward * 0.36 * _reach(parts[result.leaf])
        found.append(Label(text, tuple(outer), ink()))
    if results:
        tightest = min(results, key=lambda result: result.clearance)
        found.append(_tightest(tightest, format_amount(abs(tightest.clearance), units)))
    return found


def _middle(part: PartObject) -> Floats:
    return (part.mesh.positions.min(axis=0) + part.mesh.positions.max(axis=0)) / 2


def _reach(part: PartObject) -> float:
    return float(np.ptp(part.mesh.positions, axis=0).max())


def _tightest(result: LeafResult, amount: str) -> Label:
    overlap = result.clearance < 0
    material = marks.overlap_paint() if overlap else marks.tight_paint()
    head = "overlap" if overlap else "tightest place"
    tail = "" if overlap else " clear"
    at = (result.at[0] * METERS, result.at[1] * METERS, result.at[2] * METERS)
    return Label(f"{head}:\n{result.leaf} and {result.against}\n{amount}{tail}", at, material, ring=2.2)
