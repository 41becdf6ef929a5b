"""Pictures of the slide against the proof that they are of: what is drawn where, in which words, and legibly.

Areas come from shapely 2.2.0, line types from ISO 128-2, the palette from Okabe and Ito 2008 (both from memory),
lightness from IEC 61966-2-1.
"""

from __future__ import annotations

import re
import xml.etree.ElementTree as ElementTree
from dataclasses import replace
from itertools import combinations, pairwise
from random import Random

import numpy as np
import pytest
import shapely

from addon.check.row.openings import OpeningProof, Pose
from addon.check.row.profile import Chamfer, Row, RowOpening
from addon.check.row.proof import RowProof, prove
from addon.designs.words.slide import hand_text
from addon.paper.sheet import Drawing, palette
from addon.paper.sheet.items import Fill, Stroke
from addon.paper.sheet.save import svg_text
from addon.paper.sheet.sheet import A3, A4
from addon.paper.slide_page.page import side_picture
from addon.paper.tolerance_page import Bar, ranked_bars
from addon.sizes.errors import ExportError
from addon.sizes.units import format_amount, format_size
from tests import row_samples

FACES = (0.0, 175.0, 602.0, 880.0)


def window(
    x: float, label: str, lower: float, run: float, low: float = -1.5, high: float = 19.2
) -> RowOpening:
    return RowOpening(x, 17.7, low + lower, high + lower, Chamfer(run, run), Chamfer(run, run), label)


def quilting(third: float = 0.0, bottom: bool = True) -> Row:
    """A leaf under a bottom panel, its third window lowered by so much."""
    openings = [
        window(x, label, third if number == 2 else 0.0, 3.0 if number == 0 else 2.0)
        for number, (x, label) in enumerate(zip(FACES, ("S4", "R4", "R3", "R2"), strict=True))
    ]
    if bottom:
        openings.append(RowOpening(17.7, 900.0, None, 27.2, label="B1", window=False))
    return Row(921.6, 17.7, tuple(openings), 940.8)


def plan() -> Row:
    openings = [
        window(x, label, 0.0, 3.0 if x == 0 else 2.0, -2.0, 366.9)
        for x, label in zip(FACES, ("S4", "R4", "R3", "R2"), strict=True)
    ]
    return Row(921.6, 364.9, tuple(openings), 940.8, wide=True)


def guided() -> Row:
    """Openings 40 apart, of which each leads the nose into the next."""
    openings = [
        RowOpening(40.0 * number, 17.7, -1.5, 19.2, Chamfer(5.0, 5.0), Chamfer(0.5, 0.5), f"R{number + 1}")
        for number in range(1, 8)
    ]
    return Row(400.0, 17.7, (RowOpening(0.0, 17.7, -1.5, 19.2, label="R1"), *openings), 420.0)


ROWS = {"steered": quilting(), "stopped": quilting(-4.0), "guided": guided(), "from above": plan()}
PROOFS = dict(zip(ROWS, prove(list(ROWS.values())), strict=True))


def drawn(proof: RowProof, view: str = "side", units: str = "mm", **more: object) -> Drawing:
    return side_picture(
        proof, table="Quilting table", leaf="L3", view=view, units=units, date="2026-11-25", **more
    )


@pytest.fixture(scope="module", params=list(PROOFS))
def case(request: pytest.FixtureRequest) -> tuple[RowProof, Drawing]:
    proof = PROOFS[request.param]
    return proof, drawn(proof, "plan" if request.param == "from above" else "side")


def words_of(drawing: Drawing) -> list[str]:
    return [item.text for item, _ in drawing.texts()]


def scales(drawing: Drawing) -> tuple[float, float]:
    """Scale of lengths, and of heights in the lower part, from the title block's words."""
    found = [
        re.fullmatch(r"1:(\d+), (?:heights|widths) in the lower part × (\d+)", one)
        for one in words_of(drawing)
    ]
    (scale,) = [one for one in found if one]
    return 1 / int(scale[1]), int(scale[2]) / int(scale[1])


def bounds(item: Fill | Stroke) -> np.ndarray:
    """Left, bottom, right, top, mm."""
    points = np.concatenate(item.rings if isinstance(item, Fill) else item.paths)
    return np.concatenate([points.min(axis=0), points.max(axis=0)])


def all_bounds(drawing: Drawing, name: str) -> np.ndarray:
    """(n, 4) bounds of the items of a name, the lowest first."""
    found = [bounds(item) for item in drawing.named(name)]
    return np.array(sorted(found, key=lambda box: box[1]))


