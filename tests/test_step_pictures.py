"""Step pictures: what is seen by rays, areas by shapely, sheets by their SVG and PDF."""

from __future__ import annotations

import io
import json
import xml.etree.ElementTree as ElementTree
from dataclasses import dataclass

import manifold3d
import numpy as np
import pypdf
import pytest
import shapely

from addon.check.apart.blocking import VECTORS
from addon.check.progress import run_through
from addon.command_line.main import main
from addon.designs.table import build
from addon.files.examples import EXAMPLES
from addon.paper.lines.regions import seams_of
from addon.paper.lines.seen import surface_of
from addon.paper.part_labels import _LINE as LEADER
from addon.paper.sheet.items import Stroke
from addon.paper.sheet.save import svg_text
from addon.paper.sheet.sheet import A3, A4
from addon.paper.steps.looks import FIRST, look_at
from addon.paper.steps.pages import contact_pages, save_steps, step_files, step_page, step_pictures
from addon.reports.steps import PROPOSED
from addon.sizes.errors import ExportError
from addon.sizes.words import code_of_unit
from random_tables import sound_table
from tests.large import sampled
from tests.line_samples import box, triangles_of, turned
from tests.oracles import Exported
from tests.test_line_pictures import first_met

pytestmark = pytest.mark.usefixtures("worked_out_once")

LEAST = 0.1
"""Share of its own drawn area that has to be seen of what goes in."""

RAYS = sampled(30, 60)
"""Toward the eye from places of each part."""

DAY = "2031-05-17"

UNION = manifold3d.OpType.Add

SLIVER = 1.0
"""Volume that faces lying on each other may seem to have in common, mm³."""


@dataclass
class Drawn:
    assembly: object
    pictures: list
    pages: list


@pytest.fixture(scope="module", params=["quilting", "seed-bench", 9])
def drawn(request) -> Drawn:
    """The steps of an example, or of a random table from a seed (with kickers above each other)."""
    known = isinstance(request.param, str)
    table = EXAMPLES[request.param].table() if known else sound_table(request.param)[0]
    assembly = build(table)
    pictures = run_through(step_pictures(assembly, table.units))
    pages = [step_page(assembly, one, len(pictures), date=DAY) for one in pictures]
    return Drawn(assembly, pictures, pages)


def faces_of(look, labels=None):
    """(m, 3, 3) triangles in the picture's plane with z toward the eye, and the label of each one's part."""
    parts = [part for part in look.scenery.parts if labels is None or part.label in labels]
    each = [triangles_of([part], look.scenery.places) @ look.corner.axes.T for part in parts]
    return np.concatenate(each), [
        part.label for part, own in zip(parts, each, strict=True) for _ in range(len(own))
    ]


def shadow(corners):
    """What triangles cover on the paper, by shapely."""
    flat = shapely.polygons(corners[:, :, :2])
    return shapely.union_all(flat[shapely.area(flat) > 1e-6], grid_size=1e-6)


def looks(drawn):
    return [(picture, picture.looks[0]) for picture in drawn.pictures if picture.step.kind != "turn-over"]


def test_a_tenth_of_all_that_goes_in_is_seen(drawn):
    """By rays from the eye to random places of each part's own projection."""
    random = np.random.default_rng(1)
    for _, look in looks(drawn):
        corners, owner = faces_of(look)
        for move in look.scenery.moves:
            own = shadow(faces_of(look, move.parts)[0])
            left, bottom, right, top = own.bounds
            spots = random.uniform((left, bottom), (right, top), (6000, 2))
            spots = spots[shapely.contains_xy(own, spots[:, 0], spots[:, 1])][:RAYS]
            share = np.mean([owner[first_met(corners, spot)] in move.parts for spot in spots])
            # The measured share has a standard deviation of 0.5 / sqrt(RAYS) at most.
            assert share == pytest.approx(look.shown[move.parts], abs=0.3)
            assert share >= LEAST
            assert look.shown[move.parts] >= LEAST


def test_no_two_parts_that_go_in_are_drawn_in_each_other(drawn):
    """By intersections of solids, manifold3d."""
    exported = Exported(drawn.assembly)
    for picture, look in looks(drawn):
        if picture.step.kind == "put-in":
            bodies = [
                (move, body.solid.translate(-move.vector))
                for move in look.scenery.moves
                for label in move.parts
                for body in exported.bodies[label]
            ]
            whole = [
                (move, manifold3d.Manifold.batch_boolean([one for own, one in bodies if own is move], UNION))
                for move in look.scenery.moves
            ]
            for at, (_, solid) in enumerate(whole):
                assert all((solid ^ other).volume() < SLIVER for _, other in whole[:at])


