"""What is drawn over the view: its places, words and shapes, by the check's own numbers; drawing itself needs a window.

Colors: Okabe and Ito, Color Universal Design (2008). Contrast: worked examples of WCAG 2.2, "relative luminance".
"""

from __future__ import annotations

import math
from types import SimpleNamespace

import bpy
import numpy as np
import pytest

import addon
from addon.check.spans import overlap_volume, passages
from addon.scene import access, built, ids, marks, overlap, pending, seeing, tables
from addon.scene.overlay import draw, placing, shown
from addon.scene.overlay import prepare as colors
from addon.scene.overlay.prepare import AWAY, OUTLINES, Item, Overlay, prepare

from .conftest import LOW_WINDOW, QUILTING, first, in_scene

LONG_RIB = QUILTING + '\n[[as_cut]]\npart = "R3"\ndimension = "length"\ndeviation = 4.0\n'
SHORT_RIB = LONG_RIB + '\n[[as_cut]]\npart = "R2"\ndimension = "length"\ndeviation = -2.0\nend = "end"\n'


def overlay(scene: bpy.types.Scene) -> Overlay:
    found = shown.prepare_scene(scene)
    assert found is not None
    return found


def words(found: Overlay) -> list[tuple[str, ...]]:
    return [text.lines for text in found.texts]


def test_the_dimension_stands_between_the_two_faces_with_its_number(scene):
    tables.create_table(scene, LONG_RIB)
    found = overlay(scene)
    (finding,) = built.report_of(access.table_in(first())).findings
    ends = np.array(finding.span) / 1000
    # The shapes stand at the place of the finding and at both ends of the dimension, nowhere else.
    places = np.unique(found.marks.place, axis=0)
    wanted = np.unique(np.float32([finding.at, *finding.span]) / np.float32(1000), axis=0)
    for place in places:
        assert np.linalg.norm(wanted - place, axis=1).min() < 1e-6
    assert np.linalg.norm(ends[0] - ends[1]) == pytest.approx(0.004, abs=1e-9)
    assert words(found) == [("Error: too long  4.0 mm", "R3, S2"), ("4.0 mm",)]
    number = found.texts[1]
    np.testing.assert_allclose(number.place, ends.mean(axis=0), atol=1e-6)
    # Arrows point from each face at the other.
    along = np.unique(np.round(found.marks.along * 1e4), axis=0)
    assert {tuple(one) for one in along} == {(0, 0, 0), (0, 40, 0), (0, -40, 0)}


def test_words_and_shapes_by_severity_and_the_filter_of_the_list(scene):
    tables.create_table(scene, SHORT_RIB)
    pending.flush()
    group = scene.dry_assembly
    group.view.notes = True
    severities = {finding.severity for finding in first().findings}
    assert severities == {"error", "warning", "note"}
    count = {one: sum(finding.severity == one for finding in first().findings) for one in severities}
    for severity, name, word in (
        ("error", "show_errors", "Error"),
        ("warning", "show_warnings", "Warning"),
        ("note", "show_notes", "Note"),
    ):
        for other in ("show_errors", "show_warnings", "show_notes"):
            setattr(group, other, other == name)
        heads = [lines[0] for lines in words(overlay(scene))]
        assert sum(head.startswith(word + ": ") for head in heads) == count[severity]
        assert {head.partition(": ")[0] for head in heads if ": " in head} == {word}
        inks = {tuple(ink) for ink in np.round(overlay(scene).marks.ink[:, :3] * 255).astype(int).tolist()}
        assert inks == {(0, 0, 0), tuple(round(255 * value) for value in colors.OF_SEVERITY[severity])}
    # A square, a triangle and a disc.
    assert {name: len(outline) for name, outline in OUTLINES.items()} == {"error": 4, "warning": 3}


