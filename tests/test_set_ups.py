"""Set-ups: arithmetic of templates, fences and bearings against written sources, and pages that a maker can read."""

from __future__ import annotations

from dataclasses import replace
from math import pi, sqrt

import numpy as np
import pytest

from addon.paper.sheet import Drawing
from addon.paper.shop import set_ups as pages_of_set_ups
from addon.paper.shop.page import area_of
from addon.paper.shop.set_up_page import LARGE
from addon.shop.boards import sawn_stocks
from addon.shop.cut_list import cut_list
from addon.shop.job import Job
from addon.shop.labels import tags
from addon.shop.router import (
    Pair,
    beside_fence,
    chamfer_face,
    fence_settings,
    passes,
    short_in_corner,
)
from addon.shop.saw import SawSettings
from addon.shop.set_ups import (
    cuts_of,
    edge_cuts,
    groove_bit,
    grooves_of,
    pairs_of,
    patterns,
    spacer,
    straightedge,
    template,
)
from random_tables import sound_table
from tests.page_checks import outside, overlaps, too_small
from tests.shop_jobs import job_of, unchecked_job
from tests.test_cut_list import JOBS

pytestmark = pytest.mark.once

INCH = 25.4


@pytest.fixture(scope="module")
def quilting() -> Job:
    return job_of("quilting")


# -- bushings and templates


def test_offset_is_half_of_what_the_bushing_is_thicker():
    # woodworking.stackexchange.com/questions/7205: 3/4 in bushing, 1/2 in bit: 1/8 in.
    assert Pair(0.75 * INCH, 0.5 * INCH).offset == pytest.approx(INCH / 8)
    # ukworkshop.co.uk, "calculating guide bush sizes": 9 mm cutter in a 15 mm bushing: 3 mm.
    assert Pair(15.0, 9.0).offset == 3.0


@pytest.mark.parametrize(
    ("bushing", "bit", "offset", "add"),
    [
        # The same rule applied by hand, in inches.
        (5 / 8, 3 / 8, 1 / 8, 1 / 4),
        (5 / 8, 1 / 2, 1 / 16, 1 / 8),
        (5 / 16, 1 / 4, 1 / 32, 1 / 16),
        (7 / 16, 1 / 4, 3 / 32, 3 / 16),
        (1 / 2, 1 / 4, 1 / 8, 1 / 4),
        (51 / 64, 1 / 2, 19 / 128, 19 / 64),
        (1, 1 / 2, 1 / 4, 1 / 2),
        # In millimeters.
        (17 / INCH, 8 / INCH, 4.5 / INCH, 9 / INCH),
        (24 / INCH, 12 / INCH, 6 / INCH, 12 / INCH),
        (27 / INCH, 10 / INCH, 8.5 / INCH, 17 / INCH),
        (30 / INCH, 12 / INCH, 9 / INCH, 18 / INCH),
        (30 / INCH, 12.7 / INCH, 8.65 / INCH, 17.3 / INCH),
    ],
)
def test_offsets_and_what_they_add(bushing, bit, offset, add):
    pair = Pair(bushing * INCH, bit * INCH)
    assert pair.fits
    assert (pair.offset, pair.add) == pytest.approx((offset * INCH, add * INCH))


def test_template_of_an_opening_is_larger():
    # ukworkshop.co.uk, as above: template hole - bushing + cutter = hole. A 6 in hole, 1/4 in bit, 5/16 in bushing: by
    # that rule 6 1/16 in.
    assert Pair(5 / 16 * INCH, INCH / 4).inside(6 * INCH) == pytest.approx((6 + 1 / 16) * INCH)
    # A cut that runs out of the board has one wall, and half of it.
    assert Pair(24.0, 12.0).inside(300.0, 1) == 306.0


def test_corner_radius_of_the_work():
    # Geometry: a square or tight inside corner of the template leaves the bit's own radius; one of 20 with a bushing of
    # 24 and a bit of 12 leaves 20 - 6.
    pair = Pair(24.0, 12.0)
    assert pair.corner() == 6.0
    assert pair.corner(12.0) == 6.0
    assert pair.corner(20.0) == 14.0


def test_bits_that_do_not_pass_through_their_bushing():
    assert not Pair(12.0, 12.0).fits
    assert not Pair(12.0, 11.0).fits  # a wall and air of 0.75 mm a side at least (common practice, no source)
    assert not Pair(10.0, 12.7).fits
    assert Pair(12.0, 10.0).fits


