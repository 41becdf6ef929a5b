"""Whether two solids are the same, turned or not, or mirror images of each other, and by which motion.

A solid with flat faces is told by the corners of its faces. Of each face, of outward normal n, and each of its edges,
along a line of direction d, note where the edge starts (+1) and where it ends (-1):

          n (out of the paper)
    +1 P2 ------- d ------- P1 -1       two notes for each corner of each face, one for either edge that meets there;
       -1 |                 | +1        what triangles share within a face cancels, and so do points along a straight
          |                 |           edge
    -1 P3 ------- d ------- P4 +1

Two solids are the same if a turn takes the notes of the one to those of the other, and mirror images if one with a
reflection does. Such a motion takes each note to one that is alike in all that does not depend on where the solid lies
(how far P is from the middle, how far along n and d it lies, …), so trying those that are alike with the rarest note
finds all of them. How a solid is described, or cut into triangles, makes no difference.

Cut lists and part sheets ask it of an assembly: one board of each kind is described, and how many of it are cut.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from typing import Final

import numpy as np

from ..sizes.arrays import Floats, Ints
from ..sizes.tolerances import CONTACT
from .assembly import Assembly
from .meshes.mesh import Mesh, mesh_of
from .part import Part, Placement, Shape

_ALIKE: Final = 1e-7
"""Directions whose components differ by less than this are one."""

_GENERIC: Final = np.sqrt(np.array([[2.0, 3.0, 5.0], [7.0, 11.0, 13.0], [17.0, 19.0, 23.0]]))
"""Rows: directions that have nothing to do with those of any part, so that different values stay apart along them."""


@dataclass(frozen=True, eq=False)
class Turn:
    """A motion of a solid: x = rotation · x + offset; a reflection where the determinant is negative."""

    rotation: Floats
    """(3, 3) float"""
    offset: Floats
    """(3,) float, mm"""

    def __call__(self, points: Floats) -> Floats:
        """(n, 3) float, mm, moved."""
        return points @ self.rotation.T + self.offset


@dataclass(frozen=True, eq=False)
class Corners:
    """The corners of a solid's faces, once for either edge that meets there; the grain is a row too.

    Parameters
    ----------
    normals : (k, 3) float; of the face, zero for the grain
    lines : (k, 3) float; along the edge, either way, or along the grain
    points : (k, 3) float, mm; the corner, or the part's middle
    counts : (k,) int; +1 where an edge starts that has the face on its left, -1 where it ends, 0 for the grain
    kinds : (k,) int; what kind of part the solid is of, where several parts are one
    volume : mm³
    middle : (3,) float, mm; center of the volume
    """

    normals: Floats
    lines: Floats
    points: Floats
    counts: Ints
    kinds: Ints
    volume: float
    middle: Floats

    def __len__(self) -> int:
        return len(self.points)

    def placed(self, placement: Placement, kind: int = 0) -> Corners:
        """The same where a part stands, as one of a kind."""
        axes = placement.axes
        return Corners(
            self.normals @ axes, self.lines @ axes, placement.to_table(self.points), self.counts,
            np.full(len(self), kind), self.volume, placement.to_table(self.middle[None])[0],
        )  # fmt: skip

    @cached_property
    def signature(self) -> Floats:
        """(k, 6) float: of each row what no motion changes."""
        off = self.points - self.middle
        along = np.abs(np.einsum("ij,ij->i", off, self.lines))
        out = np.einsum("ij,ij->i", off, self.normals)
        flat = np.einsum("ij,ij->i", self.normals, self.normals)
        told = np.abs(self.counts).astype(float), self.kinds.astype(float)
        return np.stack([np.linalg.norm(off, axis=1), along, out, flat, *told], axis=1)

    @cached_property
    def print(self) -> Floats:
        """(3, k) float: rows sorted, alike for solids of which one may be a motion of the other."""
        return np.sort(_along(self.signature), axis=1)

    def looks_like(self, other: Corners) -> bool:
        """Whether one may be a motion of the other: for ruling most pairs out."""
        return (
            len(self) == len(other)
            and abs(self.volume - other.volume) <= CONTACT * max(1.0, abs(self.volume))
            and bool((np.abs(self.print - other.print) <= 100 * CONTACT).all())
        )


def corners_of(part: Part) -> Corners:
    """The corners of a part in its own frame, its grain among them where its stock has one.

    Raises PartError where it has no sound section.
    """
    return _corners(part.shape, "" if part.stock.grain == "none" else part.grain)


@lru_cache(maxsize=1024)
def _corners(shape: Shape, grain: str) -> Corners:
    """The same for a shape whose grain runs along u or v, or that has none."""
    if not grain:
        return corners_of_mesh(mesh_of(shape))
    own = _corners(shape, "")
    return replace(
        own,
        normals=np.vstack([own.normals, np.zeros(3)]),
        lines=np.vstack([own.lines, np.eye(3)["uv".index(grain)]]),
        points=np.vstack([own.points, own.middle]),
        counts=np.append(own.counts, 0),
        kinds=np.append(own.kinds, 0),
    )


def corners_of_mesh(mesh: Mesh) -> Corners:
    """The corners of a closed mesh whose patches are flat."""
    points = mesh.vertices
    a, b, c = (points[mesh.triangles[:, corner]] for corner in range(3))
    areas = np.cross(b - a, c - a)
    volumes = np.einsum("ij,ij->i", a, np.cross(b, c)) / 6.0
    volume = float(volumes.sum())
    middle = (volumes[:, None] * (a + b + c)).sum(axis=0) / 4.0 / volume
    # The sum over a flat face is far less troubled by slivers than each triangle alone.
    total = np.stack([np.bincount(mesh.patch, areas[:, axis]) for axis in range(3)], axis=1)
    size = np.linalg.norm(total, axis=1)
    normal = np.divide(total, size[:, None], out=np.zeros_like(total), where=size[:, None] > 0)
    triangles = mesh.triangles.astype(np.intp)
    start, end = triangles.ravel(), np.roll(triangles, -1, axis=1).ravel()
    way = points[end] - points[start]
    length = np.linalg.norm(way, axis=1)
    face = np.repeat(mesh.patch.astype(np.intp), 3)
    sound = (length > CONTACT) & (size[face] > CONTACT**2)
    start, end, face = start[sound], end[sound], face[sound]
    line = way[sound] / length[sound, None]
    line *= np.where(line @ _GENERIC[0] < 0, -1.0, 1.0)[:, None]
    return _without_what_cancels(points, normal, line, face, np.stack([start, end]), volume, middle)


def _without_what_cancels(
    points: Floats, normal: Floats, line: Floats, face: Ints, ends: Ints, volume: float, middle: Floats
) -> Corners:
    """Corners from (2, e) starts and ends of edges, with their (e, 3) lines and (e,) faces."""
    # The line of an edge is that at either of its ends: both have one number in the faces, lines and points together.
    across = groups(normal, _ALIKE)[face] * len(line) + groups(line, _ALIKE)
    keys = (across * len(points) + groups(points, CONTACT)[ends]).ravel()
    _, first, number = np.unique(keys, return_index=True, return_inverse=True)
    signs = np.repeat([1.0, -1.0], len(face))
    counts = np.rint(np.bincount(number.ravel(), signs)).astype(np.intp)
    left = np.flatnonzero(counts)
    row = first[left] % len(face)
    return Corners(
        normal[face[row]], line[row], points[ends.ravel()[first[left]]], counts[left],
        np.zeros(len(left), dtype=np.intp), volume, middle,
    )  # fmt: skip


def groups(values: Floats, apart: float) -> Ints:
    """(n,) int: the same number for rows of (n, m) that are alike but for rounding, less than `apart`."""
    number = np.zeros(len(values), dtype=np.intp)
    for heights in _along(values):
        order = np.argsort(heights, kind="stable")
        rank = np.empty(len(values), dtype=np.intp)
        rank[order] = np.concatenate([[0], np.cumsum(np.diff(heights[order]) > apart)])[: len(values)]
        number = number * (len(values) + 1) + rank
        number = np.unique(number, return_inverse=True)[1].ravel()
    return number


def _along(values: Floats) -> Floats:
    """(3, n) float: rows of (n, m) along generic directions."""
    directions = np.resize(_GENERIC, (3, values.shape[1])) + np.arange(values.shape[1]) / 3.0
    return directions @ values.T


def together(solids: Iterable[Corners]) -> Corners:
    """Several solids that keep their places to each other, as one."""
    own = list(solids)
    volume = sum(one.volume for one in own)
    middle = np.sum([one.volume * one.middle for one in own], axis=0) / volume
    return Corners(
        np.concatenate([one.normals for one in own]),
        np.concatenate([one.lines for one in own]),
        np.concatenate([one.points for one in own]),
        np.concatenate([one.counts for one in own]),
        np.concatenate([one.kinds for one in own]),
        volume,
        middle,
    )


def turn_between(one: Corners, other: Corners, *, mirrored: bool = False) -> Turn | None:
    """A motion that takes one solid to the other; None where there is none.

    Of several it is none at all, or half a turn about an axis of the frame, where one of these will do.

    Parameters
    ----------
    mirrored : with a reflection
    """
    if not one.looks_like(other):
        return None
    aim = np.sort(_along(_rows(other, np.eye(3))), axis=1)
    for rotation in _candidates(one, other, -1.0 if mirrored else 1.0):
        found = np.sort(_along(_rows(one, rotation)), axis=1)
        if (np.abs(found - aim) <= 100 * CONTACT).all():
            return Turn(rotation, other.middle - rotation @ one.middle)
    return None


def _rows(solid: Corners, rotation: Floats) -> Floats:
    """(k, 14) float: all that tells a row, after a rotation about the solid's middle."""
    lines = solid.lines @ rotation.T
    squares = np.stack([lines[:, i] * lines[:, j] for i, j in _PAIRS], axis=1)
    off = (solid.points - solid.middle) @ rotation.T
    # A reflection puts the faces on the other side of their edges.
    told = np.stack([np.linalg.det(rotation) * solid.counts, solid.kinds.astype(float)], axis=1)
    return np.concatenate([off, solid.normals @ rotation.T, squares, told], axis=1)