def assert_legible(drawing: Drawing) -> None:
    """Lettering within the frame, no two lines of it on each other, none smaller than can be read on paper."""
    texts = drawing.texts()
    frame = next(sheet for sheet in (A4, A3) if sheet.width == drawing.width).frame
    for item, (left, bottom, right, top) in texts:
        assert left >= frame[0], item.text
        assert bottom >= frame[1], item.text
        assert right <= frame[2], item.text
        assert top <= frame[3], item.text
        assert item.size >= 1.6, item.text
    for (one, a), (other, b) in combinations(texts, 2):
        apart = a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
        assert apart, (one.text, other.text)


def test_the_samples_are_what_they_are_called() -> None:
    verdicts = {name: proof.verdict for name, proof in PROOFS.items()}
    assert verdicts == {
        "steered": "needs-steering",
        "stopped": "does-not-pass",
        "guided": "guides-itself",
        "from above": "needs-steering",
    }


def test_lettering_lies_within_the_frame_and_apart(case: tuple[RowProof, Drawing]) -> None:
    assert_legible(case[1])


def test_everything_is_on_the_sheet(case: tuple[RowProof, Drawing]) -> None:
    _, drawing = case
    for item in drawing.items:
        if isinstance(item, Fill | Stroke):
            left, bottom, right, top = bounds(item)
            assert left >= A4.frame[0] - 1e-6, item.name
            assert bottom >= A4.frame[1] - 1e-6, item.name
            assert right <= A4.frame[2] + 1e-6, item.name
            assert top <= A4.frame[3] + 1e-6, item.name


@pytest.mark.parametrize("where", ["", ", stretched"])
def test_wood_is_to_scale(case: tuple[RowProof, Drawing], where: str) -> None:
    proof, drawing = case
    along, stretched = scales(drawing)
    across = stretched if where else along
    windows = [one for one in proof.row.openings if one.window]
    first, first_below = windows[0], all_bounds(drawing, f"wood {windows[0].label}{where}")[0]
    first_above = all_bounds(drawing, f"wood {first.label}{where}")[1]
    for one in windows:
        below, above = all_bounds(drawing, f"wood {one.label}{where}")
        for box in (below, above):
            assert box[2] - box[0] == pytest.approx(one.board * along)
            assert box[0] - first_below[0] == pytest.approx((one.face - first.face) * along)
        assert below[3] - first_below[3] == pytest.approx((one.sill - first.sill) * across)
        assert above[1] - first_above[1] == pytest.approx((one.head - first.head) * across)
        if not where:
            assert above[1] - below[3] == pytest.approx((one.head - one.sill) * along)


def ends(drawing: Drawing, number: int) -> tuple[float, float]:
    """Lower and upper end of a nose's band on the sheet."""
    boxes = [*drawing.named(f"nose caught {number}"), *drawing.named(f"nose to be steered {number}")]
    found = np.array([bounds(item) for item in boxes])
    return float(found[:, 1].min()), float(found[:, 3].max())


def test_bands_are_where_the_nose_can_be_against_what_is_caught(case: tuple[RowProof, Drawing]) -> None:
    proof, drawing = case
    _, across = scales(drawing)
    shown = 0
    for number, (proved, opening) in enumerate(zip(proof.openings, proof.row.openings, strict=True), 1):
        if proved.verdict not in ("guides-itself", "needs-steering"):
            assert not drawing.named(f"catch {number}")
            continue
        low, high = all_bounds(drawing, f"catch {number}")[:, 1]
        sills = all_bounds(drawing, f"wood {opening.label}, stretched")
        # What is caught ends where the chamfer begins, its rise below the land of the same wood.
        assert sills[0][3] - low == pytest.approx(opening.entry.rise * across)
        assert high - sills[1][1] == pytest.approx(opening.entry.rise * across)
        bottom, top = ends(drawing, number)
        beyond = len(drawing.named(f"nose goes on {number}"))
        wanted = (
            low + (proved.nose_low - proved.catch_low) * across,
            high + (proved.nose_top - proved.catch_high) * across,
        )
        for end, want, way in ((bottom, wanted[0], 1), (top, wanted[1], -1)):
            if abs(end - want) < 1e-6:
                shown += 1
            else:
                assert way * (end - want) > 0  # it goes on beyond the picture
                beyond -= 1
        assert beyond == 0
        misses = [bounds(item) for item in drawing.named(f"nose to be steered {number}")]
        missed = sum(box[3] - box[1] for box in misses)
        assert missed == pytest.approx(max(low - bottom, 0) + max(top - high, 0))
        assert bool(misses) is (proved.verdict == "needs-steering")
        face = max(box[0] for box in sills)
        assert all(box[2] <= face for box in misses)
    assert shown >= 2