def test_colors_mean_the_same_as_on_paper():
    """tests/test_colors.py measures how far apart they are; here they are written by hand."""
    chosen = {"error": 0x990077, "warning": 0x0066CC, "note": 0xC0C0C0}
    grades = {"good": 0x009E73, "watch": 0x0066CC, "bad": 0x990077}
    for found, wanted in ((colors.OF_SEVERITY, chosen), (colors.OF_GRADE, grades)):
        for name, number in wanted.items():
            red, green, blue = (round(255 * value) for value in found[name])
            assert (red << 16) + (green << 8) + blue == number
    for paint, color in ((marks.overlap_paint(), 0x990077), (marks.tight_paint(), 0x0066CC)):
        shares = [(color >> shift & 255) / 255 for shift in (16, 8, 0)]
        # Materials are linear (IEC 61966-2-1).
        linear = [one / 12.92 if one <= 0.04045 else ((one + 0.055) / 1.055) ** 2.4 for one in shares]
        np.testing.assert_allclose(paint.diffuse_color[:3], linear, atol=1e-6)


def test_contrast_of_text():
    """21:1 black on white (WCAG 2.2); #767676 on white is the grayest that has 4.5:1 (common practice, no source)."""
    assert colors.contrast((0, 0, 0), (1, 1, 1)) == pytest.approx(21)
    gray, lighter = (0x76 / 255,) * 3, (0x77 / 255,) * 3
    assert colors.readable(gray, (1, 1, 1)) == gray
    assert colors.readable(lighter, (1, 1, 1)) == (0, 0, 0)
    assert colors.readable((0.3, 0.3, 0.3), (0.2, 0.2, 0.2)) == (1, 1, 1)


def test_only_the_chosen_one_and_no_dimensions(scene):
    tables.create_table(scene, SHORT_RIB)
    view = scene.dry_assembly.view
    number = len(overlay(scene).texts)
    view.only_chosen = True
    first().finding_index = 1
    chosen = first().findings[1]
    seeing.put_back(scene)
    found = overlay(scene)
    assert 0 < len(found.texts) < number
    assert found.texts[0].lines[1] == chosen.parts
    view.dimensions = False
    assert len(overlay(scene).texts) == 1
    np.testing.assert_allclose(np.unique(overlay(scene).marks.place, axis=0), [chosen.place], atol=1e-6)


def test_notes_are_marked_when_asked_and_a_clear_table_bears_no_mark(scene):
    tables.create_table(scene, QUILTING)
    pending.flush()
    state = first()
    assert state.verdict == "clear"
    assert {finding.severity for finding in state.findings} == {"note"}
    assert not words(overlay(scene))
    assert not len(overlay(scene).marks.place)
    scene.dry_assembly.view.notes = True
    heads = [lines[0] for lines in words(overlay(scene))]
    assert len(heads) >= len(state.findings)
    assert all(head.startswith("Note: ") for head in heads)
    # One that is shown is marked whatever is chosen, and alone.
    scene.dry_assembly.view.notes = False
    assert bpy.ops.dry_assembly.show_finding(index=0) == {"FINISHED"}
    heads = [lines[0] for lines in words(overlay(scene)) if lines[0].startswith("Note: ")]
    assert len(heads) == max(1, len(state.findings[0].places))
    seeing.put_back(scene)
    assert not words(overlay(scene))


def test_the_chosen_one_is_larger():
    place, other = (0.0, 0.0, 0.0), (1.0, 0.0, 0.0)
    items = [Item("error", place, "1 mm", "A, B", True), Item("error", other, "2 mm", "C, D")]
    marks = prepare(items).marks
    reach = [np.ptp(marks.offset[(marks.place == at).all(axis=1)][:, 0]) for at in (place, other)]
    assert reach[0] > 1.05 * reach[1]


