"""Variants side by side: volumes and bounds by manifold3d 3.5.4, units of NIST SP 811."""

from __future__ import annotations

import itertools
import json
from pathlib import Path

import numpy as np
import pytest

from addon.command_line.main import main
from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.figures import figures_of, mass, room_below
from addon.files.editing import set_values
from addon.files.examples import EXAMPLES
from addon.paper.sheet.sheet import A4, Sheet
from addon.paper.variants_page import side_by_side_picture
from addon.reports.variants import comparison_document, differences, variants_of
from addon.sizes.errors import DryAssemblyError, ExportError
from addon.wood.meshes.mesh import mesh_of
from tests.shape_bench import as_manifold

pytestmark = pytest.mark.usefixtures("worked_out_once")

WIDE = "Wide legs: legs.width=80"
DEEP = "Deep well: well.depth=60, legs.width=80"


@pytest.fixture(scope="module")
def quilting():
    return EXAMPLES["quilting"].table()


@pytest.fixture(scope="module")
def variants(quilting):
    return variants_of(quilting, [WIDE, DEEP])


def lowest(part) -> float:
    """Height of the part's lowest point, mm: its solid by manifold3d, turned and moved to its place."""
    placed = np.column_stack([part.placement.axes.T, part.placement.origin])
    return as_manifold(mesh_of(part.shape)).transform(placed).bounding_box()[2]


@pytest.mark.parametrize("example", EXAMPLES)
def test_mass_and_room_below_are_those_of_the_solids(example) -> None:
    assembly = build(EXAMPLES[example].table())
    kilograms = sum(
        as_manifold(mesh_of(part.shape)).volume() * part.stock.density * 1e-9 for part in assembly.parts
    )
    assert mass(assembly) == pytest.approx(kilograms, rel=1e-6)
    heights = [lowest(part) for part in assembly.parts if not part.role.stands_on_floor]
    assert room_below(assembly) == pytest.approx(min(heights), abs=1e-3)


def test_figures_are_those_of_the_check_and_of_the_boards(quilting) -> None:
    assembly = build(quilting)
    found = {figure.name: figure.value for figure in figures_of(quilting, assembly)}
    report = check(quilting)
    assert found["Verdict of the check"] == report.verdict
    assert found["Smallest clearance"] == min(leaf.clearance for leaf in report.leaves)
    areas = {}
    for part in assembly.parts:
        # The bounding box of a board in its own frame, ends mitered or not.
        length, width, _ = np.ptp(mesh_of(part.shape).vertices, axis=0)
        areas[part.stock.name] = areas.get(part.stock.name, 0.0) + length * width / 1e6
    boards = {
        name.removesuffix(", net area"): area for name, area in found.items() if name.endswith(", net area")
    }
    assert boards == pytest.approx(areas, rel=1e-9)


def test_variants_are_the_table_with_the_changes(quilting, variants) -> None:
    assert [variant.name for variant in variants] == ["As it is", "Wide legs", "Deep well"]
    assert variants[0].table == quilting
    assert variants[2].table == set_values(quilting, {"well.depth": 60.0, "legs.width": 80.0})


def test_only_what_differs_is_listed_and_all_of_it(variants) -> None:
    rows = differences(variants)
    assert all(len(set(row.values)) > 1 for row in rows)
    assert {row.key: row.values for row in rows if row.key} == {
        "legs.width": ("60 mm", "80 mm", "80 mm"),
        "well.depth": ("40 mm", "40 mm", "60 mm"),
    }
    named = {row.name: row.values for row in rows if not row.key}
    # The well is deeper by 20 mm, and so is the body below the leaves.
    below = [float(value.removesuffix(" mm")) for value in named["Knee clearance"]]
    assert below[0] == below[1] == pytest.approx(below[2] + 20.0)
    assert "Verdict of the check" not in named, "all are clear"


def test_entries_that_only_one_variant_has(quilting) -> None:
    longer = (
        "Long rib: as_cut[0].part=R3, as_cut[0].dimension=length, as_cut[0].deviation=4, as_cut[0].end=end"
    )
    rows = differences(variants_of(quilting, [longer]))
    assert {row.key: row.values for row in rows if row.key} == {
        "as_cut[0].part": ("–", "R3"),
        "as_cut[0].dimension": ("–", "length"),
        "as_cut[0].deviation": ("–", "4 mm"),
        "as_cut[0].end": ("–", "end"),
    }
    assert {row.name: row.values for row in rows}["Verdict of the check"] == ("clear", "blocked")


def test_inches_are_those_of_the_table() -> None:
    """3 1/2 in is 88.9 mm exactly (NIST SP 811, appendix B)."""
    table = EXAMPLES["seed-bench"].table()
    for value in ("3 1/2", '"3-1/2"', "3.5", "88.9 mm"):
        (_, variant) = variants_of(table, [f"legs.width={value}"])
        assert variant.table.legs.width == pytest.approx(88.9, abs=1e-12)
        assert variant.name == f"legs.width={value}"
    rows = {row.key: row.values for row in differences(variants_of(table, ["legs.width=3.5"]))}
    assert rows["legs.width"][1] == "3 1/2 in"