def test_every_opening_says_its_verdict_and_margin(case: tuple[RowProof, Drawing]) -> None:
    proof, drawing = case
    words = words_of(drawing)
    counts = {"guides itself": 0, "needs steering": 0, "does not pass": 0}
    for proved in proof.openings:
        if proved.verdict is None or proved.margin is None:
            continue
        counts["guides itself" if proved.verdict == "guides-itself" else "needs steering"] += 1
        amount = format_amount(abs(round(proved.margin, 4)), "mm")
        assert (f"{amount} to spare" if proved.margin >= 0 else f"{amount} short") in words
    for verdict, count in counts.items():
        title = {"guided": "guides itself"}.get(proof.verdict, "")
        assert words.count(verdict) >= count + (verdict == title)
    assert "lead in by hand" in words


def test_the_hand_is_told_its_window(case: tuple[RowProof, Drawing]) -> None:
    proof, drawing = case
    view = "plan" if proof.row.wide else "side"
    said = " ".join(" ".join(words_of(drawing)).split())
    for opening, proved in zip(proof.row.openings, proof.openings, strict=True):
        if proved.hand is not None and proof.verdict == "needs-steering":
            assert f"{opening.label}: {hand_text(proved, view, 'mm')}." in said


def test_the_title_block_says_all(case: tuple[RowProof, Drawing]) -> None:
    proof, drawing = case
    words = words_of(drawing)
    assert {"Quilting table", "L3", "2026-11-25", "A4, print at 100 %"} <= set(words)
    assert "Plan view" if proof.row.wide else "Side view" in words
    said = " ".join(words)
    assert "Model result from your sizes. Measure and dry-fit before glue." in said
    verdict = {"needs-steering": "needs steering", "does-not-pass": "does not pass: lacks 1.0 mm"}
    assert verdict.get(proof.verdict, "guides itself") in words


def test_what_holds_a_leaf_is_numbered_and_measured() -> None:
    proof = PROOFS["stopped"]
    drawing = drawn(proof)
    words = words_of(drawing)
    assert len(proof.edges) == 3
    for number, edge in enumerate(proof.edges, 1):
        assert words.count(str(number)) == 2  # to scale and stretched
        along, _ = scales(drawing)
        ring = all_bounds(drawing, f"edge {number}")[0]
        first = all_bounds(drawing, "edge 1")[0]
        assert ring[0] - first[0] == pytest.approx((edge.x - proof.edges[0].x) * along)
        assert any(
            one.startswith(f"{number} {edge.side} edge of") for one in map(" ".join, map(str.split, words))
        )
    lacking = format_amount(round(-2 * proof.fit_margin, 4), "mm")
    assert f"Between 1, 2 and 3 the leaf lacks {lacking}:" in words
    assert any(
        one.startswith("Detail") and format_amount(round(-proof.fit_margin, 4), "mm") in one for one in words
    )


def leaf_of(row: Row, pose: Pose) -> shapely.Polygon:
    flat = shapely.box(-row.length, 0, 0, row.thickness)
    turned = shapely.affinity.rotate(flat, pose.tilt, (0, 0), use_radians=True)
    return shapely.affinity.translate(turned, pose.travel, pose.height)


def test_overlaps_are_the_wood_that_the_leaf_would_be_in() -> None:
    proof = PROOFS["stopped"]
    drawing = drawn(proof)
    along, across = scales(drawing)
    leaf = leaf_of(proof.row, proof.fit)
    for opening in proof.row.openings:
        if not opening.window:
            continue
        first, last, rise = opening.face, opening.end, opening.entry.rise
        lower = [(first, -90), (first, opening.sill - rise), (first + rise, opening.sill),
                 (last - rise, opening.sill), (last, opening.sill - rise), (last, -90)]  # fmt: skip
        upper = [(first, 90), (first, opening.head + rise), (first + rise, opening.head),
                 (last - rise, opening.head), (last, opening.head + rise), (last, 90)]  # fmt: skip
        want = sum(leaf.intersection(shapely.Polygon(ring)).area for ring in (lower, upper))
        found = sum(shapely.Polygon(item.rings[0]).area for item in drawing.named(f"overlap {opening.label}"))
        assert found == pytest.approx(want * along * across, abs=1e-6)
    assert drawing.named("overlap R3")


