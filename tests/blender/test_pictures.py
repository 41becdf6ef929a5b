"""Pictures show what they should: known parts in their colors at their projected places."""

from __future__ import annotations

from dataclasses import replace

import bpy
import numpy as np
import pytest

from addon.designs.table import build
from addon.designs.table.design import check
from addon.designs.table.parameters import AsCut
from addon.files.examples import EXAMPLES as EXAMPLES_NOW
from addon.scene.built import objects_of
from addon.scene.description import describe
from addon.scene.materials import tone_of
from addon.scene.motion import animation
from addon.scene.pictures import engines, framing, pictures
from addon.scene.pictures.studio import PAPER, flat_camera, studio
from addon.wood.roles import BOTTOM, LEAF, RIB, SIDE
from tests.old_tables import EXAMPLES

TABLE = EXAMPLES["quilting"].table()
SIZE = (320, 200)


def pixels(path) -> np.ndarray:
    """(height, width, 3) float sRGB, the first row the uppermost."""
    image = bpy.data.images.load(str(path))
    image.colorspace_settings.name = "Non-Color"
    values = np.empty(image.size[0] * image.size[1] * image.channels, dtype=np.float32)
    image.pixels.foreach_get(values)
    found = values.reshape(image.size[1], image.size[0], image.channels)[::-1, :, :3]
    bpy.data.images.remove(image)
    return found


def srgb(linear) -> np.ndarray:
    """IEC 61966-2-1, from memory."""
    linear = np.asarray(linear, dtype=float)
    return np.where(linear <= 0.0031308, 12.92 * linear, 1.055 * linear ** (1 / 2.4) - 0.055)


def color_at(picture: np.ndarray, view: framing.View, place) -> np.ndarray:
    """Color of the pixel in which a place, m, is seen."""
    x, y = view.project(np.array([place]))[0] / [view.width, view.height]
    return picture[int((0.5 - y) * picture.shape[0]), int((0.5 + x) * picture.shape[1])]


def hue(color) -> np.ndarray:
    """A color without its brightness."""
    return np.asarray(color) / np.sum(color)


@pytest.fixture
def shot(empty, tmp_path):
    """Renders the open body from above, leaves where the test wants them; picture and view."""

    def render(prepare) -> tuple[np.ndarray, framing.View]:
        made = objects_of(TABLE)
        view = framing.fit(pictures.corners(made), framing.axes_of(89.0, 0.0), SIZE, (0.02, 0.02, 0.02, 0.02))
        with studio(made, "drawing", SIZE, lambda part: part.role != BOTTOM) as room:
            flat_camera(room, view)
            prepare(room.parts, {part.label: part for part in made.parts})
            engines.quick(room.scene)
            engines.picture_file(room.scene, tmp_path / "shot.png")
            engines.render_picture(room.scene)
        return pixels(tmp_path / "shot.png"), view

    return render


def bay(assembly) -> tuple[float, float, float]:
    """A place in the middle bay where a lower leaf lies stowed and nothing above it: m."""
    leaf = assembly.by_label["L3"]
    middle = leaf.placement.to_table(np.array([[0.5 * leaf.shape.size[0], 0.5 * leaf.shape.size[1], 0.0]]))[0]
    return (0.05, middle[1] / 1000.0, middle[2] / 1000.0)


def test_a_leaf_at_home_is_seen_through_the_open_body_and_gone_while_it_is_outside(shot):
    place = bay(build(TABLE))

    def at_home(parts, described):
        for label in ("L1", "L2", "L3", "L4"):
            animation.stow(parts[label], described[label])

    def outside(parts, described):
        at_home(parts, described)
        parts["L3"].location.x += 3.0
        parts["L4"].location.x -= 3.0

    with_leaf, view = shot(at_home)
    without, _ = shot(outside)
    leaf_hue, paper_hue = hue(srgb(tone_of(LEAF).screen)), hue(srgb(PAPER))
    assert hue(color_at(with_leaf, view, place)) == pytest.approx(leaf_hue, abs=0.06)
    assert hue(color_at(without, view, place)) == pytest.approx(paper_hue, abs=0.03)


def test_the_cover_hides_the_ribs_and_each_role_has_its_color(shot):
    covered, view = shot(lambda parts, described: None)
    opened, _ = shot(
        lambda parts, described: [animation.stow(parts[f"L{n}"], described[f"L{n}"]) for n in (1, 2, 3, 4)]
    )
    on_rib = (0.139, 0.30, 0.70)  # the through rib at x = 139
    on_side = (0.0, -0.475, 0.77)
    rib, leaf, side = (hue(srgb(tone_of(role).screen)) for role in (RIB, LEAF, SIDE))
    assert np.abs(leaf - rib).max() > 0.1
    assert hue(color_at(covered, view, on_rib)) == pytest.approx(leaf, abs=0.06)
    assert hue(color_at(opened, view, on_rib)) == pytest.approx(rib, abs=0.06)
    for picture in (covered, opened):
        assert hue(color_at(picture, view, on_side)) == pytest.approx(side, abs=0.06)
        assert picture[1, 1] == pytest.approx(srgb(PAPER), abs=0.02)


