"""Parts of the maker's own: read from the file, built, checked, and followed through all papers.

Places are worked out by hand from the quilting table's: 1500 x 960 x 770 outside, of sheets of 17.7, so that the sides'
inner faces are at ±732.3 and ±462.3; the bottom panel is 11.8 thick, its upper face at 770 - 17.7 - 40 = 712.3. mm.
Volumes and clearances are those of manifold3d and fcl, general libraries for solids and for distances.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import manifold3d
import numpy as np
import pytest

from addon.check.apart.assembly_order import assembly_order
from addon.check.apart.blocking import blocking_of
from addon.check.prepared import prepare
from addon.check.progress import run_through
from addon.designs.table.build import build
from addon.designs.table.design import check
from addon.designs.table.parameters import Table
from addon.files.editing import update_text
from addon.files.examples import EXAMPLES
from addon.files.export import export
from addon.files.table_file import parse_table
from addon.files.writer import new_table_text
from addon.paper.exploded_page import exploded_page
from addon.paper.shop.part_sheet import pages
from addon.paper.shop.shop_set import MAKERS
from addon.reports.check import report_document
from addon.reports.steps import sentences_of, title_of
from addon.shop.cut_list import cut_list
from addon.shop.labels import tags
from addon.shop.part_sheets import part_sheets
from addon.sizes.errors import DryAssemblyError
from addon.wood.features import AngledHole, Bevel, EdgeTreatment, Groove, Hole, Opening, Taper
from addon.wood.meshes.mesh import mesh_of
from planted import broken, report_of
from tests.large import sampled
from tests.oracles import Exported, mesh_solid
from tests.shop_jobs import checked_job, drawn_legibly, unchecked_job

pytestmark = pytest.mark.once

QUILTING = EXAMPLES["quilting"].text()
README = (Path(__file__).parent.parent / "README.md").read_text(encoding="utf-8")

HOOK_BOARD = """
[[own_part]]
name = "hook board"
length = 300
width = 60
length_along = "+x"
width_along = "+z"
x = -150
z = 640
against = "front_outside"
joined_to = "S1 screw"

