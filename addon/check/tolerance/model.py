"""How deviations move the openings of a leaf's row: a linear map, straight from how the table goes together.

Heights count from the bottom panel's underside: sides hold it by their grooves, ribs are glued to it, so that a slot
is off by its own sill less its groove, a window by its place on the rib. Along and across, the outer faces of the
sides stay where they are drawn; a board that butts against another one moves with that one's face, and one that is too
long or too short may stand off by all of that, as if it were seated on its other end.

In the plan view a parallelogram whose edges run along the way is as wide as a rectangle: its width in the direction n
across the way is what its edges are apart, however oblique its ends are, and as it leans its edges bound it wherever
they are over wood. Only its corners are farther out at its ends, by as much as they are out of square.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ...sizes.arrays import Floats, Ints
from ...wood.features import Groove, Opening
from ...wood.part import Part
from ...wood.roles import Role
from ..cover import out_at_end
from ..prepared import cuts_for
from ..row.leaf_rows import LeafRow, View
from ..row.profile import Profiles, Row, RowOpening, profiles
from .deviations import Form, Register, added, as_matrix
from .uneven import OpeningForms, bow_of_rib, lengthwise, not_flat, with_pieces, with_ribs_in_pieces


@dataclass(frozen=True, eq=False)
class RowModel:
    """A leaf's row as a function of the deviations that move it; all in mm.

    Attributes
    ----------
    used : (used,) int; numbers of the deviations that matter to this row
    face, board, sill, head : (openings, used) float; how much they change per mm of each
    length, thickness : (used,) float
    flat : the same row with a flat leaf; None where the leaf is flat
    """

    leaf: str
    view: View
    row: Row
    used: Ints
    face: Floats
    board: Floats
    sill: Floats
    head: Floats
    length: Floats
    thickness: Floats
    flat: RowModel | None = None

    def row_at(self, deviations: Floats) -> Row:
        """The row with the table's deviations, (deviations,) float mm."""
        return self.row_of(deviations[self.used])

    def row_of(self, off: Floats) -> Row:
        """The row with its own deviations, (used,) float mm."""
        face, board, sill, head = (
            coefficients @ off for coefficients in (self.face, self.board, self.sill, self.head)
        )
        openings = tuple(
            replace(
                one,
                face=one.face + float(face[number]),
                board=one.board + float(board[number]),
                sill=None if one.sill is None else one.sill + float(sill[number]),
                head=None if one.head is None else one.head + float(head[number]),
            )
            for number, one in enumerate(self.row.openings)
        )
        length, thickness = float(self.length @ off), float(self.thickness @ off)
        return replace(
            self.row,
            length=self.row.length + length,
            thickness=self.row.thickness + thickness,
            openings=openings,
        )


def row_models(rows: Sequence[LeafRow], register: Register) -> list[RowModel]:
    """The models of an assembly's rows; their deviations are added to its register."""
    maker = _Maker(register)
    return [maker.model(one) for one in rows]


def model_of_row(
    row: Row,
    openings: Sequence[OpeningForms],
    length: Form,
    thickness: Form,
    leaf: str = "",
    view: View = "side",
) -> RowModel:
    """A model from forms: face, board, sill and head of each opening, length and thickness of the leaf."""
    all_forms = [form for own in openings for form in own] + [length, thickness]
    used = sorted({number for form in all_forms for number in form})
    place = {number: column for column, number in enumerate(used)}

    def matrix(forms: Sequence[Form]) -> Floats:
        own = [{place[number]: value for number, value in form.items()} for form in forms]
        return as_matrix(own, len(used))

    face, board, sill, head = (matrix([own[kind] for own in openings]) for kind in range(4))
    long, thick = matrix([length, thickness])
    return RowModel(leaf, view, row, np.array(used, dtype=np.intp), face, board, sill, head, long, thick)


def profiles_at(model: RowModel, off: Floats) -> Profiles:
    """The row with its own deviations (used, n) float mm, as n rows.

    Their `rows` are the row as drawn, n times; what is asked of them must not depend on the deviations.
    """
    count = off.shape[1]
    drawn = profiles((model.row,))
    face, sill, head = ((own @ off).T[:, :, None] for own in (model.face, model.sill, model.head))
    board = (model.board @ off).T[:, :, None]
    x = np.broadcast_to(drawn.x, (count, *drawn.x.shape[1:])) + face
    x[:, :, 2:] += board
    thickness = drawn.thickness + model.thickness @ off

    def of_all(values: NDArray[np.bool_]) -> NDArray[np.bool_]:
        return np.repeat(values, count, axis=0)

    def leaf(values: Floats) -> Floats:
        return np.repeat(values, count)

    return Profiles(
        x,
        drawn.low + sill,
        drawn.high + head,
        of_all(drawn.present),
        of_all(drawn.holds),
        drawn.length + model.length @ off,
        thickness,
        leaf(drawn.travel),
        leaf(drawn.lead_run),
        leaf(drawn.lead_rise),
        leaf(drawn.hand),
        _rest(model, x[:, :, 0], drawn.low[0, :, 1] + sill[:, :, 0]) + thickness / 2,
        (model.row,) * count,
    )