def test_pairs_that_cannot_cut_a_slot_say_why(quilting):
    slot = cuts_of(quilting)[0]
    assert (slot.name, slot.labels) == ("slot", ("S1", "S2", "S3", "S4"))
    assert slot.lacks(Pair(17.0, 6.0)) == ""  # corner radius 3 asked for, as a 6 mm bit leaves
    assert "rounder" in slot.lacks(Pair(17.0, 8.0))  # leaves 4
    assert "narrower than the bit" in slot.lacks(Pair(40.0, 25.0))  # slots are 21 high
    assert "does not pass" in slot.lacks(Pair(17.0, 16.5))
    loose = replace(slot, radius=None)
    assert loose.lacks(Pair(17.0, 8.0)) == ""  # square corners are chiseled, whatever bit cut them


def test_templates_of_the_quilting_table(quilting):
    # 17 mm bushing, 6 mm bit: 11 more each way; a notch has one wall each way: 5.5 more.
    for cut in cuts_of(quilting):
        found = template(quilting, cut)
        assert found.pair == Pair(17.0, 6.0)
        more = 11.0 if cut.walls == (2, 2) else 5.5
        assert found.length.value == pytest.approx(cut.width.value + more)
        assert found.spacer.value == pytest.approx(cut.height.value + more)
        assert found.spacer.printed == f"{found.spacer.value:g}"
    assert {cut.name for cut in cuts_of(quilting)} == {"slot", "window", "notch"}


def test_the_thickest_bit_that_leaves_the_corners_and_its_smallest_bushing():
    job = job_of("quilting", bushings=(30.0, 24.0, 10.0), bits=(3.0, 5.0, 8.0))
    found = template(job, cuts_of(job)[0])
    assert found.pair == Pair(10.0, 5.0)
    assert found.bit_at_hand
    # Corners of 3 ask for a bit of 6 that is not there; a bushing of 6 takes none.
    thick = job_of("quilting", bushings=(30.0,), bits=(8.0, 12.0))
    lacking = template(thick, cuts_of(thick)[0])
    assert (lacking.pair, lacking.bit_at_hand) == (Pair(30.0, 6.0), False)
    none = job_of("quilting", bushings=(6.0,), bits=(8.0, 12.0))
    assert template(none, cuts_of(none)[0]) is None


def job_with(**sections: dict[str, object]) -> Job:
    """The quilting table with other parameters."""
    table = job_of("quilting").table
    table = replace(table, **{name: replace(getattr(table, name), **to) for name, to in sections.items()})
    return unchecked_job(table)


WORKED = {"leaves": {"rim_height": 6.0, "tray_depth": 4.0, "pull_length": 80.0, "finger_hole": 0.0}}


def test_recesses_are_as_deep_as_in_the_bare_board_before_the_rim_is_glued_on():
    job = job_with(**WORKED)
    depths = {cut.name: (cut.depth, cut.through) for cut in cuts_of(job)}
    # Tray 4 deep, pull 8 deep (the default), as they are entered; slots through 17.7.
    assert depths["tray recess"] == (pytest.approx(4.0), False)
    assert depths["pull recess"] == (pytest.approx(8.0), False)
    assert depths["slot"] == (pytest.approx(17.7), True)
    rims = [one for one in SawSettings(job).fences if "RIM1" in one.labels]
    # Two long and two short strips a leaf, 20 wide (the default), sawn flat, then on edge to 6.
    labels = tuple(f"RIM{number}" for number in range(1, 17))
    assert [(one.setting.printed, one.count) for one in rims] == [("20", 16), ("6", 16)]
    assert {tuple(sorted(one.labels)) for one in rims} == {tuple(sorted(labels))}
    assert {tag.name for tag in tags(job) if tag.label in labels} == {"rim strip"}
    sheets = {label for stock in sawn_stocks(job) for sheet in stock.sheets for label in sheet.labels}
    assert sheets == {label for stock in cut_list(job) for line in stock.lines for label in line.labels}
    check_pages(job)


def test_a_second_pass_that_the_rule_does_not_show_is_left_to_the_test_piece():
    job = job_of("quilting", bits=(6.0, 11.9))
    (short,) = [groove for groove in grooves_of(job) if groove.labels == ("S3", "S4")]
    assert short.bit == 11.9
    assert [one.printed for one in short.settings] == ["72.5"]


def test_drawers_of_which_nothing_is_said():
    # As the panel says of them: 17, 24 and 30 mm with 6, 8 and 12 mm, or 5/8, 3/4 and 1 in with 1/4, 3/8 and 1/2 in.
    mm = {(pair.bushing, pair.bit) for pair in pairs_of(job_of("quilting"))}
    assert mm == {(a, b) for a in (17.0, 24.0, 30.0) for b in (6.0, 8.0, 12.0)}
    inch = {
        (round(pair.bushing / INCH, 9), round(pair.bit / INCH, 9)) for pair in pairs_of(job_of("seed-bench"))
    }
    assert inch == {(a, b) for a in (0.625, 0.75, 1.0) for b in (0.25, 0.375, 0.5)}