@pytest.mark.parametrize(
    ("texts", "sentence"),
    [
        ([], "0 variants cannot stand beside the table"),
        ([WIDE] * 4, "4 variants cannot stand beside the table"),
        (["Wide legs"], "'Wide legs' is no variant"),
        (["a: legs.width="], "is no variant"),
        (["legs.breadth=80"], r"legs\.breadth"),
        (["legs.width=wide"], r"legs\.width"),
        (["legs.width=-3"], r"legs\.width"),
        (["legs.fitted=3"], r"legs\.fitted"),
    ],
)
def test_what_is_no_variant_is_refused(quilting, texts, sentence) -> None:
    with pytest.raises(DryAssemblyError, match=sentence):
        variants_of(quilting, texts)


@pytest.mark.parametrize("sheet", [None, A4])
@pytest.mark.parametrize("number", [2, 3, 4])
def test_all_stand_at_one_scale_on_one_floor(quilting, number, sheet) -> None:
    """The lines of each variant are those of its own picture, shifted, and shrunk as the title block says."""
    texts = [WIDE, DEEP, "Low: table.height=700"][: number - 1]
    variants = variants_of(quilting, texts)
    drawing = side_by_side_picture(variants, date="2031-05-17", view="front", sheet=sheet)
    words = [item.text for item, _ in drawing.texts()]
    parts = next(int(word[2:]) for word in words if word.startswith("1:"))
    paths = [np.concatenate(item.paths) for item in drawing.named("outlines")]
    assert len(paths) == number
    for variant, path in zip(variants, paths, strict=True):
        size = variant.table.table.length, variant.table.table.height
        assert np.ptp(path, axis=0) * parts == pytest.approx(size, abs=1e-6)
    assert np.ptp([path[:, 1].min() for path in paths]) == pytest.approx(0.0, abs=1e-9)
    left, bottom, right, top = Sheet("", drawing.width, drawing.height).frame
    for one, other in itertools.pairwise(paths):
        assert one[:, 0].max() < other[:, 0].min()
    everything = np.concatenate(paths)
    assert (everything > (left, bottom)).all()
    assert (everything < (right, top)).all()


def test_lettering_stays_in_its_column_and_says_every_figure(variants) -> None:
    drawing = side_by_side_picture(variants, date="2031-05-17")
    figures = [item.text for item, _ in drawing.texts() if item.name == "figure"]
    rows = differences(variants)
    assert figures == [row.values[number] for number in range(3) for row in rows]
    assert [item.text for item, _ in drawing.texts() if item.name == "variant"] == [
        one.name for one in variants
    ]
    boxes = [box for item, box in drawing.texts() if item.name in ("figure", "variant")]
    left, bottom, right, top = Sheet("", drawing.width, drawing.height).frame
    width = (right - left) / 3
    for x0, y0, x1, y1 in boxes:
        assert int((x0 - left) / width) == int((x1 - left) / width)
        assert bottom < y0 < y1 < top


def test_long_names_of_figures_stand_above_their_values(quilting) -> None:
    texts = [WIDE, DEEP, "Narrow: table.width=900"]
    rows = differences(variants_of(quilting, texts))
    drawing = side_by_side_picture(variants_of(quilting, texts), date="2031-05-17", sheet=A4)
    drawn = [(item.text, box) for item, box in drawing.texts()]
    for row in rows:
        assert len([word for word, _ in drawn if word == row.name]) == 4, row.name
    boxes = [box for word, box in drawn if word in {row.name for row in rows}]
    boxes += [box for item, box in drawing.texts() if item.name == "figure"]
    for one, other in itertools.combinations(boxes, 2):
        assert one[2] <= other[0] or other[2] <= one[0] or one[3] <= other[1] or other[3] <= one[1]


def test_too_many_figures_are_counted(quilting) -> None:
    keys = ["window_width", "window_height", "window_offset", "window_sill", "length", "width", "thickness"]
    texts = [
        f"as_cut[{n}].part={part}, as_cut[{n}].dimension={key}, as_cut[{n}].deviation=0.1"
        for n, (part, key) in enumerate((part, key) for part in ("R2", "R3") for key in keys)
    ]
    variants = variants_of(quilting, ["Cut: " + ", ".join(texts)])
    rows = differences(variants)
    drawing = side_by_side_picture(variants, date="", sheet=A4)
    shown = len([item for item, _ in drawing.texts() if item.name == "figure"]) // 2
    assert shown < len(rows)
    assert f"and {len(rows) - shown} more figures that differ" in [item.text for item, _ in drawing.texts()]


def test_what_is_too_large_is_refused(quilting) -> None:
    huge = variants_of(quilting, [WIDE, DEEP])
    with pytest.raises(ExportError, match="too large for one sheet"):
        side_by_side_picture(huge, date="", sheet=Sheet("A9", 60.0, 90.0))


def test_command(tmp_path: Path, capsys) -> None:
    table, image = tmp_path / "table.toml", tmp_path / "beside.svg"
    assert main(["new", str(table)]) == 0
    capsys.readouterr()
    arguments = ["compare", str(table), "--variant", WIDE, "--variant", DEEP, "--image", str(image)]
    assert main([*arguments, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document == comparison_document(variants_of(EXAMPLES["quilting"].table(), [WIDE, DEEP]))
    assert "Deep well" in image.read_text(encoding="utf-8")
    assert main(arguments) == 0
    assert "Legs: width" in capsys.readouterr().out
    image.unlink()
    assert main(["compare", str(table), "--variant", "x=1", "--image", str(image)]) == 2
    assert "x" in capsys.readouterr().err
    assert not image.exists()