[[own_cut]]
part = "HB1"
kind = "hole"
along = 40
across = 30
diameter = 12
"""

SHELF = """
[[own_part]]
name = "shelf"
length = 250
width = 60
x = 308.65
y = 100
z = 641.9
joined_to = "R4 glue"
"""
"""Against R4, whose face is at 576.35 - 17.7 = 558.65. Its upper face is at 659.6, and L3 slides by with its lower
one at 651.6: 8.0 in its way."""

DIVIDER = """
[[own_part]]
name = "divider"
length = 60
width = 40
length_along = "+x"
width_along = "+z"
x = 100
y = -462.3
z = 629
joined_to = "S1 glue"
"""
"""From 100 to 160, across R3, which stands from 130.15 to 147.85 and up to the sides: below the ways of the leaves."""


def table_of(more: str) -> Table:
    return parse_table(QUILTING + more)


@cache
def hooked() -> Table:
    return table_of(HOOK_BOARD)


# -- into the file, and out of it
# ----------------------------------------------------------------------------------------------------

BOARD = """
[[own_part]]
name = "rest"
length = 400
width = 200
"""

CUTS = [
    ('kind = "opening"\nstart = 100\nstop = 160\nlower = 60\nupper = 100\ncorner_radius = 4\nfront_chamfer = 2\n'
     "back_chamfer = 1",
     Opening(100, 160, 60, 100, 4, 2, 1, kind="window")),
    ('kind = "notch"\nstart = 0\nstop = 50\nlower = 60\nupper = 100\nopen_end = "start"',
     Opening(0, 50, 60, 100, kind="notch", open_end="start")),
    ('kind = "notch"\nstart = 100\nstop = 150\nlower = 160\nupper = 200\nopen_above = true',
     Opening(100, 150, 160, 200, kind="notch", open_above=True)),
    ('kind = "groove"\nstart = 40\nstop = 300\nlower = 60\nupper = 72\ndepth = 6\nend_radius = 3',
     Groove(40, 300, 60, 72, 6, end_radius=3)),
    ('kind = "dado"\nstart = 40\nstop = 58\nlower = 0\nupper = 200\ndepth = 6\nface = "back"\nruns = "width"',
     Groove(40, 58, 0, 200, 6, "back", "dado", "v")),
    ('kind = "rabbet"\nstart = 0\nstop = 400\nlower = 0\nupper = 10\ndepth = 6',
     Groove(0, 400, 0, 10, 6, kind="rabbet")),
    ('kind = "hole"\nalong = 60\nacross = 50\ndiameter = 8\ndepth = 12\ncounterbore_diameter = 20\n'
     "counterbore_depth = 4",
     Hole(60, 50, 8, 12, counterbore_diameter=20, counterbore_depth=4)),
    ('kind = "hole"\nalong = 60\nacross = 50\ndiameter = 5\ncountersink_diameter = 10\ncountersink_angle = 82',
     Hole(60, 50, 5, countersink_diameter=10, countersink_angle=82)),
    ('kind = "angled_hole"\nedge = "start"\nalong = 80\ninset = 60\ndiameter = 9.5\ndepth = 50\nangle = 15\n'
     "pilot_diameter = 4\npilot_depth = 60",
     AngledHole(3, 80, 60, 9.5, 50, 15, pilot_diameter=4, pilot_depth=60)),
    ('kind = "chamfer"\nedge = "upper"\nsize = 3', EdgeTreatment(2, "front", "chamfer", 3)),
    ('kind = "round_over"\nedge = "lower"\nface = "back"\nsize = 5\nstart = 50\nstop = 350',
     EdgeTreatment(0, "back", "round-over", 5, 50, 350)),
    ('kind = "bevel"\nedge = "end"\nfront_inset = 0\nback_inset = 6', Bevel(1, 0, 6)),
    ('kind = "taper"\nedge = "1"\nlength = 200\namount = 5', Taper(1, "front", 200, 5)),
]  # fmt: skip


@pytest.mark.parametrize(("words", "feature"), CUTS, ids=lambda one: type(one).__name__)
def test_every_kind_of_cut_is_read_as_it_stands_and_written_back_equal(words: str, feature: object) -> None:
    table = table_of(f'{BOARD}\n[[own_cut]]\npart = "REST1"\n{words}\n')
    part = build(table).by_label["REST1"]
    assert part.shape.features == (feature,)
    assert parse_table(new_table_text(table)) == table


def test_a_volume_with_all_cuts_is_what_manifold_makes_of_its_pieces() -> None:
    """The mesh, the union of the convex pieces, and a board less its cuts, which fcl's kin manifold3d works out."""
    chosen = [CUTS[0][0], CUTS[3][0].replace("lower = 60\nupper = 72", "lower = 120\nupper = 132"),
              CUTS[6][0].replace("along = 60", "along = 350"), CUTS[9][0]]  # fmt: skip
    cuts = "".join(f'\n[[own_cut]]\npart = "REST1"\n{one}\n' for one in chosen)
    part = build(table_of(BOARD + cuts)).by_label["REST1"]
    assert len(part.shape.features) == 4
    surface = mesh_of(part.shape)
    solid = mesh_solid(surface.vertices, surface.triangles)
    union = Exported(build(table_of(BOARD + cuts))).solid("REST1")
    assert solid.volume() == pytest.approx(union.volume(), rel=1e-5)
    board = manifold3d.Manifold.cube((400.0, 200.0, 17.7))
    chamfer = manifold3d.Manifold.hull_points(
        np.array([(u, v, w) for u in (0.0, 400.0) for v, w in ((200.0, 0.0), (197.0, 0.0), (200.0, 3.0))])
    )
    drilled = [
        manifold3d.Manifold.cylinder(deep, r, circular_segments=512) for deep, r in ((12.0, 4.0), (4.0, 10.0))
    ]
    bored = (drilled[0] + drilled[1]).translate((350.0, 50.0, 0.0))
    left = board - chamfer - bored
    groove = 260 * 12 * 6 - 4 * (1 - np.pi / 4) * 9 * 6
    land = 60 * 40 - (4 - np.pi) * 16
    window = 0.0
    for size in (2.0, 1.0):  # a section is a quadratic in the depth, so that Simpson's rule is exact
        sections = [(60 + 2 * x) * (40 + 2 * x) - (4 - np.pi) * (4 + x) ** 2 for x in (0.0, size / 2, size)]
        window += size / 6 * (sections[0] + 4 * sections[1] + sections[2])
    window += land * (17.7 - 3.0)
    assert solid.volume() == pytest.approx(left.volume() - groove - window, rel=2e-4)