# -- straightedge, fence and passes


def test_base_along_a_straightedge(quilting):
    # Geometry: the axis of the bit is as far from the fence as from the base's edge; 75 mm, bit of 12: 69 and 81.
    assert beside_fence(75.0, 12.0) == (69.0, 81.0)
    shown = {bit: (near.printed, far.printed) for bit, near, far in straightedge(quilting)}
    assert shown == {6.0: ("72", "78"), 8.0: ("71", "79"), 12.0: ("69", "81")}


def test_fence_moves_away_from_the_bit_pass_by_pass():
    # By hand: a groove 72.5 above the edge, 12 wide. With a bit of 12 one pass; of 6 two, the second 6 farther; of 5
    # three evenly: its far wall ends at 84.5 each time.
    assert fence_settings(72.5, 12.0, 12.0) == (72.5,)
    assert fence_settings(72.5, 12.0, 6.0) == (72.5, 78.5)
    assert fence_settings(72.5, 12.0, 5.0) == (72.5, 76.0, 79.5)
    for bit in (3.0, 4.0, 5.0, 6.35, 8.0, 12.0):
        settings = fence_settings(72.5, 12.0, bit)
        assert settings[-1] + bit == pytest.approx(84.5)
        assert list(settings) == sorted(settings)
        assert (np.diff(settings) <= bit + 1e-9).all()


def test_passes_by_depth():
    # 17.7 deep at 6 a pass: three passes; 6 at 6: one; 6.5 at 6: two.
    assert passes(17.7, 6.0) == (6.0, 12.0, 17.7)
    assert passes(6.0, 6.0) == (6.0,)
    assert passes(6.5, 6.0) == (6.0, 6.5)


def test_grooves_of_the_quilting_table(quilting):
    long, short = grooves_of(quilting)
    assert (long.labels, short.labels) == (("S1", "S2"), ("S3", "S4"))
    assert long.edge == short.edge == "lower edge"
    # The long sides' grooves stop in round ends of 3: a bit of 6, two passes; the others run out: 12 in one pass.
    assert (long.bit, short.bit) == (6.0, 12.0)
    assert [one.printed for one in long.settings] == ["72.5", "78.5"]
    assert [one.printed for one in short.settings] == ["72.5"]
    assert [one.printed for one in long.depths] == ["6"]
    assert len(long.ends) == 2
    assert short.ends == ()


def test_bit_of_a_groove():
    assert groove_bit((6.0, 8.0, 12.0), 11.8, 0.0) == 8.0
    assert groove_bit((6.0, 8.0, 12.0), 12.0, 3.0) == 6.0
    assert groove_bit((8.0, 12.0), 12.0, 3.0) is None
    assert groove_bit((16.0,), 12.0, 0.0) is None


def test_spacer_blocks_hold_the_panel_at_its_groove(quilting):
    # From a side's upper edge to the panel's upper face, as in the drawing: 141.9 - 72.4 - 11.8; the panel lies on the
    # lower wall of its groove.
    assert spacer(quilting).value == pytest.approx(141.9 - 72.4 - 11.8, abs=0.3)
    side, panel = (quilting.assembly.by_label[label] for label in ("S1", "B1"))
    assert spacer(quilting).value == pytest.approx(side.box[1][2] - panel.box[1][2], abs=0.01)


# -- chamfers


def test_chamfer_in_a_corner_tighter_than_the_bearing():
    # Measured on points: the least distance from the corner's arc to the circle of the bearing, at its middle.
    bearing, radius = 12.7, 3.0
    middle = np.array([radius, radius]) - radius * np.array([1.0, 1.0]) / sqrt(2)
    center = np.array([bearing / 2, bearing / 2])
    wanted = float(np.hypot(*(middle - center))) - bearing / 2
    assert short_in_corner(bearing, radius) == pytest.approx(wanted)
    turns = np.linspace(pi, 1.5 * pi, 2001)
    arc = np.array([radius, radius]) + radius * np.stack([np.cos(turns), np.sin(turns)], axis=1)
    assert (np.hypot(*(arc - center).T) - bearing / 2).max() == pytest.approx(wanted, abs=1e-6)
    assert short_in_corner(12.7, 6.35) == 0.0
    assert short_in_corner(12.7, 10.0) == 0.0