def test_the_leaf_that_misses_is_dashed_with_double_dots_in_the_proofs_pose() -> None:
    proof = PROOFS["steered"]
    drawing = drawn(proof)
    along, _ = scales(drawing)
    (item,) = drawing.named("leaf that needs steering")
    assert isinstance(item, Stroke)
    dash = item.pen.dash
    assert np.array(dash) / item.pen.width == pytest.approx([24, 3, 0.5, 3, 0.5, 3])  # ISO 128-2, line 05.1
    leaf = leaf_of(proof.row, proof.counterexample)
    wood = all_bounds(drawing, "wood R4")[1]
    nose = max(np.concatenate(item.paths), key=lambda point: point[0])
    tip = max(leaf.exterior.coords, key=lambda point: point[0])
    assert nose[0] - wood[0] == pytest.approx((tip[0] - 175.0) * along)
    assert nose[1] - wood[1] == pytest.approx((tip[1] - 19.2) * along)


def test_the_detail_shows_the_worst_miss_with_its_size() -> None:
    proof = PROOFS["steered"]
    words = words_of(drawn(proof))
    amount = format_amount(round(-proof.openings[proof.worst_opening].margin, 4), "mm")
    (detail,) = [one for one in words if one.startswith("Detail")]
    assert re.fullmatch(rf"Detail \d+:\d+: nose {re.escape(amount)} short of R4", detail)
    assert amount in words  # the dimension
    scale = int(detail.split()[1].split(":")[0]) / int(detail.split()[1].split(":")[1][:-1] or 1)
    assert scale > scales(drawn(proof))[0]


def test_the_nose_at_home_is_where_the_travel_ends(case: tuple[RowProof, Drawing]) -> None:
    proof, drawing = case
    along, _ = scales(drawing)
    (line,) = drawing.named("nose stowed")
    first = proof.row.openings[0]
    wood = all_bounds(drawing, f"wood {first.label}")[0]
    assert bounds(line)[0] - wood[0] == pytest.approx((proof.row.travel - first.face) * along)
    assert f"nose stowed, {format_size(proof.row.travel, 'mm')}" in words_of(drawing)


def test_other_results_give_other_pictures() -> None:
    rows = [quilting(), quilting(-0.2), quilting(-4.0), quilting(bottom=False), guided(), plan()]
    pictures = {svg_text(drawn(proof)) for proof in prove(rows)}
    assert len(pictures) == len(rows)
    assert svg_text(drawn(PROOFS["steered"])) == svg_text(drawn(PROOFS["steered"]))
    assert svg_text(drawn(PROOFS["steered"])) != svg_text(drawn(PROOFS["steered"], units="in"))


def test_another_leaf_is_drawn_as_one() -> None:
    row = quilting(bottom=False)
    other = RowOpening(200.0, 364.9, None, 25.2, label="L2", holds=False, window=False)
    drawing = drawn(prove([Row(row.length, row.thickness, (*row.openings, other), row.travel)])[0])
    assert drawing.named("other leaf L2")
    assert not drawing.named("wood L2")


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("seed", range(8))
def test_any_row_is_legible(seed: int, units: str) -> None:
    random = Random(seed)
    rows = [row_samples.row(random, one_sided=0.3, short=seed % 2 == 1, step=3.0) for _ in range(3)]
    for proof in prove(rows):
        for view in ("side", "plan"):
            drawing = drawn(proof, view, units)
            assert_legible(drawing)
            ElementTree.fromstring(svg_text(drawing))


def test_long_names_keep_their_place() -> None:
    row = quilting()
    openings = tuple(
        replace(one, label=f"{one.label} of the long rib row, at {one.face:g}") for one in row.openings
    )
    (proof,) = prove([replace(row, openings=openings)])
    drawing = side_picture(
        proof, table="A quilting table for a sewing studio with a very long name indeed, second edition",
        leaf="Leaf number three of four", view="side", units="mm", date="25 November 2026, noon",
    )  # fmt: skip
    assert_legible(drawing)