def _rest(model: RowModel, face: Floats, sill: Floats) -> Floats | float:
    """Heights of the leaf's lower edge on its way, mm, with faces and sills of the openings, (n, openings) float mm
    each, -inf where there is none; see `Row.rest`."""
    if model.row.level is not None:
        return model.row.level
    face = np.where(np.isfinite(sill), face, np.inf)
    first = np.isfinite(sill) & (face == face.min(axis=1, keepdims=True, initial=np.inf))
    return np.where(first.any(axis=1), np.where(first, sill, np.inf).min(axis=1, initial=np.inf), 0.0)


class _Maker:
    """Forms of the openings of an assembly's rows."""

    def __init__(self, register: Register) -> None:
        self.assembly, self.register = register.assembly, register
        self._moves: dict[str, tuple[Form, Form, Form]] = {}

    def model(self, one: LeafRow) -> RowModel:
        """Of one row."""
        leaf = self.assembly.by_label[one.leaf]
        one = with_ribs_in_pieces(one, self.assembly)
        flat = self._of(one, bent=False)
        if one.view == "plan" or not (leaf.stock.bow or leaf.stock.twist):
            return flat
        along = lengthwise(self.assembly, one) == (leaf.grain == "u")
        return replace(self._of(with_pieces(one, leaf, along=along), bent=True), flat=flat)

    def _of(self, one: LeafRow, *, bent: bool) -> RowModel:
        """With what bow and twist of the leaf do, or without."""
        leaf, register = self.assembly.by_label[one.leaf], self.register
        straight = lengthwise(self.assembly, one)
        along, across = ("length", "width") if straight else ("width", "length")
        openings = [self._opening(one, opening) for opening in one.row.openings]
        length = register.dimension(leaf, along)
        if one.view == "side":
            thickness = register.thickness(leaf)
            if bent:
                openings = not_flat(one, openings, register, along=straight == (leaf.grain == "u"))
        else:
            limit, drawn = register.assembly.tolerances.squareness, one.row
            if limit:
                # Its corner ahead is where the leaf stops, the other end's corner behind sticks out.
                more = out_at_end(drawn.length, drawn.thickness, limit) / limit
                length = added((length, 1.0), (register.squareness(leaf), more))
            thickness = register.dimension(leaf, across)
        return model_of_row(one.row, openings, length, thickness, one.leaf, one.view)

    def _opening(self, one: LeafRow, opening: RowOpening) -> OpeningForms:
        part = self.assembly.by_label[opening.label]
        cut = next((own for _, own in cuts_for(one.leaf, (part,))), None)
        moved = self._moved(part, one.frame[1])
        forward = self._moved(part, one.frame[0])
        if not opening.window or cut is None:
            moved = added((moved, 1.0), (bow_of_rib(one, opening, self.register), 1.0))
            return forward, {}, *self._wood(part, one.frame[1], moved)
        if isinstance(cut, Groove):
            return forward, {}, *self._groove(part, cut, one.frame[1], moved)
        thickness = self.register.thickness(part)
        # A side's outer face is where the travel counts from; a rib is set out by its middle.
        face = {} if part.role.keeps == "outer face" else added((forward, 1.0), (thickness, -0.5))
        if one.view == "side":
            sill = self.register.dimension(part, cut.named("sill"), cut.leaf)
            height = self.register.dimension(part, cut.named("height"), cut.leaf)
            bottom = added((moved, 1.0), (sill, 1.0))
            head = bottom if cut.open_above else added((bottom, 1.0), (height, 1.0))
            return face, thickness, bottom, head
        return face, thickness, *self._across(part, cut, float(one.frame[1] @ part.placement.axes[0]), moved)

    def _across(self, part: Part, cut: Opening, sign: float, moved: Form) -> tuple[Form, Form]:
        """Edges of a slot or window in the plan view; of one that runs out of an end, the one that is left."""
        offset = self.register.dimension(part, cut.named("offset"), cut.leaf)
        near = added((moved, 1.0), (offset, sign))
        if cut.open_end is not None:
            return near, near
        far = added((near, 1.0), (self.register.dimension(part, cut.named("width"), cut.leaf), sign))
        return (near, far) if sign > 0 else (far, near)

    def _groove(self, part: Part, cut: Groove, axis: Floats, moved: Form) -> tuple[Form, Form]:
        """Edges of a groove in which the leaf's edge runs, or, seen square to its board, its bottom."""
        turned = (part.placement.axes @ axis).tolist()
        if abs(turned[2]) > 0.5:
            into = turned[2] if cut.face == "front" else -turned[2]
            # A thicker board comes out at the faces that do not keep their place.
            out = 0.0 if part.datum == cut.face else 0.5 if part.datum == "middle" else 1.0
            depth = self.register.dimension(part, "groove_depth", cut.leaf)
            bottom = added((moved, 1.0), (depth, into), (self.register.thickness(part), -into * out))
            return bottom, bottom
        sign = turned[1 if cut.along == "u" else 0]
        near = added((moved, 1.0), (self.register.dimension(part, "groove_offset", cut.leaf), sign))
        far = added((near, 1.0), (self.register.dimension(part, "groove_width", cut.leaf), sign))
        return (near, far) if sign > 0 else (far, near)

    def _wood(self, part: Part, axis: Floats, moved: Form) -> tuple[Form, Form]:
        """Edges of wood beside a leaf's way: below it the part's upper or left face, above it the other one."""
        normal = float(part.placement.axes[2] @ axis)
        # Leaves pass below the bottom panel, whose underside heights count from, however thick it is.
        if abs(normal) < 0.5 or part.role.height == "datum":
            return moved, moved
        thickness = self.register.thickness(part)
        above, below = _thickening(part.role)
        return added((moved, 1.0), (thickness, above)), added((moved, 1.0), (thickness, -below))

    def _moved(self, part: Part, axis: Floats) -> Form:
        """How far a part stands off along a direction of the table's axes."""
        if part.label not in self._moves:
            self._moves[part.label] = self._move(part)
        return added(*((form, float(axis[k])) for k, form in enumerate(self._moves[part.label])))

    def _move(self, part: Part) -> tuple[Form, Form, Form]:
        u, _, w = part.placement.axes
        sums: list[list[tuple[Form, float]]] = [[], [], []]

        def move(form: Form, direction: Floats) -> None:
            for k in range(3):
                sums[k].append((form, float(direction[k])))

        up = np.array([0.0, 0.0, 1.0])
        if part.role.height == "groove":
            move(self.register.dimension(part, "groove_offset"), -up)
            self._along(part, u, move)
        elif part.role.height == "edge":
            if self.assembly.tolerances.windows_from == "lower":
                move(self.register.dimension(part, "width"), -up)
            # Across its plane, toward greater x or y whichever way the board faces.
            move(self.register.placed(part, "place"), np.abs(w))
            self._along(part, u, move)
        elif part.role.height == "line":
            if self._hangs(part):
                move(self.register.dimension(part, "width"), -up)
            else:
                move(self.register.placed(part, "level"), up)
            move(
                self.register.placed(part, "place"),
                np.abs(w) if abs(w[2]) < 0.5 else np.array([1.0, 1.0, 0.0]),
            )
        x, y, z = (added(*terms) for terms in sums)
        return x, y, z

    def _hangs(self, part: Part) -> bool:
        """Whether a strip is glued under what heights count from: its own width says how low it comes down."""
        return any(
            joint.a == part.label
            and joint.kind == "face"
            and self.assembly.by_label[joint.b].role.height == "datum"
            for joint in self.assembly.joints
        )

    def _along(self, part: Part, u: Floats, move: Callable[[Form, Floats], None]) -> None:
        """Off along its own length: with the face that its start butts on, and by its own length."""
        holder = next(
            (
                self.assembly.by_label[joint.b]
                for joint in self.assembly.joints
                if joint.a == part.label and joint.part_end == "start" and joint.kind == "butt"
            ),
            None,
        )
        if holder is None:
            return
        move(self._moved(holder, np.abs(u)), np.abs(u))
        move(self.register.thickness(holder), u * (1.0 if holder.role.keeps == "outer face" else 0.5))
        move(self.register.dimension(part, "length"), u)


def _thickening(role: Role) -> tuple[float, float]:
    """How far the upper or left face of wood beside a leaf's way comes out, and the other one, per mm of thickness.

    Boards at rest keep their lower face and ribs and strips their middle. A side keeps its outer face, and the leaf is
    always on the other one.
    """
    if role.keeps == "outer face":
        return 1.0, 1.0
    return (1.0, 0.0) if role.rests or role.keeps == "lower face" else (0.5, 0.5)
