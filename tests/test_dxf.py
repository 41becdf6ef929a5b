"""Parts as DXF and SVG at full size, and lists as CSV, read by readers of this file or of the standard library.

What a DXF has to have is from its published reference (from memory): sections, tables, unique handles, owners that are
there. Sizes are those of the quilting table, reckoned by hand.
"""

from __future__ import annotations

import csv
import io
from collections import Counter
from collections.abc import Iterator
from math import cos, radians, sin
from xml.etree import ElementTree

import numpy as np
import pytest

from addon.files.examples import EXAMPLES
from addon.files.table_file import parse_table
from addon.paper.shop.shop_set import drawing_files
from addon.shop.job import Job
from addon.shop.part_sheets import part_sheets
from tests.shop_jobs import unchecked_job

pytestmark = pytest.mark.once

Entity = dict[int, list[str]]

TEXTS = {
    "quilting": EXAMPLES["quilting"].text(),
    "bench": EXAMPLES["seed-bench"].text(),
    "mitered": EXAMPLES["quilting"].text().replace('corner_joint = "butted"', 'corner_joint = "mitered"'),
}


def _job(text: str) -> Job:
    return unchecked_job(parse_table(text, "table.toml"))


@pytest.fixture(scope="module", params=TEXTS)
def written(request: pytest.FixtureRequest) -> tuple[Job, dict[str, bytes]]:
    job = _job(TEXTS[request.param])
    return job, drawing_files(job)


@pytest.fixture(scope="module")
def quilting() -> tuple[Job, dict[str, bytes]]:
    job = _job(TEXTS["quilting"])
    return job, drawing_files(job)


# -- a reader of group codes


def _groups(data: bytes) -> list[tuple[int, str]]:
    lines = data.decode("ascii").split("\n")
    assert lines[-1] == ""
    return [(int(code), value) for code, value in zip(lines[:-1:2], lines[1::2], strict=True)]


def _sections(data: bytes) -> dict[str, list[tuple[int, str]]]:
    found: dict[str, list[tuple[int, str]]] = {}
    groups = _groups(data)
    assert groups[-1] == (0, "EOF")
    at = 0
    while groups[at] != (0, "EOF"):
        assert groups[at] == (0, "SECTION")
        stop = groups.index((0, "ENDSEC"), at)
        found[groups[at + 1][1]] = groups[at + 2 : stop]
        at = stop + 1
    return found


def _records(groups: list[tuple[int, str]]) -> Iterator[Entity]:
    """Each thing that begins with group 0, its groups by code; its kind is group 0."""
    found: Entity = {}
    for code, value in groups:
        if code == 0 and found:
            yield found
            found = {}
        found.setdefault(code, []).append(value)
    if found:
        yield found


def _entities(data: bytes, kind: str, layer: str | None = None) -> list[Entity]:
    return [
        one
        for one in _records(_sections(data)["ENTITIES"])
        if one[0] == [kind] and (layer is None or one[8] == [layer])
    ]


def _at(entity: Entity, code: int = 10) -> tuple[float, float]:
    return float(entity[code][0]), float(entity[code + 10][0])


def _drawings(files: dict[str, bytes], of: str = "part-") -> dict[str, bytes]:
    """Name without what it begins with → file, of parts or of templates."""
    found = [name for name in files if name.startswith(of) and name.endswith(".dxf")]
    return {name[len(of) : -len(".dxf")]: files[name] for name in found}


# -- the file


def test_sections_stand_in_their_order(written):
    for data in _drawings(written[1], "").values():
        assert list(_sections(data)) == ["HEADER", "CLASSES", "TABLES", "BLOCKS", "ENTITIES", "OBJECTS"]


