"""The table cut open, with the words for its parts and openings: a picture of the README, by ``make_examples.py``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from addon.paper.lines.seen import Surface
    from addon.paper.sheet import Drawing
    from addon.sizes.arrays import Bools, Floats, Ints
    from addon.wood.assembly import Assembly
    from addon.wood.part import Part

TONES: Final = {"leaf": "#D3E4F1", "rib": "#F6EEDF", "bottom": "#FBF8F1"}
"""By role; all else is white. What is sawn has a tone of its own."""
SAWN: Final = "#DDB270"

CUTS: Final = {
    "side": (150.0, -100.0),
    "ledger": (150.0, -100.0),
    "leg": (150.0, -100.0),
    "block": (150.0, -100.0),
    "bottom": (-330.0, 300.0),
}
"""Role → corner of what is taken away of such parts, to the right and the front; x and y in mm."""

PULLED_OUT: Final = "L2"
"""The leaf that is not there, so that its windows are seen."""

WORDS: Final[tuple[tuple[str, str, tuple[float, float, float]], ...]] = (
    ("ledger: carries the cover leaves", "LEDG2", (0.12, 0.0, 0.5)),
    ("well: the second work surface", "B1", (0.2, 0.45, 1.0)),
    ("leaf, stowed in the upper tier", "L1", (0.75, 0.55, 1.0)),
    ("slot, through which it goes in", "S1", (0.235, 0.0, 0.41)),
    ("wood below the slots", "S1", (0.17, 0.0, 0.14)),
    ("side", "S1", (0.46, 0.0, 0.45)),
    ("leaf, stowed in the lower tier", "L4", (0.72, 0.3, 1.0)),
    ("guide: keeps a leaf straight", "GUIDE6", (0.5, 0.3, 1.0)),
    ("through rib", "R3", (0.5, 0.08, 1.0)),
    ("leg", "LEG1", (0.5, 0.0, 0.35)),
    ("window in a rib, open above", "R8", (0.3, 0.0, 0.9)),
    ("bottom panel, in its groove", "B1", (0.62, 0.82, 1.0)),
    ("rib segment", "R12", (0.6, 0.0, 0.6)),
    ("kicker: keeps a nose from rising", "KICK4", (0.5, 0.3, 1.0)),
    ("groove of the bottom panel", "S4", (0.3, 0.40, 0.55)),
)
"""Word, label of the part that it points at, and where between the ends of the part's box."""

LETTERS: Final = 3.2
PITCH: Final = 6.4
MARGIN: Final = 6.0
"""Of the words, mm on paper."""

FAR: Final = 1e4
"""Beyond any table, mm."""

SAME_PLANE: Final = 1e-3
"""Triangles of a part whose planes differ by less, mm and as normals, are one flat face."""


@dataclass(frozen=True, eq=False)
class Opened:
    """What is left of a table cut open, as the eye sees it from the front, the right and above."""

    surface: Surface
    parts: list[Part]
    """Part k has the numbers 2k, its own faces, and 2k + 1, those that the saw has made."""

    def drawn(self, drawing: Drawing, scale: float, place: Floats, tones: dict[str, str]) -> None:
        """Puts it on a sheet; `tones` by label before those by role."""
        from addon.paper.lines.chains import merged, paths_of
        from addon.paper.lines.hidden import lines_of
        from addon.paper.lines.regions import seams_of
        from addon.paper.sheet import Pen

        seams, lines = seams_of(self.surface), lines_of(self.surface)
        shown: dict[str, set[int]] = {}
        for number, one in enumerate(self.parts):
            tone = tones.get(one.label, TONES.get(one.role.word, "#FFFFFF"))
            shown.setdefault(tone, set()).add(2 * number)
            shown.setdefault(SAWN, set()).add(2 * number + 1)
        for tone, which in shown.items():
            drawing.fill([ring * scale + place for ring in seams.rings(which)], tone)
        kinds = (lines.outline, lines.visible & ~lines.outline)
        outlines, edges = merged([lines.ends[kind][:, :, :2] for kind in kinds])
        drawing.strokes(paths_of(edges * scale + place), Pen(0.18))
        drawing.strokes(paths_of(outlines * scale + place), Pen(0.35))


