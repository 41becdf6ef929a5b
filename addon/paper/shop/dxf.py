"""A part's plan as DXF of the version AC1015 (the published reference of DXF, from memory).

A file is pairs of lines, a group's code and its value. Everything has a handle, a number in hexadecimal, and says whose
it is; what a drawing shows is owned by the block of the model space.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from ...shop.plans import DIMENSIONS, TEXT, Arc, Measure, Plan
from ...wood.features.base import Point

_UNITS: Final = {"in": 1, "mm": 4}
"""`$INSUNITS`."""

_TABLES: Final = ("VPORT", "LTYPE", "LAYER", "STYLE", "VIEW", "UCS", "APPID", "DIMSTYLE", "BLOCK_RECORD")

_LETTERS: Final = 5.0
_TICK: Final = 2.0
"""Height of lettering, and half the length of a tick, mm at the part."""

Group = tuple[int, str | int | float]


def dxf_text(plan: Plan) -> str:
    """A plan's file, in ASCII."""
    return "".join(f"{code:3d}\n{_value(value)}\n" for code, value in _File(plan).groups())


def _value(value: str | float) -> str:
    if isinstance(value, str):
        return "".join(letter if letter.isascii() else f"\\U+{ord(letter):04X}" for letter in value)
    return str(value) if isinstance(value, int) else f"{value:.9g}" + ("" if value % 1 else ".0")