def test_clearance_beside_a_leafs_way_is_what_fcl_says() -> None:
    """A rest with a taper toward L3, 5 below its way at the thin end: a distance between faces askew to each other."""
    more = SHELF.replace("641.9", "628.9") + (
        '[[own_cut]]\npart = "SHEL1"\nkind = "taper"\nedge = "start"\nface = "back"\nlength = 200\namount = 6\n'
    )
    assembly = build(table_of(more))
    prepared, exported = prepare(assembly), Exported(assembly)
    (way,) = [one for one in exported.ways if one.leaf == "L3"]
    theirs = exported.clearances(way, 20.0)["SHEL1"]
    slides = prepared.slides([assembly.path_of("L3")], 20.0)[0]
    ours = min(float(one.clearance[prepared.number["SHEL1"]]) for one in slides)
    assert ours == pytest.approx(theirs, abs=1e-6)
    assert ours == pytest.approx(5.0, abs=1e-6)


REFUSED = [
    (BOARD + 'stock = "oak"\n', '"oak" names no entry'),
    (BOARD + 'joined_to = "S9"\n', "no other part is called 'S9'"),
    (BOARD + 'joined_to = "S1"\n', r"nothing of S1 \(front side\) is beside REST1"),
    (BOARD + 'joined_to = "B1 nails"\n', "'nails' holds no joint"),
    (BOARD + 'role = "leaf"\n', "the table makes its own parts of that role"),
    (BOARD.replace("width = 200", ""), "the board has no corners either"),
    (BOARD + 'width_along = "-x"\n', "length and width cross"),
    (BOARD + '[[own_cut]]\npart = "R1"\nkind = "hole"\n', "only parts of your own are cut so"),
    (BOARD + '[[own_cut]]\npart = "REST1"\nkind = "hole"\nalong = 9\nacross = 9\n', "a hole needs one"),
    (BOARD + '[[own_cut]]\npart = "REST1"\nkind = "hole"\nalong = 9\nacross = 9\ndiameter = 5\nsize = 3\n',
     "own_cut.0..size"),
    (BOARD + '[[own_cut]]\npart = "REST1"\nkind = "hole"\nalong = 450\nacross = 9\ndiameter = 5\n',
     "there the board ends"),
    (BOARD + '[[own_cut]]\npart = "REST1"\nkind = "hole"\nalong = 398\nacross = 90\ndiameter = 8\n', "REST1: "),
    (BOARD + '[[own_cut]]\npart = "REST1"\nkind = "chamfer"\nedge = "top"\nsize = 3\n', "no such edge"),
]  # fmt: skip


@pytest.mark.parametrize(("more", "words"), REFUSED, ids=lambda one: one[:30])
def test_what_cannot_be_is_refused_in_one_sentence(more: str, words: str) -> None:
    with pytest.raises(DryAssemblyError, match=words) as refused:
        build(table_of(more))
    assert str(refused.value).endswith(".")
    assert ". " not in str(refused.value).replace("table file: ", "")


def test_an_outline_may_be_given_either_way_round() -> None:
    corners = ["0, 0", "300, 0", "300, 80", "120, 80", "120, 200", "0, 200"]
    made = []
    for order in (corners, corners[::-1]):
        entry = f'[[own_part]]\nname = "rest"\ncorners = [{", ".join(order)}]\n'
        made.append(build(table_of(entry)).by_label["REST1"])
    assert made[0].shape.outline == made[1].shape.outline
    assert mesh_of(made[0].shape).volume == pytest.approx((300 * 80 + 120 * 120) * 17.7)


# -- one of a new role, everywhere
# ----------------------------------------------------------------------------------------------------