def test_handles_are_unique_and_owners_are_there(written):
    for data in _drawings(written[1]).values():
        groups = _groups(data)
        seed = groups[groups.index((9, "$HANDSEED")) + 1][1]
        handles = [
            int(value, 16)
            for at, (code, value) in enumerate(groups)
            if code in (5, 105) and groups[at - 1] != (9, "$HANDSEED")
        ]
        assert len(set(handles)) == len(handles)
        assert max(handles) < int(seed, 16)
        owners = {int(value, 16) for code, value in groups if code in (330, 350)}
        assert owners <= {0, *handles}


def test_layers_and_blocks_that_are_used_are_declared(written):
    for data in _drawings(written[1]).values():
        sections = _sections(data)
        tables = list(_records(sections["TABLES"]))
        layers = {one[2][0] for one in tables if one[0] == ["LAYER"]}
        records = {one[2][0] for one in tables if one[0] == ["BLOCK_RECORD"]}
        blocks = {one[2][0] for one in _records(sections["BLOCKS"]) if one[0] == ["BLOCK"]}
        used = {one[8][0] for one in _records(sections["ENTITIES"])}
        assert used <= layers
        assert {"OUTLINE", "DIMENSION", "TEXT"} <= layers
        assert blocks == records
        assert {one[2][0] for one in _entities(data, "DIMENSION")} <= blocks


def test_the_unit_is_named(written):
    """`$INSUNITS` is 1 for inches and 4 for millimeters; `$MEASUREMENT` 0 and 1."""
    job, files = written
    for data in _drawings(files).values():
        groups = _groups(data)
        inch = job.units == "in"
        assert groups[groups.index((9, "$INSUNITS")) + 1] == (70, "1" if inch else "4")
        assert groups[groups.index((9, "$MEASUREMENT")) + 1] == (70, "0" if inch else "1")


def test_there_is_one_drawing_for_each_kind(written):
    job, files = written
    assert set(_drawings(files)) == {kind.first[0] for kind in job.kinds}


# -- what is drawn


def test_dimensions_measure_what_they_say(written):
    """Along its angle, from extension line to extension line, each dimension is as long as the model's."""
    job, files = written
    unit = 25.4 if job.units == "in" else 1.0
    for sheet in part_sheets(job):
        drawn = Counter(
            (one.span.axis, one.figure.printed, round(one.figure.value, 2))
            for one in sheet.entries
            if one.span is not None
        )
        found: Counter[tuple[int, str, float]] = Counter()
        for one in _entities(_drawings(files)[sheet.labels[0]], "DIMENSION"):
            turn = radians(float(one[50][0]))
            start, end = np.array(_at(one, 13)), np.array(_at(one, 14))
            length = abs(float((end - start) @ (cos(turn), sin(turn)))) * unit
            assert float(one[42][0]) * unit == pytest.approx(length, abs=1e-5)
            found[round(turn / radians(90)), one[1][0], round(length, 2)] += 1
        # A measured size is printed as measured; the model has it to 0.01 mm.
        assert {(axis, text) for axis, text, _ in found} == {(axis, text) for axis, text, _ in drawn}
        assert sorted(value for *_, value in found.elements()) == pytest.approx(
            sorted(value for *_, value in drawn.elements()), abs=0.02
        )
        assert len(list(found.elements())) >= 2


def test_outlines_are_as_long_and_wide_as_printed(written):
    job, files = written
    unit = 25.4 if job.units == "in" else 1.0
    for label, data in _drawings(files).items():
        lines = _entities(data, "LINE", "OUTLINE")
        points = np.array([_at(one, code) for one in lines for code in (10, 11)]) * unit
        size = job.assembly.by_label[label].shape.size[:2]
        assert points.max(axis=0) - points.min(axis=0) == pytest.approx(size, abs=1e-4)