_PAIRS: Final = ((0, 0), (1, 1), (2, 2), (0, 1), (1, 2), (2, 0))

_HALF_TURNS: Final = tuple(
    np.diag(signs) for signs in ((1.0, 1, 1), (1.0, -1, -1), (-1.0, 1, -1), (-1.0, -1, 1))
)


def _candidates(one: Corners, other: Corners, hand: float) -> Iterator[Floats]:
    """(3, 3) float each: rotations, or with `hand` -1 reflections, that could take one solid to the other."""
    yield from (hand * turn for turn in _HALF_TURNS)
    count = len(one)
    alike = groups(np.concatenate([one.signature, other.signature]), 100 * CONTACT)
    framed = np.einsum("ij,ij->i", one.normals, one.normals) > 0.5
    sizes = np.bincount(alike[:count], minlength=int(alike.max()) + 1)
    row = int(np.where(framed, sizes[alike[:count]], count + 1).argmin())
    start = _frame(one.normals[row], one.lines[row], 1.0)
    for there in np.flatnonzero(alike[count:] == alike[row]).tolist():
        for way in (1.0, -1.0):
            yield _frame(other.normals[there], way * other.lines[there], hand).T @ start


def _frame(normal: Floats, line: Floats, hand: float) -> Floats:
    """(3, 3) float: rows across each other, the third to the left of the line, or to its right."""
    return np.array([normal, line, hand * np.cross(normal, line)])


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