def test_it_stands_where_the_file_says_and_disturbs_nothing() -> None:
    """Against the front side's outer face, at y = -480, it reaches 17.7 farther."""
    assembly = build(hooked())
    part = assembly.by_label["HB1"]
    np.testing.assert_allclose(part.box, [[-150, -497.7, 640], [150, -480, 700]], atol=1e-9)
    (joint,) = [one for one in assembly.joints if one.a == "HB1"]
    assert (joint.b, joint.kind, joint.fastening) == ("S1", "face", "screw")
    drawn = build(parse_table(QUILTING))
    assert [one.label for one in assembly.parts if one.label != "HB1"] == [one.label for one in drawn.parts]
    assert check(hooked()).verdict == "clear"


def test_it_goes_through_steps_exploded_view_export_and_json(tmp_path) -> None:
    assembly = build(hooked())
    order = assembly_order(assembly)
    (number,) = [k for k, step in enumerate(order.steps) if any("HB1" in one.parts for one in step.arrivals)]
    assert title_of(assembly, order.steps[number]) == "Hook board"
    words = " ".join(sentences_of(assembly, order, number, blocking_of(assembly.parts), "mm"))
    assert "HB1" in words
    page = run_through(exploded_page(assembly, labels=True))
    assert page.explosion.proven
    assert page.explosion.offset_at("HB1", 1.0)[1] < -1.0  # out to the front: the side is behind it
    export(assembly, tmp_path)
    assert (tmp_path / "HB1.stl").stat().st_size > 1000
    assert report_document(check(hooked()))["verdict"] == "clear"


def test_it_is_in_the_shop_set() -> None:
    """Cut list, part sheet, label and pages, with the sizes as the file has them."""
    job = unchecked_job(hooked())
    (line,) = [one for stock in cut_list(job) for one in stock.lines if "HB1" in one.labels]
    assert [one.printed for one in (line.length, line.width)] == ["300", "60"]
    (sheet,) = [one for one in part_sheets(job) if "HB1" in one.labels]
    assert any("12" in entry.figure.printed for entry in sheet.entries)
    assert "HB1" in {tag.label for tag in tags(job)}
    (page,) = [one for one in pages(job) if "HB1" in one.parts]
    drawn_legibly(page, job)


QUILT_REST = """
[[own_part]]
name = "left rest"
role = "quilt rest"
length = 200
width = 50
width_along = "+z"
x = -100
z = 640
against = "back"
joined_to = "S2 glue"

[[own_cut]]
part = "QR1"
kind = "hole"
along = 100
across = 25
diameter = 12
"""


def test_a_part_of_a_new_role_goes_from_the_file_through_everything() -> None:
    """From its text to check, steps, exploded view, cut list, part sheet and every page of the shop set that has to
    name it; what stands in a leaf's way is found. Between ribs R2 and R3 and behind R17 no leaf passes."""
    table = parse_table(QUILTING + QUILT_REST)
    assembly = build(table)
    (part,) = [one for one in assembly.parts if one.role.one == "quilt rest"]
    assert (part.label, part.name, part.role.many) == ("QR1", "left rest", "quilt rests")
    np.testing.assert_allclose(part.box, [[-100, 444.6, 640], [100, 462.3, 690]], atol=1e-9)
    report = check(table)
    assert (report.verdict, report.findings) == ("clear", ())
    lower = parse_table(QUILTING + QUILT_REST.replace("x = -100", "x = 250"))
    (found,) = [one for one in check(lower).findings if one.rule == "leaf-blocked"]
    assert "QR1" in found.parts
    order = assembly_order(assembly)
    (number,) = [k for k, step in enumerate(order.steps) if any("QR1" in one.parts for one in step.arrivals)]
    assert title_of(assembly, order.steps[number]) == "Left rest"
    explosion = run_through(exploded_page(assembly, labels=True)).explosion
    assert explosion.proven
    assert np.abs(explosion.offset_at("QR1", 1.0)).max() > 1.0
    job = checked_job(table)
    (line,) = [one for stock in cut_list(job) for one in stock.lines if "QR1" in one.labels]
    assert [one.printed for one in (line.length, line.width)] == ["200", "50"]
    (sheet,) = [one for one in part_sheets(job) if "QR1" in one.labels]
    assert {"100", "25", "12"} <= {entry.figure.printed for entry in sheet.entries}
    made = [page for kind, maker in MAKERS if kind in IN_THE_SET for page in maker(job)]
    kinds = {page.kind for page in made if "QR1" in page.parts}
    assert kinds == IN_THE_SET
    for page in made:
        if "QR1" in page.parts and page.kind in ("part-sheet", "layout"):
            assert "QR1" in " ".join(text.text for text, _ in drawn_legibly(page, job).texts()), page.title