class _File:
    """All groups of one file."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self._last = 0x20
        self.tables = {name: self._handle() for name in _TABLES}
        self.model, self.paper = self._handle(), self._handle()
        self.blocks = [self._handle() for _ in plan.measures]
        """Of the block record of each dimension's picture."""
        self.root, self.group = self._handle(), self._handle()

    def groups(self) -> Iterator[Group]:
        """All of the file; the header says which handle is free, so the rest is made first."""
        rest = [*self._tables(), *self._blocks(), *self._entities(), *self._objects()]
        yield from self._header()
        yield from _section("CLASSES", ())
        yield from rest
        yield 0, "EOF"

    def _handle(self) -> str:
        self._last += 1
        return f"{self._last:X}"

    def _header(self) -> Iterator[Group]:
        inch = self.plan.units == "in"
        yield from _section(
            "HEADER",
            [
                (9, "$ACADVER"), (1, "AC1015"), (9, "$DWGCODEPAGE"), (3, "ANSI_1252"),
                (9, "$INSUNITS"), (70, _UNITS[self.plan.units]), (9, "$MEASUREMENT"), (70, 0 if inch else 1),
                (9, "$HANDSEED"), (5, f"{self._last + 1:X}"),
            ],
        )  # fmt: skip

    # -- tables

    def _tables(self) -> Iterator[Group]:
        rows: dict[str, list[list[Group]]] = {
            "VPORT": [],
            "LTYPE": [self._linetype(name) for name in ("ByBlock", "ByLayer", "Continuous")],
            "LAYER": [self._layer(name, place) for place, name in enumerate(("0", *self.plan.layers))],
            "STYLE": [self._row("STYLE", "Standard", "AcDbTextStyleTableRecord",
                                [(40, 0.0), (41, 1.0), (50, 0.0), (71, 0), (42, 2.5), (3, "txt"), (4, "")])],
            "VIEW": [],
            "UCS": [],
            "APPID": [self._row("APPID", "ACAD", "AcDbRegAppTableRecord", [])],
            "DIMSTYLE": [self._row("DIMSTYLE", "Standard", "AcDbDimStyleTableRecord", [(40, 1.0), (140, 2.5)])],
            "BLOCK_RECORD": [self._record(handle, name) for handle, name in self._block_names()],
        }  # fmt: skip
        inside: list[Group] = []
        for name in _TABLES:
            inside += [(0, "TABLE"), (2, name), (5, self.tables[name]), (330, "0"), (100, "AcDbSymbolTable"),
                       (70, len(rows[name]))]  # fmt: skip
            if name == "DIMSTYLE":
                inside.append((100, "AcDbDimStyleTable"))
            for row in rows[name]:
                inside += row
            inside.append((0, "ENDTAB"))
        yield from _section("TABLES", inside)

    def _row(self, table: str, name: str, kind: str, more: Sequence[Group]) -> list[Group]:
        # The handle of a dimension style has a code of its own.
        code = 105 if table == "DIMSTYLE" else 5
        return [(0, table), (code, self._handle()), (330, self.tables[table]), (100, "AcDbSymbolTableRecord"),
                (100, kind), (2, name), (70, 0), *more]  # fmt: skip

    def _linetype(self, name: str) -> list[Group]:
        return self._row("LTYPE", name, "AcDbLinetypeTableRecord", [(3, ""), (72, 65), (73, 0), (40, 0.0)])

    def _layer(self, name: str, place: int) -> list[Group]:
        """The outline is black or white, the others have the first six colors in turn."""
        color = 7 if place < 2 else 1 + place % 6
        return self._row("LAYER", name, "AcDbLayerTableRecord", [(62, color), (6, "Continuous")])

    def _record(self, handle: str, name: str) -> list[Group]:
        return [(0, "BLOCK_RECORD"), (5, handle), (330, self.tables["BLOCK_RECORD"]),
                (100, "AcDbSymbolTableRecord"), (100, "AcDbBlockTableRecord"), (2, name)]  # fmt: skip

    def _block_names(self) -> list[tuple[str, str]]:
        named = [(self.model, "*Model_Space"), (self.paper, "*Paper_Space")]
        return [*named, *((handle, f"*D{place}") for place, handle in enumerate(self.blocks, 1))]

    # -- what is drawn

    def _blocks(self) -> Iterator[Group]:
        inside: list[Group] = []
        for place, (owner, name) in enumerate(self._block_names()):
            inside += [(0, "BLOCK"), (5, self._handle()), (330, owner), (100, "AcDbEntity"), (8, "0"),
                       (100, "AcDbBlockBegin"), (2, name), (70, 1 if place > 1 else 0), (10, 0.0), (20, 0.0),
                       (30, 0.0), (3, name), (1, "")]  # fmt: skip
            if place > 1:
                inside += self._picture(self.plan.measures[place - 2], owner)
            inside += [(0, "ENDBLK"), (5, self._handle()), (330, owner), (100, "AcDbEntity"), (8, "0"),
                       (100, "AcDbBlockEnd")]  # fmt: skip
        yield from _section("BLOCKS", inside)

    def _entities(self) -> Iterator[Group]:
        inside: list[Group] = []
        for line in self.plan.lines:
            inside += self._line(line.layer, line.start, line.end, self.model)
        for arc in self.plan.arcs:
            inside += self._arc(arc)
        for number, measure in enumerate(self.plan.measures):
            inside += self._dimension(measure, f"*D{number + 1}")
        low = self.plan.blank.low
        below = min((one.at for one in self.plan.measures if one.axis == 0), default=low[1])
        for number, words in enumerate(self.plan.words):
            at = low[0], below - 14.0 - 1.8 * _LETTERS * number
            inside += self._text(TEXT, words, at, 0.0, self.model)
        yield from _section("ENTITIES", inside)

    def _entity(self, kind: str, layer: str, owner: str) -> list[Group]:
        return [(0, kind), (5, self._handle()), (330, owner), (100, "AcDbEntity"), (8, layer)]

    def _point(self, point: Point, code: int = 10) -> list[Group]:
        unit = self.plan.per_unit
        return [(code, point[0] / unit), (code + 10, point[1] / unit), (code + 20, 0.0)]

    def _line(self, layer: str, start: Point, end: Point, owner: str) -> list[Group]:
        return [
            *self._entity("LINE", layer, owner),
            (100, "AcDbLine"),
            *self._point(start),
            *self._point(end, 11),
        ]

    def _arc(self, arc: Arc) -> list[Group]:
        circle = [(100, "AcDbCircle"), *self._point(arc.center), (40, arc.radius / self.plan.per_unit)]
        entity = self._entity("CIRCLE" if arc.whole else "ARC", arc.layer, self.model)
        if arc.whole:
            return [*entity, *circle]
        return [*entity, *circle, (100, "AcDbArc"), (50, arc.first), (51, arc.last % 360.0)]

    def _text(self, layer: str, words: str, at: Point, angle: float, owner: str) -> list[Group]:
        height = _LETTERS / self.plan.per_unit
        return [*self._entity("TEXT", layer, owner), (100, "AcDbText"), *self._point(at), (40, height),
                (1, words), (50, angle), (7, "Standard"), (100, "AcDbText")]  # fmt: skip

    def _dimension(self, measure: Measure, block: str) -> list[Group]:
        start, end = _feet(measure)
        middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        length = abs(end[measure.axis] - start[measure.axis]) / self.plan.per_unit
        return [*self._entity("DIMENSION", DIMENSIONS, self.model), (100, "AcDbDimension"), (2, block),
                *self._point(end), *self._point(middle, 11), (70, 32), (1, measure.printed),
                (42, length), (3, "Standard"), (100, "AcDbAlignedDimension"), *self._point(measure.start, 13),
                *self._point(measure.end, 14), (50, 90.0 * measure.axis), (100, "AcDbRotatedDimension")]  # fmt: skip

    def _picture(self, measure: Measure, owner: str) -> list[Group]:
        """What shows a dimension in programs that do not draw them: its lines, ticks and number."""
        start, end = _feet(measure)
        lines = [(measure.start, start), (measure.end, end), (start, end)]
        lines += [((x - _TICK, y - _TICK), (x + _TICK, y + _TICK)) for x, y in (start, end)]
        found: list[Group] = []
        for one, other in lines:
            found += self._line("0", one, other, owner)
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        at = (x - 1.5, y) if measure.axis else (x, y + 1.5)
        return found + self._text("0", measure.printed, at, 90.0 * measure.axis, owner)

    def _objects(self) -> Iterator[Group]:
        """The dictionary that every file has, with an empty list of groups."""
        yield from _section(
            "OBJECTS",
            [
                (0, "DICTIONARY"), (5, self.root), (330, "0"), (100, "AcDbDictionary"), (281, 1),
                (3, "ACAD_GROUP"), (350, self.group),
                (0, "DICTIONARY"), (5, self.group), (330, self.root), (100, "AcDbDictionary"), (281, 1),
            ],
        )  # fmt: skip


def _section(name: str, inside: Sequence[Group]) -> Iterator[Group]:
    yield 0, "SECTION"
    yield 2, name
    yield from inside
    yield 0, "ENDSEC"


def _feet(measure: Measure) -> tuple[Point, Point]:
    """Where the extension lines meet the dimension line."""
    (u, v), (u1, v1) = measure.start, measure.end
    return ((u, measure.at), (u1, measure.at)) if measure.axis == 0 else ((measure.at, v), (measure.at, v1))