def test_an_opening_that_the_leaf_does_not_reach_says_so() -> None:
    row = quilting()
    proof = PROOFS["stopped"]
    openings = (*proof.openings[:3], OpeningProof("does-not-pass", None, None, -3.5, 21.2), proof.openings[4])
    stopped = RowProof(row, "does-not-pass", proof.fit_margin, proof.fit, proof.edges, openings)
    drawing = drawn(stopped)
    assert "does not pass" in words_of(drawing)
    assert not drawing.named("nose caught 4")
    assert_legible(drawing)


def test_paper_is_chosen_by_what_fits() -> None:
    assert drawn(PROOFS["steered"]).width == 297
    assert drawn(PROOFS["steered"], sheet=A3).width == 420
    long = Row(4000, 18, (window(0, "S1", 0, 2), window(4000, "R1", 0, 2)), 5000)
    assert drawn(prove([long])[0]).width == 420
    with pytest.raises(ExportError, match="too long for a sheet"):
        drawn(prove([Row(4000, 18, (window(0, "S1", 0, 2), window(90_000, "R1", 0, 2)), 95_000)])[0])


CONTRIBUTIONS = [
    Bar("R3 set out", "0.31 mm", 0.22),
    Bar("S4 slot, height of its lower edge above the lower edge of the side", "0.42 mm", 0.45),
    Bar("leaf thickness", "0.10 mm", 0.05),
    Bar("R4 window height", "0.25 mm", 0.2),
    Bar("bow", "0.08 mm", 0.08),
]


def bars(contributions: list[Bar], note: str = "") -> Drawing:
    title = "What the room of L3 depends on"
    return ranked_bars(contributions, title=title, table="Quilting table", date="2026-11-25", note=note)


def test_bars_are_ranked_and_as_long_as_their_shares() -> None:
    drawing = bars(CONTRIBUTIONS, note="Shares of the variance.")
    assert_legible(drawing)
    ranked = sorted(CONTRIBUTIONS, key=lambda one: -one.share)
    boxes = [all_bounds(drawing, f"bar {one.label}")[0] for one in ranked]
    assert all(above[1] > below[3] for above, below in pairwise(boxes))
    lengths = np.array([box[2] - box[0] for box in boxes])
    np.testing.assert_allclose(lengths / lengths[0], [one.share / 0.45 for one in ranked])
    (line,) = drawing.named("together")
    (path,) = line.paths
    np.testing.assert_allclose(
        (path[:, 0] - boxes[0][0]) / lengths[0] * 0.45, np.cumsum([one.share for one in ranked])
    )
    words = words_of(drawing)
    assert [one for one in words if one in {bar.value for bar in ranked}] == [bar.value for bar in ranked]
    assert {"45 %", "22 %", "20 %", "8.0 %", "5.0 %"} <= set(words)


def test_the_first_bars_that_make_four_fifths_are_plain_and_the_rest_hatched() -> None:
    drawing = bars(CONTRIBUTIONS)
    colors = {one.label: drawing.named(f"bar {one.label}")[0].color for one in CONTRIBUTIONS}
    plain = {label for label, color in colors.items() if color == palette.GRAY}
    assert plain == {CONTRIBUTIONS[1].label, "R3 set out", "R4 window height"}


def test_more_bars_than_a_sheet_takes_are_one_at_the_end() -> None:
    many = [Bar(f"part {number}", f"{number} mm", 1 / 40) for number in range(40)]
    drawing = bars(many)
    assert_legible(drawing)
    assert "17 more together" in words_of(drawing)
    (line,) = drawing.named("together")
    assert len(line.paths[0]) == 24
    with pytest.raises(ValueError, match="from 0 to 1"):
        bars([Bar("too much", "", 1.5)])


def lightness(color: str) -> float:
    """Relative luminance of sRGB (IEC 61966-2-1)."""
    parts = np.array([int(color[at : at + 2], 16) / 255 for at in (1, 3, 5)])
    linear = np.where(parts <= 0.04045, parts / 12.92, ((parts + 0.055) / 1.055) ** 2.4)
    return float(linear @ [0.2126, 0.7152, 0.0722])


def test_colors_differ_in_gray() -> None:
    assert lightness(palette.ROOM) - lightness(palette.BLOCKED) > 0.15
    assert lightness(palette.ROOM) - lightness(palette.BY_HAND) > 0.15
    assert lightness(palette.NOTE) - lightness(palette.GRAY) > 0.15
    assert lightness(palette.WOOD) > 0.8
    assert lightness(palette.LEAF) > 0.8