def test_areas_alone_are_those_of_shapely(drawn):
    for _, look in looks(drawn)[1:4]:
        for move in look.scenery.moves[:3]:
            parts = [part for part in look.scenery.parts if part.label in move.parts]
            seams = seams_of(surface_of(parts, look.corner.axes, look.scenery.places))
            own = shadow(faces_of(look, move.parts)[0])
            assert sum(map(seams.area, range(len(parts)))) == pytest.approx(own.area, rel=1e-6)


def test_seen_areas_of_blocks_are_those_of_shapely():
    """Three blocks behind each other, turned at random: the front one whole, the others less what is before them."""
    random = np.random.default_rng(4)
    for _ in range(12):
        axes = turned(*random.uniform(0, 6, 3))
        blocks = [
            box(
                (60, 40, 20),
                (*random.uniform(0, 60, 2), -200.0 * at),
                f"A{at}",
                turned(*random.uniform(0, 6, 3)),
            )
            for at in range(3)
        ]
        # Placed along the line of sight, so that their order is known.
        moved = {
            one.label: one.placement.moved(-200.0 * at * axes[2] - one.placement.origin + 20 * at * axes[0])
            for at, one in enumerate(blocks)
        }
        seams = seams_of(surface_of(blocks, axes, moved))
        before = shapely.Polygon()
        for at, one in enumerate(blocks):
            own = shadow(triangles_of([one], moved) @ axes.T)
            rest = own.difference(before)
            assert seams.area(at) == pytest.approx(rest.area, abs=1e-3)
            rings = seams.rings({at})
            filled = shapely.Polygon()
            for ring in rings:
                filled = filled.symmetric_difference(shapely.make_valid(shapely.Polygon(ring)))
            assert filled.symmetric_difference(rest).area == pytest.approx(0.0, abs=1e-2)
            before = before.union(own)


def affine(look, page):
    """Scale and place of a picture on its page, from its gray areas."""
    rings = look.seams.rings(look.scenery.strong)
    (filled,) = page.named("new parts")
    at, on = np.concatenate(rings), np.concatenate(filled.rings)
    scale = np.ptp(on, axis=0).max() / np.ptp(at, axis=0).max()
    place = on[0] - at[0] * scale
    np.testing.assert_allclose(at * scale + place, on, atol=1e-6)
    return scale, place


def test_arrows_run_along_the_moves_and_each_move_has_one(drawn):
    for (picture, look), page in zip(looks(drawn), shown_pages(drawn), strict=True):
        arrows = [item.paths[0] for item in page.named("arrow")]
        moves = [one for one in shown_arrivals(drawn, picture) if one.way is not None]
        assert len(arrows) == len(moves) == len(page.named("arrow head"))
        for path, move in zip(arrows, moves, strict=True):
            along = look.corner.axes[:2] @ VECTORS[move.way]
            step = path[-1] - path[0]
            assert step @ along == pytest.approx(np.hypot(*step) * np.hypot(*along), rel=1e-9)


def shown_arrivals(drawn, picture):
    """All that a step is about; of more than 16 boards that are glued up, those of the first two of four legs."""
    step = picture.step
    if step.kind != "glue-up" or len(step.moved) <= 16:
        return step.arrivals
    assert len(step.units) == 4
    return [arrival for unit in step.units[:2] for arrival in unit]


def shown_pages(drawn):
    return [
        page
        for picture, page in zip(drawn.pictures, drawn.pages, strict=True)
        if picture.step.kind != "turn-over"
    ]


CORNERS = ["leg, back left", "leg, back right", "leg, front left", "leg, front right"]