def test_a_rib_segment_has_its_notch_with_one_round_corner(quilting):
    """R6: 370.5 from the start and down to 45.5 of 72.5, the corner round by 3 about (367.5, 48.5)."""
    data = _drawings(quilting[1])["R6"]
    (arc,) = _entities(data, "ARC", "WINDOW")
    assert _at(arc) == pytest.approx((367.5, 48.5))
    assert float(arc[40][0]) == pytest.approx(3.0)
    # From below to the right: three quarters of a turn to the whole.
    assert (float(arc[50][0]), float(arc[51][0])) == (270.0, 0.0)
    ends = {
        tuple(round(x, 3) for x in _at(one, code))
        for one in _entities(data, "LINE", "WINDOW")
        for code in (10, 11)
    }
    assert ends == {(0.0, 45.5), (367.5, 45.5), (370.5, 48.5), (370.5, 72.5)}


def test_a_slot_is_a_closed_line_with_four_arcs_and_chamfers_around_it(quilting):
    """S1's slot: 369 by 21 with corners of 3, chamfers of 3 on either face, whose corners are round by 6."""
    data = _drawings(quilting[1])["S1"]
    arcs, lines = _entities(data, "ARC", "SLOT"), _entities(data, "LINE", "SLOT")
    assert [float(arc[40][0]) for arc in arcs] == pytest.approx([3.0] * 4)
    ends: Counter[tuple[float, ...]] = Counter()
    for one in lines:
        ends.update(tuple(round(x, 3) + 0.0 for x in _at(one, code)) for code in (10, 11))
    for arc in arcs:
        center, radius = np.array(_at(arc)), float(arc[40][0])
        for code in (50, 51):
            turn = radians(float(arc[code][0]))
            ends[tuple((center + radius * np.array([cos(turn), sin(turn)])).round(3).tolist())] += 1
    assert set(ends.values()) == {2}
    points = np.array(list(ends))
    assert points.max(axis=0) - points.min(axis=0) == pytest.approx((369.0, 21.0))
    for face in ("FRONT", "BACK"):
        around = _entities(data, "ARC", f"CHAMFER_3_{face}")
        assert [float(arc[40][0]) for arc in around] == pytest.approx([6.0] * 4)


def test_holes_are_circles_and_grooves_say_how_deep_they_are(quilting):
    """A leaf's finger hole of 25, 35 from its outer end and in its middle; a side's groove is 6 deep in its front."""
    files = _drawings(quilting[1])
    (hole,) = _entities(files["L1"], "CIRCLE", "HOLE")
    assert (*_at(hole), float(hole[40][0])) == pytest.approx((35.0, 182.5, 12.5))
    heights = {round(_at(one)[1], 3) for one in _entities(files["S1"], "LINE", "GROOVE_6_FRONT")}
    assert {72.5, 84.5} <= heights


def test_inch_drawings_are_in_inches():
    job = _job(TEXTS["bench"])
    data = _drawings(drawing_files(job))["L1"]
    points = [_at(one, code) for one in _entities(data, "LINE", "OUTLINE") for code in (10, 11)]
    assert max(x for x, _ in points) == pytest.approx(job.assembly.by_label["L1"].shape.size[0] / 25.4)


# -- SVG


def test_templates_are_as_much_larger_than_the_cut_as_the_bushing_than_the_bit(quilting):
    """R-04: template = cut + (outer diameter - bit) where both sides are wood, half of that where one is.

    Corners of radius 3 ask for a bit of 6, which the smallest bushing of the drawer, 17, takes. A slot of 369 by 21 so
    has 380 by 32; a notch of 370.5 by 27 in a rib's corner 376 by 32.5.
    """
    drawings = _drawings(quilting[1], "template-")
    assert list(drawings) == ["1-slot-S1", "2-window-R1", "3-notch-R6"]
    for name, expected in (("1-slot-S1", (380.0, 32.0)), ("3-notch-R6", (376.0, 32.5))):
        lines = _entities(drawings[name], "LINE", "TEMPLATE")
        points = np.array([_at(one, code) for one in lines for code in (10, 11)])
        assert points.max(axis=0) - points.min(axis=0) == pytest.approx(expected, abs=1e-6)
        assert len(lines) == (4 if name.startswith("1") else 2)
        measured = {one[1][0]: float(one[42][0]) for one in _entities(drawings[name], "DIMENSION")}
        assert measured == {f"{size:g}": size for size in expected}