def test_passages_are_the_boxes_of_the_leaves(scene):
    tables.create_table(scene, QUILTING)
    assert not len(overlay(scene).box_faces)
    scene.dry_assembly.view.passages = True
    found = overlay(scene)
    wanted = passages(built.prepared_of(access.table_in(first())))
    assert len(wanted) == 4
    faces = found.box_faces.reshape(4, 12, 3, 3).astype(float) * 1000
    for box, triangles, edges in zip(wanted, faces, found.box_edges.reshape(4, 24, 3) * 1000, strict=True):
        for points in (triangles.reshape(-1, 3), edges):
            np.testing.assert_allclose(points.min(axis=0), box.low, atol=1e-3)
            np.testing.assert_allclose(points.max(axis=0), box.high, atol=1e-3)
        area = np.linalg.norm(
            np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]), axis=1
        )
        x, y, z = np.subtract(box.high, box.low)
        assert area.sum() / 2 == pytest.approx(2 * (x * y + y * z + z * x), rel=1e-5)
    assert words(found) == [(f"Passage of L{number}",) for number in range(1, 5)]


def test_nothing_is_prepared_while_drawing_and_stale_things_are_not_drawn(scene):
    tables.create_table(scene, LONG_RIB)
    assert shown.overlay_of(scene) is None  # not prepared yet, but asked for
    assert bpy.app.timers.is_registered(shown.refresh)
    ready = overlay(scene)
    assert shown.overlay_of(scene) is ready
    scene.dry_assembly.view.passages = True
    assert shown.overlay_of(scene) is ready  # the old one until the new one is there
    ready = overlay(scene)
    assert shown.overlay_of(scene) is ready
    scene.dry_assembly.view.show = False
    assert shown.overlay_of(scene) is None
    scene.dry_assembly.view.show = True
    first().parameters.table.height = 0.8
    assert shown.overlay_of(scene) is None  # findings out of date
    pending.flush()
    ready = overlay(scene)
    assert shown.overlay_of(scene) is ready
    tables.remove_table(first())
    assert shown.overlay_of(scene) is None