def opened(
    assembly: Assembly, cuts: dict[str, tuple[float, float]], without: set[str], moved: dict[str, Floats]
) -> Opened:
    """A table cut open.

    Parameters
    ----------
    cuts : role → corner of what is taken away, as `CUTS`
    without : labels of parts that are not there
    moved : label → how far a part is from where it stands, mm
    """
    from addon.paper.lines.seen import Surface, face_normals
    from addon.paper.views import VIEWS

    axes = VIEWS["isometric"].axes
    points, triangles, faces, owner, kept = [], [], [], [], []
    count = planes = 0
    for one in assembly.parts:
        if one.label in without:
            continue
        corners, rows = _cut(one, cuts.get(one.role.word), moved.get(one.label))
        if not len(rows):
            continue
        patch, sawn = _faces(corners[rows], cuts.get(one.role.word))
        order = np.argsort(sawn, kind="stable")
        points.append(corners @ axes.T)
        triangles.append(rows[order] + count)
        faces.append(patch[order] + planes)
        owner.append(2 * len(kept) + sawn[order])
        kept.append(one)
        count += len(corners)
        planes += int(patch.max()) + 1
    joined = np.concatenate(points), np.concatenate(triangles)
    face = np.concatenate(faces)
    normals = face_normals(*joined, face, planes)
    return Opened(Surface(*joined, face, normals, np.concatenate(owner), axes), kept)


def _cut(part: Part, cut: tuple[float, float] | None, moved: Floats | None) -> tuple[Floats, Ints]:
    """Corners, (n, 3) float mm, and triangles, (m, 3) int, of a part without what is cut away."""
    import manifold3d  # pyright: ignore[reportMissingImports]

    from addon.wood.meshes.mesh import mesh_of

    mesh = mesh_of(part.shape)
    corners = part.placement.to_table(mesh.vertices) + (0.0 if moved is None else moved)
    solid = manifold3d.Manifold(manifold3d.Mesh64(corners, mesh.triangles.astype(np.uint64)))
    if cut is not None:
        solid -= manifold3d.Manifold.cube((FAR, FAR, 2 * FAR)).translate((cut[0], cut[1] - FAR, -FAR))
    found = solid.to_mesh64()
    corners, rows = np.asarray(found.vert_properties)[:, :3], np.asarray(found.tri_verts).astype(np.intp)
    return corners, rows[np.linalg.norm(_areas(corners[rows]), axis=1) > 1e-9]


def _areas(triangles: Floats) -> Floats:
    return np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])


def _faces(triangles: Floats, cut: tuple[float, float] | None) -> tuple[Ints, Bools]:
    """Number of the flat face of each triangle, (m,) int, and whether the saw has made it, (m,) bool."""
    areas, first = _areas(triangles), triangles[:, 0]
    normal = areas / np.linalg.norm(areas, axis=1)[:, None]
    planes = np.concatenate([normal, (normal * first).sum(axis=1)[:, None]], axis=1)
    patch = np.unique(np.round(planes / SAME_PLANE), axis=0, return_inverse=True)[1].reshape(-1)
    sawn = np.zeros(len(triangles), dtype=bool)
    for axis in range(2) if cut is not None else ():
        sawn |= (np.abs(first[:, axis] - cut[axis]) < 1e-6) & (np.abs(normal[:, axis]) > 0.999)  # type: ignore[index]
    return patch, sawn


def words_drawing(assembly: Assembly, scale: float = 0.136) -> Drawing:
    """The table cut open, its leaves stowed, with the words for its parts and openings."""
    from addon.paper.sheet import Drawing, Pen
    from addon.paper.sheet.dimensions import columns, leader

    width, height = 384.0, 190.0
    drawing = Drawing(width, height, "%s, cut open" % assembly.name)
    view = opened(assembly, CUTS, {PULLED_OUT}, {})
    low, high = view.surface.points[:, :2].min(axis=0), view.surface.points[:, :2].max(axis=0)
    place = np.array([width, height]) / 2 - (low + high) / 2 * scale
    view.drawn(drawing, scale, place, {})
    spots = np.array([_spot(assembly.by_label[label], share) for _, label, share in WORDS])
    dots = (spots @ view.surface.axes.T)[:, :2] * scale + place
    beside = (float(low[0] * scale + place[0]) - 4.0, float(high[0] * scale + place[0]) + 4.0)
    placed, ends = columns(dots, beside, PITCH, MARGIN, height - MARGIN)
    for number, end in zip(placed.tolist(), ends, strict=True):
        leader(drawing, [end, dots[number]], "dot", Pen(0.18))
        at, anchor = (end[0] - 1.0, "end") if end[0] < width / 2 else (end[0] + 1.0, "start")
        drawing.text(WORDS[number][0], float(at), float(end[1]), LETTERS, anchor, vertical="middle")
    return drawing


def _spot(part: Part, share: tuple[float, float, float]) -> Floats:
    """(3,) float, mm: so far between the ends of a part's box."""
    from addon.wood.meshes.mesh import mesh_of

    corners = part.placement.to_table(mesh_of(part.shape).vertices)
    low, high = corners.min(axis=0), corners.max(axis=0)
    return low + np.array(share) * (high - low)