def test_a_template_is_closed_also_where_its_opening_runs_out_of_it(written):
    for name, data in _drawings(written[1], "template-").items():
        lines = [one for layer in ("OUTLINE", "TEMPLATE") for one in _entities(data, "LINE", layer)]
        ends = Counter(tuple(np.round(_at(one, code), 6)) for one in lines for code in (10, 11))
        assert set(ends.values()) == {2}, name
        svg = ElementTree.fromstring(written[1][f"template-{name}.svg"])
        assert [one.get("id") for one in svg if one.get("id")] == ["OUTLINE", "TEMPLATE", "TEXT"]


def test_an_svg_is_as_large_as_its_part_and_has_a_group_for_each_layer(written):
    """Read by an XML parser: user units are those of the file, with 10 mm around the part, 150 wide at least
    for the words below it."""
    job, files = written
    unit = 25.4 if job.units == "in" else 1.0
    space = "{http://www.w3.org/2000/svg}"
    for label, data in _drawings(files).items():
        root = ElementTree.fromstring(files[f"part-{label}.svg"].decode())
        assert root.tag == f"{space}svg"
        length = max(job.assembly.by_label[label].shape.size[0], 150.0)
        assert root.get("width") == f"{round((length + 20) / unit, 5):.10g}{job.units}"
        assert root.get("viewBox", "").split()[2] == root.get("width", "").removesuffix(job.units)
        groups = {one.get("id"): one for one in root.iter(f"{space}g")}
        layers = {one[8][0] for one in _records(_sections(data)["ENTITIES"])} - {"DIMENSION"}
        assert set(groups) == layers
        for layer, group in groups.items():
            arcs = sum(" A " in one.get("d", "") for one in group.iter(f"{space}path"))
            assert arcs == len(_entities(data, "ARC", layer))


def test_an_arc_of_the_svg_bulges_into_the_corner(quilting):
    """R6's notch is round by 3: from (367.5, 45.5) to (370.5, 48.5), counter-clockwise seen with v up."""
    root = ElementTree.fromstring(quilting[1]["part-R6.svg"].decode())
    space = "{http://www.w3.org/2000/svg}"
    window = next(one for one in root.iter(f"{space}g") if one.get("id") == "WINDOW")
    (path,) = [one.get("d", "") for one in window.iter(f"{space}path") if " A " in one.get("d", "")]
    numbers = [float(word) for word in path.replace("M", "").replace("A", "").split()]
    # With 10 mm around it the part's left end is at 10, its upper edge, 72.5, at 10.
    assert numbers == pytest.approx([377.5, 37.0, 3.0, 3.0, 0.0, 0.0, 0.0, 380.5, 34.0])


# -- lists


def test_the_cut_list_has_every_part_once(written):
    job, files = written
    rows = list(csv.DictReader(io.StringIO(files["cut-list.csv"].decode())))
    boards = [row for row in rows if row["name"] != "rim strip"]
    labels = [label for row in boards for label in row["labels"].split()]
    assert sorted(labels) == sorted(part.label for part in job.drawn.parts)
    assert all(int(row["count"]) == len(row["labels"].split()) for row in boards)
    sides = next(row for row in boards if "S1" in row["labels"].split())
    assert sides[f"thickness {job.units}"] == ("17.7" if job.units == "mm" else "23/32")


def test_hardware_is_a_list_of_its_own(written):
    rows = list(csv.DictReader(io.StringIO(written[1]["hardware.csv"].decode())))
    assert {"hardware", "count", "size", "amount", "for"} <= set(rows[0])
    assert any("glue" in row["hardware"] for row in rows)