IN_THE_SET = {"drawing", "sheets", "cut-list", "part-sheet", "layout", "steps"}


def test_the_readme_shows_one_that_can_be_built() -> None:
    text = README.split("A board of your own is one entry more")[1].split("## Reference")[0]
    shown = "\n".join(line[4:] for line in text.splitlines() if line.startswith("    "))
    assert shown.count("[[own_part]]") == shown.count("[[own_cut]]") == 1
    table = table_of("\n" + shown + "\n")
    part = build(table).by_label["HB1"]
    assert [one.diameter for one in part.shape.holes] == [12.0]
    assert check(table).findings == ()


# -- what is found about it
# ----------------------------------------------------------------------------------------------------


PLANTED = [
    (SHELF, [("leaf-blocked", ("SHEL1", "L3"), 8.0)]),
    (DIVIDER, [("overlap", ("R3", "DIVI1"), None)]),
    (SHELF + DIVIDER, [("leaf-blocked", ("SHEL1", "L3"), 8.0), ("overlap", ("R3", "DIVI1"), None)]),
]  # fmt: skip


@pytest.mark.parametrize(
    ("more", "rules"),
    sampled(PLANTED[2:], PLANTED),
    ids=lambda one: f"{len(one)}" if isinstance(one, list) else "",
)
def test_planted_faults_are_found_once_and_their_remedies_hold(more: str, rules: list) -> None:
    report = report_of(QUILTING + more, remedies=True)
    assert sorted((one.rule, one.parts) for one in report.findings) == sorted(one[:2] for one in rules)
    for rule, _, amount in rules:
        (finding,) = [one for one in report.findings if one.rule == rule]
        assert amount is None or finding.amount == pytest.approx(amount, abs=1e-9)
        assert any(remedy.set for remedy in finding.remedies)
    assert list(broken(QUILTING + more, report)) == []
    text = QUILTING + more
    for finding in report.findings:
        text = update_text(text, {one.key: one.value for one in finding.remedies[0].set})
    assert check(parse_table(text)).findings == ()


def test_what_nothing_holds_is_told_and_joined_to_what_is_next_to_it() -> None:
    """The shelf, 9 lower and 58.65 farther left: that far from R4, and 91.15 from R13, which ends at y = 8.85."""
    more = SHELF.replace("641.9", "632.9").replace("308.65", "250").replace('joined_to = "R4 glue"\n', "")
    report = check(table_of(more), remedies=True)
    (finding,) = report.findings
    assert (finding.rule, finding.severity, finding.parts) == ("part-unheld", "warning", ("SHEL1",))
    assert finding.message == "SHEL1 (shelf) is joined to nothing and lies on nothing."
    text = update_text(QUILTING + more, {one.key: one.value for one in finding.remedies[0].set})
    mended = parse_table(text)
    assert (mended.own_part[0].x, mended.own_part[0].joined_to) == (pytest.approx(308.65), "R4 glue")
    assert check(mended).findings == ()
    assert check(table_of(BOARD)).findings == ()  # it lies on the bottom panel


def test_what_the_table_makes_gives_way() -> None:
    """A board where GUIDE2 would stand beside L1's way: the guide is left out, and nothing overlaps."""
    drawn = build(parse_table(QUILTING))
    low, high = drawn.by_label["GUIDE2"].box
    more = f"""
[[own_part]]
name = "tray rest"
length = 100
width = 15
length_along = "+y"
width_along = "+x"
x = {low[0]:g}
y = {(low[1] + high[1]) / 2:g}
z = 675
"""
    assembly = build(table_of(more))
    guides = [
        [round(float(at), 3) for at in one.box[0]] for one in assembly.parts if one.role.word == "guide"
    ]
    assert [round(float(at), 3) for at in low] not in guides
    assert len(guides) == sum(one.role.word == "guide" for one in drawn.parts) - 1
    assert not [one for one in check(table_of(more)).findings if one.rule == "overlap"]