def test_face_of_a_chamfer():
    # A 45° bit that cuts k deep leaves legs of k and a face of k√2.
    assert chamfer_face(6.0) == pytest.approx(8.485, abs=0.001)


def test_where_the_bearing_runs(quilting):
    cuts = {(cut.kind, cut.where): cut for cut in edge_cuts(quilting)}
    # 17.7 less twice 6 leaves 5.7; slots 17.7 less twice 3; leaves' long edges 17.7 less twice 3.
    windows, slots = cuts["chamfer", "windows"], cuts["chamfer", "slots"]
    assert (windows.size.printed, windows.straight.value) == ("6", pytest.approx(5.7))
    assert slots.straight.value == pytest.approx(11.7)
    assert cuts["round-over", "long edges of leaves"].straight.value == pytest.approx(11.7)
    assert windows.corner.value == pytest.approx((sqrt(2) - 1) * (6.35 - 3), abs=0.01)
    assert windows.bearing_runs
    assert slots.bearing_runs
    thin = replace(windows, straight=replace(windows.straight, value=2.7))
    assert not thin.bearing_runs  # at least 4 mm (common practice, no source)


def test_a_bearing_thicker_than_the_slot_is_high_does_not_enter():
    cuts = {cut.where: cut for cut in edge_cuts(job_of("quilting", bearing=22.0))}
    assert cuts["slots"].low
    assert not cuts["slots"].bearing_runs
    assert not cuts["ends of leaves"].low


# -- saw


def test_one_setting_for_all_parts_of_one_size(quilting):
    saw = SawSettings(quilting)
    ribs = next(one for one in saw.fences if "R1" in one.labels)
    assert (ribs.setting.printed, ribs.count) == ("72.5", 19)
    legs = next(one for one in saw.stops if "LEG1" in one.labels)
    assert (legs.setting.printed, legs.count) == ("700.5", 8)
    assert legs.with_kerf.value == pytest.approx(703.5)  # kerf of 3
    for settings in (saw.stops, saw.fences[:-1]):
        values = [one.setting.value for one in settings]
        assert values == sorted(values, reverse=True)
    assert sum(one.count for one in saw.stops) == len(quilting.drawn.parts)
    assert {one.note for one in saw.stops if "R7" in one.labels} == {"cut to fit last"}
    assert saw.fences[-1].note == "on edge"


def test_miters_say_how_far_the_blade_is_tilted():
    job = job_with(table={"corner_joint": "mitered"})
    angles = [(figure.printed, labels) for figure, labels in SawSettings(job).angles]
    assert angles == [("45", ("S1", "S2", "S3", "S4"))]


def test_three_ribs_alike_have_a_pattern(quilting):
    (one,) = patterns(quilting)
    assert (one.first, one.others) == ("R6", ("R8", "R11", "R13", "R16", "R18"))


# -- pages


@pytest.mark.parametrize(("name", "shop"), JOBS)
def test_pages_of_the_examples_are_sound(name, shop):
    check_pages(job_of(name, **shop))


def test_pages_of_a_full_drawer_are_sound():
    many = {
        "bushings": (10.0, 13.0, 17.0, 24.0, 27.0, 30.0),
        "bits": (3.0, 6.0, 6.35, 8.0, 12.7),
        "pass_depth": 0.5,
    }
    check_pages(job_of("quilting", **many))
    check_pages(job_of("quilting", bushings=(8.0,), bits=(10.0,), bearing=40.0))


@pytest.mark.parametrize("seed", range(6))
def test_pages_of_random_tables_are_sound(seed):
    table, _ = sound_table(f"set-ups/{seed}")
    table = replace(table, shop=replace(table.shop, paper=("a4", "letter")[seed % 2]))
    check_pages(unchecked_job(table))


def check_pages(job: Job) -> None:
    pages = list(pages_of_set_ups.pages(job))
    assert pages[0].title.startswith("Set-up: saw")
    assert len({page.name for page in pages}) == len(pages)
    for page in pages:
        drawing, area = Drawing(300.0, 220.0), area_of(job)
        page.draw(drawing, area)
        assert overlaps(drawing) == []
        assert outside(drawing, area) == []
        assert too_small(drawing) == []
        texts = [text for text, _ in drawing.texts()]
        printed = {figure.printed for figure in page.figures}
        assert printed <= {text.text for text in texts}
        # Numbers to set are at least 5 mm high, and none had to be made smaller to fit.
        sizes = {round(text.size, 6) for text in texts if text.text in printed}
        assert LARGE in sizes
        assert sizes <= {2.5, 3.5, LARGE}