def test_the_stowed_picture_rings_the_tightest_place_in_color(empty, tmp_path):
    size = (640, 400)
    pictures.stowed(
        replace(TABLE, as_cut=(AsCut("S1", "slot_height", deviation=-1.2),)), tmp_path / "tight.png", size
    )
    pictures.stowed(
        replace(TABLE, as_cut=(AsCut("S1", "slot_height", deviation=-2.0),)), tmp_path / "blocked.png", size
    )
    tight, blocked = pixels(tmp_path / "tight.png"), pixels(tmp_path / "blocked.png")

    def blue(picture) -> np.ndarray:  # Okabe and Ito's #0072B2, lit and blended: far more blue than red
        return picture[..., 2] - picture[..., 0] > 0.3

    def vermilion(picture) -> np.ndarray:  # their #D55E00; wood has at least 0.6 as much green as red
        return (picture[..., 0] > 0.5) & (picture[..., 1] < 0.57 * picture[..., 0])

    assert blue(tight).sum() > 100 > 5 > vermilion(tight).sum()
    assert vermilion(blocked).sum() > 50 > 5 > blue(blocked).sum()
    # The ring is around the slot in the front side: its middle is seen where the place is projected.
    at = (
        np.array(check(replace(TABLE, as_cut=(AsCut("S1", "slot_height", deviation=-2.0),))).leaves[0].at)
        / 1000.0
    )
    made = objects_of(TABLE)
    points = pictures.corners(made, pictures.is_shown_open, stowed=True)
    view = framing.fit(points, framing.axes_of(*pictures.INTO), size, pictures.BESIDE)
    x, y = view.project(at)[0] / [view.width, view.height]
    column, row = int((0.5 + x) * size[0]), int((0.5 - y) * size[1])
    around = vermilion(blocked)[row - 14 : row + 15, column - 14 : column + 15]
    rows, columns = np.nonzero(around)
    assert len(rows) > 25
    assert (rows.min() + rows.max()) / 2 == pytest.approx(14, abs=2)
    assert (columns[rows < 10].min() + columns[rows < 10].max()) / 2 == pytest.approx(14, abs=3)


def test_the_assembled_picture_shows_the_table_on_light_ground(empty, tmp_path, monkeypatch):
    monkeypatch.setattr(engines, "SAMPLES", 1)
    pictures.assembled(TABLE, tmp_path / "table.png", SIZE)
    picture = pixels(tmp_path / "table.png")
    assert picture.shape[:2] == (SIZE[1], SIZE[0])
    middle, corner = picture[44:56, 140:180].mean(axis=(0, 1)), picture[-20:, :20].mean(axis=(0, 1))
    assert middle[0] - middle[2] > 0.2  # wood is warm
    assert abs(corner[0] - corner[2]) < 0.1  # the ground is gray
    assert corner.mean() > middle.mean()


def test_pictures_leave_nothing_behind_and_touch_nothing(scene, tmp_path):
    from addon.scene import access, tables

    state = tables.create_table(scene, EXAMPLES["quilting"].text())
    engine, path = scene.render.engine, scene.render.filepath
    kinds = (
        "objects",
        "meshes",
        "curves",
        "cameras",
        "lights",
        "worlds",
        "collections",
        "actions",
        "scenes",
        "fonts",
    )
    before = {kind: {item.name for item in getattr(bpy.data, kind)} for kind in kinds if kind != "fonts"}
    pictures.stowed(access.table_in(state), tmp_path / "stowed.png", (64, 40))
    assert {kind: {item.name for item in getattr(bpy.data, kind)} for kind in before} == before
    assert (scene.render.engine, scene.render.filepath) == (engine, path)
    assert not [handler for handler in bpy.app.handlers.render_post if "addon" in str(handler)]


def test_what_holds_a_leg_is_left_out_with_it():
    """Two bolts go with each of four legs; screws that go with sides, ribs and blocks stay."""
    made = describe(build(EXAMPLES_NOW["quilting"].table()))
    shown = {part.label for part in made.parts if pictures.is_shown_open(part)}
    gone = sorted(part.role.word for part in made.parts if part.label not in shown)
    assert gone == ["bolt"] * 8 + ["bottom"] + ["leg"] * 8