def test_nothing_is_drawn_where_the_table_is_exploded(scene):
    """Places are those of the table put together; showing a finding puts it together."""
    tables.create_table(scene, LONG_RIB)
    overlay(scene)
    state = first()
    state.explosion_factor = 0.25
    assert shown.overlay_of(scene) is None
    assert bpy.ops.dry_assembly.show_finding() == {"FINISHED"}
    assert state.explosion_factor == 0.0
    assert not any(item.get(ids.EXPLODED) for item in access.part_objects(state).values())
    assert shown.overlay_of(scene) is not None
    # A Factor with keyframes is left to them.
    bpy.ops.dry_assembly.animate_exploded_view()
    scene.frame_set((scene.frame_start + scene.frame_end) // 2)
    assert state.explosion_factor == pytest.approx(1.0)
    assert bpy.ops.dry_assembly.show_finding() == {"FINISHED"}
    assert state.explosion_factor == pytest.approx(1.0)
    assert shown.overlay_of(scene) is None


def test_handlers_and_timers_go_with_the_add_on(empty):
    for _ in range(2):
        addon.register()
        assert len(draw._handles) == 3
        tables.create_table(bpy.context.scene, LONG_RIB)
        shown.overlay_of(bpy.context.scene)
        assert bpy.app.timers.is_registered(shown.refresh)
        addon.unregister()
        assert not draw._handles
        assert not draw._batches
        assert not shown._made
        assert not bpy.app.timers.is_registered(shown.refresh)


def placed(texts, at, size, ends=None):
    """The texts that are shown, of letters that are 7 pixels wide."""
    measure = placing.Measure(lambda line: 7.0 * len(line), 12.0)
    return placing.placed(placing.words(texts, 1.0, measure), at, at if ends is None else ends, size)


def test_words_stand_where_the_place_is_seen_and_never_over_others():
    """A camera at the origin that looks along -z, 90° wide: a point at (x, y, -d) is seen at x/d, y/d of half the
    view."""
    lens = np.array([[1.0, 0, 0, 0], [0, 1, 0, 0], [0, 0, -1, -0.2], [0, 0, -1, 0]])
    places = np.array([[0.5, -0.25, -2.0], [0.0, 0.0, -1.0], [0.0, 0.0, 1.0]])
    at = placing.projected(places, lens, (200, 100))
    np.testing.assert_allclose(at[:2], [[125, 43.75], [100, 50]])
    assert np.isnan(at[2]).all()  # behind the eye
    items = [Item("note", (0.0, 0.0, 0.0), f"{number} mm", "A") for number in range(4)]
    texts = prepare(items).texts
    at = np.array([[100.0, 50], [102, 52], [104, 54], [100, 90]])
    blocks = placed(texts, at, (200, 100))
    assert [(block.text.lines[0], block.turned) for block in blocks] == [
        ("0 mm", False),
        ("1 mm", True),
        ("3 mm", False),
    ]
    for block in blocks:
        (x, y), (left, low, right, top) = block.feet[0], block.box
        assert left < x
        assert x + 7.0 * len(block.text.lines[0]) < right
        assert low < y < y + 12.0 * 0.72 < top
    many = prepare([Item("note", (0.0, 0.0, 0.0), f"{number} mm", "A") for number in range(9)]).texts
    apart = np.array([[100.0, 50 * number] for number in range(9)])
    assert len(placed(many, apart, (200, 500))) == placing.MOST
    # Near the right edge a text stands at the left of its mark, as far from it, its bar beside the mark.
    (near,) = placed(many[:1], np.array([[190.0, 50]]), (200, 100))
    (far,) = placed(many[:1], np.array([[90.0, 50]]), (200, 100))
    mark = AWAY[0]
    assert (near.turned, far.turned) == (True, False)
    assert 190.0 + mark - near.box[2] == pytest.approx(far.box[0] - (90.0 + mark))
    assert near.box[2] - near.feet[0][0] == pytest.approx(far.box[2] - far.feet[0][0])
    assert near.box[1::2] == far.box[1::2]
    assert near.bar(3.0) == (near.box[2] - 3.0, near.box[2])
    assert far.bar(3.0) == (far.box[0], far.box[0] + 3.0)
    # So does one that would cover another's mark; its last line is beside its own.
    two = [Item("error", (0.0, 0.0, 0.0), "1 mm", "A", True), Item("note", (0.0, 0.0, 0.0), "2 mm", "A")]
    for x, turned in ((40.0, True), (150.0, False)):
        block = placed(prepare(two).texts, np.array([[100.0, 50], [100 + x, 50]]), (400, 100))[0]
        assert block.turned is turned
        assert abs(block.feet[-1 if turned else 0][1] + 0.36 * 12.0 - (50 + AWAY[1])) < 1e-9
    # A dimension's number goes where its two ends are seen as one, and stays where they are apart.
    spans = [Item("error", (0.0, 0.0, 0.0), "Error", "A", True, ((0.0, 0.0, 0.0), (0.0, 0.0, 0.001)), "1 mm")]
    texts = prepare(spans).texts
    here = np.array([[50.0, 50], [50, 50]])
    for away, lines in (([2.0, 0], ["Error"]), ([0.0, 4], ["Error", "1 mm"])):
        assert [block.text.lines[0] for block in placed(texts, here, (200, 100), here + away)] == lines
    for nowhere in (np.nan, -1.0):
        assert not placed(many[:3], np.full((3, 2), nowhere), (200, 100))


@pytest.mark.parametrize(
    ("alignment", "x", "free"), [("RIGHT", 700, 600), ("LEFT", 100, 900), ("RIGHT", 1000, 900)]
)
def test_no_words_lie_below_the_sidebar(alignment, x, free):
    """A view from x = 100 to 1000 with the sidebar over its right end, over its left end, and beside it."""
    sidebar, region = SimpleNamespace(x=x, alignment=alignment), SimpleNamespace(x=100, width=900)
    assert placing.free_width(sidebar, region) == free


def volume_of(item: bpy.types.Object) -> float:
    """By the divergence theorem over the triangles of its mesh, mm³."""
    item.data.calc_loop_triangles()
    corners = in_scene(item)[[triangle.vertices[:] for triangle in item.data.loop_triangles]] * 1000
    return float(np.linalg.det(corners - corners.mean(axis=(0, 1))).sum() / 6)


@pytest.mark.parametrize("text", [LONG_RIB, LOW_WINDOW], ids=["long rib", "low window"])
def test_the_overlap_volume_is_an_object_of_its_own(scene, text):
    tables.create_table(scene, text)
    state = first()
    before = set(bpy.data.objects), set(bpy.data.meshes), set(bpy.data.collections)
    assert bpy.ops.dry_assembly.show_overlap() == {"FINISHED"}
    (item,) = set(bpy.data.objects) - before[0]
    assert item.parent == state.root
    assert not item.data.validate()
    table = access.table_in(state)
    finding = next(
        one for one in built.report_of(table).findings if ", ".join(one.parts) == state.findings[0].parts
    )
    pieces = overlap_volume(built.prepared_of(table), finding)
    wanted = float(pieces.volumes.sum())
    assert volume_of(item) == pytest.approx(wanted, rel=1e-3)
    points = in_scene(item) * 1000
    np.testing.assert_allclose(points.min(axis=0), pieces.vertices.min(axis=0), atol=1e-3)
    np.testing.assert_allclose(points.max(axis=0), pieces.vertices.max(axis=0), atol=1e-3)
    assert f"share {wanted / 1000:.3g} cm³" in state.overlap
    assert bpy.ops.dry_assembly.show_overlap() == {"FINISHED"}
    assert len([one for one in bpy.data.objects if one.get(ids.OVERLAP)]) == 1
    assert bpy.ops.dry_assembly.hide_overlap() == {"FINISHED"}
    assert (set(bpy.data.objects), set(bpy.data.meshes), set(bpy.data.collections)) == before
    assert not bpy.ops.dry_assembly.hide_overlap.poll()


def test_a_change_of_the_table_and_undo_take_the_overlap_volume_away(scene):
    tables.create_table(scene, LONG_RIB)
    pending.flush()
    bpy.ops.ed.undo_push(message="table")
    assert bpy.ops.dry_assembly.show_overlap("EXEC_DEFAULT", True) == {"FINISHED"}
    bpy.ops.ed.undo()
    assert not [one for one in bpy.data.objects if one.get(ids.OVERLAP)]
    assert not first().overlap
    bpy.ops.ed.redo()
    assert len([one for one in bpy.data.objects if one.get(ids.OVERLAP)]) == 1
    assert first().overlap
    first().parameters.table.height = 0.8
    assert not [one for one in bpy.data.objects if one.get(ids.OVERLAP)]
    assert not first().overlap


def test_notes_have_no_overlap_volume(scene):
    tables.create_table(scene, QUILTING)
    pending.flush()
    assert first().findings[0].severity == "note"
    with pytest.raises(RuntimeError, match="not about parts in each other's way"):
        bpy.ops.dry_assembly.show_overlap()
    tables.create_table(scene, LONG_RIB)
    assert overlap.show(access.tables_in(scene)[1], 0) is not None
    addon.unregister()
    assert not [one for one in bpy.data.objects if one.get(ids.OVERLAP)]
    addon.register()


def test_the_span_is_kept_with_the_finding(scene):
    state = tables.create_table(scene, LONG_RIB)
    (finding,) = built.report_of(access.table_in(state)).findings
    item = state.findings[0]
    assert item.span_text == "4.0 mm"
    ends = np.array([item.span_from, item.span_to]) * 1000
    np.testing.assert_allclose(ends, finding.span, atol=1e-4)
    assert math.dist(*ends) == pytest.approx(4.0, abs=1e-4)