def test_all_that_goes_in_is_named_and_leaders_end_on_it_and_do_not_cross(drawn):
    for (picture, look), page in zip(looks(drawn), shown_pages(drawn), strict=True):
        lettered = [item.text for item, _ in page.texts() if item.name == "label"]
        labels = [text for text in lettered if not text.startswith("leg, ")]
        codes = {code_of_unit(one.parts): one.parts for one in shown_arrivals(drawn, picture)}
        # What is glued up of three and more has its corner in a second line.
        corners = sorted(text for text in lettered if text not in labels)
        assert corners == CORNERS if any(len(one) > 2 for one in codes.values()) else corners == []
        named = {text: max((code for code in codes if text.startswith(code)), key=len) for text in labels}
        assert sorted(named.values()) == sorted(codes)
        leaders = [item.paths[0] for item in page.items if isinstance(item, Stroke) and item.pen == LEADER]
        if picture.step.kind == "glue-up":
            assert not leaders
            continue
        assert len(leaders) == len(labels)
        lines = [shapely.LineString(path) for path in leaders]
        assert not any(a.intersects(b) for at, a in enumerate(lines) for b in lines[:at])
        scale, place = affine(look, page)
        faces, owner = faces_of(look)
        for text, path in zip(labels, leaders, strict=True):
            assert owner[first_met(faces, (path[-1] - place) / scale)] in codes[named[text]]


def test_all_lies_on_the_sheet_and_nothing_on_the_title_block(drawn):
    left, bottom, right, top = A4.frame
    frame, block = shapely.box(left, bottom, right, top), shapely.box(*A4.block)
    for page in drawn.pages:
        for name in ("parts in place", "outlines of new parts", "edges of new parts", "arrow"):
            for item in page.named(name):
                for path in item.paths:
                    line = shapely.LineString(path)
                    assert line.within(frame)
                    assert not line.intersects(block)
        words = [shapely.box(*one) for item, one in page.texts() if item.name in ("label", "words")]
        assert all(word.within(frame) and not word.intersects(block) for word in words)
        assert not any(a.intersects(b) for at, a in enumerate(words) for b in words[:at])


def test_pages_say_what_they_are(drawn):
    count = len(drawn.pictures)
    for picture, page in zip(drawn.pictures, drawn.pages, strict=True):
        texts = [item.text for item, _ in page.texts()]
        assert f"Step {picture.number} of {count}: {picture.title}" in texts
        assert {PROPOSED, "not to scale", DAY, drawn.assembly.name, "A4, print at 100 %"} <= set(texts)
        root = ElementTree.fromstring(svg_text(page))
        assert (root.get("width"), root.get("height")) == ("297mm", "210mm")


def test_what_is_new_is_stronger_than_what_is_there(drawn):
    """Also on a gray print: lines by width and lightness, areas by gray (luminance after ITU-R BT.709)."""
    for page in shown_pages(drawn):
        strong = {item.pen for item in page.named("outlines of new parts")}
        light = {item.pen for item in page.named("parts in place")}
        assert all(a.width > 2 * b.width and a.color < b.color for a in strong for b in light)
        (fill,) = page.named("new parts")
        red, green, blue = (int(fill.color[at : at + 2], 16) / 255 for at in (1, 3, 5))
        assert 0.7 < 0.2126 * red + 0.7152 * green + 0.0722 * blue < 0.95


def test_the_contact_sheet_has_all_steps_in_order(drawn):
    pages = contact_pages(drawn.assembly, drawn.pictures, date=DAY, sheet=A3)
    captions = [item.text for page in pages for item, _ in page.texts() if item.name == "caption"]
    numbers = [int(text.split()[0]) for text in captions if text.split()[0].isdigit()]
    assert numbers == list(range(1, len(drawn.pictures) + 1))
    assert len(pages) == -(-len(drawn.pictures) // 12)
    assert all(any(item.text == PROPOSED for item, _ in page.texts()) for page in pages)
    assert (pages[0].width, pages[0].height) == (A3.width, A3.height)


def test_the_view_stays_unless_another_shows_more(drawn):
    before = {}
    for picture, look in looks(drawn):
        corner = before.get(picture.step.pose, FIRST[picture.step.pose])
        if picture.step.kind == "put-in":
            if look.corner != corner:
                assert look_at(look.scenery, corner).least < look.least
            before[picture.step.pose] = look.corner


@pytest.mark.parametrize(
    ("kind", "start"), [("svg", b"<?xml"), ("png", b"\x89PNG\r\n\x1a\n"), ("pdf", b"%PDF-")]
)
def test_the_command_writes_sheets_and_says_steps(tmp_path, capsys, kind, start):
    """How files of a kind start: W3C XML 2.8 and PNG 5.2, ISO 32000-1 7.5.2."""
    path = tmp_path / "table.toml"
    path.write_text(EXAMPLES["seed-bench"].text())
    out = tmp_path / "pictures"
    assert main(["steps", str(path), "--pictures", str(out), "--format", kind, "--json"]) == 0
    document = json.loads(capsys.readouterr().out)
    assert document["note"] == PROPOSED
    assert [step["number"] for step in document["steps"]] == list(range(1, len(document["steps"]) + 1))
    assert sorted(file.name for file in out.iterdir()) == sorted(document["files"])
    assert all(file.read_bytes().startswith(start) for file in out.iterdir())
    if kind == "pdf":
        (file,) = out.iterdir()
        sizes = {tuple(page.mediabox) for page in pypdf.PdfReader(io.BytesIO(file.read_bytes())).pages}
        assert len(sizes) == 1
        np.testing.assert_allclose(np.array(sizes.pop(), float) * 25.4 / 72, (0, 0, 297, 210), atol=0.01)
    else:
        sheets = -(-len(document["steps"]) // 12)  # of all steps in order, twelve to each
        assert len(document["files"]) == len(document["steps"]) + sheets


def test_a_table_that_cannot_be_put_together_is_told_first(tmp_path, capsys):
    """Of two faults at once the graver one, an error: the segment that is too long, not the one that is too short."""
    path = tmp_path / "table.toml"
    entries = [("R2", -4.0), ("R6", 3.0)]
    text = EXAMPLES["quilting"].text() + "".join(
        f'\n[[as_cut]]\npart = "{part}"\ndimension = "length"\ndeviation = {by}\nend = "end"\n'
        for part, by in entries
    )
    path.write_text(text, encoding="utf-8")
    assert main(["steps", str(path)]) == 0
    first, second, *_ = capsys.readouterr().out.splitlines()
    assert first.startswith("Mend this first, as it is the table cannot be built and used: R6 ")
    assert second.startswith("Quilting table: Proposed order")
    path.write_text(EXAMPLES["quilting"].text(), encoding="utf-8")
    assert main(["steps", str(path)]) == 0
    assert capsys.readouterr().out.startswith("Quilting table: Proposed order")


def test_without_a_folder_the_command_says_the_steps(tmp_path, capsys):
    path = tmp_path / "table.toml"
    path.write_text(EXAMPLES["quilting"].text())
    assert main(["steps", str(path)]) == 0
    text = capsys.readouterr().out
    assert PROPOSED in text
    assert "Two people" in text
    assert not list(tmp_path.glob("*/"))


def test_progress_rises_and_a_folder_that_cannot_be_is_said(tmp_path):
    table = EXAMPLES["seed-bench"].table()
    found: dict[str, bytes] = {}

    def noted():
        files = yield from step_files(build(table), table.units, "svg", date=DAY)
        found.update(files)

    said = list(noted())
    assert said == sorted(said)
    assert 0 <= said[0] <= said[-1] <= 1
    (tmp_path / "file").write_text("")
    with pytest.raises(ExportError, match="it is no folder"):
        save_steps(found, tmp_path / "file")


def test_sheets_of_an_older_order_that_had_more_steps_go(tmp_path):
    def names():
        return sorted(path.name for path in tmp_path.iterdir())

    older = {f"step-{number:02}.svg": b"older" for number in range(1, 13)} | {"steps-2.svg": b"older"}
    save_steps({"steps.svg": b"older"} | older, tmp_path)
    for name in ("step-11.png", "step-3.svg", "steps-plan.svg"):
        (tmp_path / name).write_bytes(b"another picture")
    newer = {"steps.svg": b"newer"} | {f"step-{number:02}.svg": b"newer" for number in range(1, 11)}
    assert save_steps(newer, tmp_path) == list(newer)
    assert names() == sorted([*newer, "step-11.png", "step-3.svg", "steps-plan.svg"])
    assert {(tmp_path / name).read_bytes() for name in newer} == {b"newer"}
    (tmp_path / "notes.txt").write_text("not a picture")
    before = names()
    with pytest.raises(ExportError, match=r"holds other files too \(notes.txt\)"):
        save_steps({"steps.svg": b"newest"}, tmp_path)
    assert names() == before
    assert (tmp_path / "steps.svg").read_bytes() == b"newer"
