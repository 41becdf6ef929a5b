"""Rendered pictures on paper: in register with the exact lines, by shapely 2.2.0 and SciPy 1.17.1; files by Pillow
13.0.0 and pypdf 7.1.1."""

from __future__ import annotations

import io
import json
import re
from itertools import cycle, product
from pathlib import Path

import bpy
import numpy as np
import pypdf
import pytest
import shapely
from mathutils import Matrix
from PIL import Image as Pillow
from scipy import ndimage

from addon.command_line.main import main
from addon.paper.sheet.raster import dots
from addon.paper.sheet.save import svg_text
from addon.paper.table_page import line_picture
from addon.paper.views import VIEWS, view_from
from addon.scene import built
from addon.scene.pictures import engines, on_paper, rendering
from addon.sizes.errors import ExportError
from addon.wood.roles import LEAF, SIDE
from tests.large import sampled
from tests.old_tables import EXAMPLES

from ..line_samples import triangles_of
from .conftest import QUILTING, first
from .test_picture_buttons import Renders, census

DPI = 80
LOOKS = [("shaded", "covered"), ("transparent", "stowed")]


def made(style: str, view: str, leaves: str, example: str = "quilting", dpi: float = DPI):
    """Table, page, frame and dots with their share."""
    table = built.table_of(EXAMPLES[example].text())
    page = on_paper.page_of(table, on_paper.Choice(style, view=view, leaves=leaves))
    frame = page.frame(dpi)
    return table, page, frame, on_paper.raster(table, page, frame, "workbench")


def silhouette(table, page, frame) -> shapely.Geometry:
    """What the table covers, in dots of the picture, from its lower left corner."""
    assembly = built.assembly_of(table)
    places = assembly.cover if page.leaves == "covered" else {}
    flat = (triangles_of(assembly.parts, places) - frame.middle) @ frame.axes[:2].T
    flat = (flat / (frame.width, frame.height) + 0.5) * (frame.columns, frame.rows)
    shapes = [shapely.Polygon(one) for one in flat]
    covered = shapely.union_all([one for one in shapes if one.area > 1e-6])
    return covered.buffer(1e-3, join_style="mitre").buffer(-1e-3, join_style="mitre")


@pytest.mark.parametrize(
    ("view", "style", "leaves"),
    sampled(
        [(view, *look) for view, look in zip(VIEWS, cycle(LOOKS), strict=False)],
        [(view, *look) for view, look in product(VIEWS, LOOKS)],
    ),
)
def test_the_rendered_silhouette_is_that_of_the_exact_outline(empty, style, leaves, view):
    table, page, frame, pixels = made(style, view, leaves)
    assert pixels.shape == (frame.rows, frame.columns, 4)
    covered = silhouette(table, page, frame)
    share = pixels[::-1, :, 3] / 255
    inside = share > (0.5 if style == "shaded" else 0.05)
    row, column = np.nonzero(inside ^ ndimage.binary_erosion(inside, border_value=0))
    points = shapely.points(column + 0.5, row + 0.5)
    away = shapely.distance(points, covered.boundary)
    # The middles of the outermost dots inside lie half a dot off the border on average.
    assert away.mean() < 0.75
    assert np.quantile(away, 0.99) < 1.5
    along = [covered.boundary.interpolate(at) for at in np.arange(0, covered.boundary.length, 1.0)]
    spots = np.array([(one.x, one.y) for one in along])
    off = ndimage.distance_transform_edt(~(inside ^ ndimage.binary_erosion(inside, border_value=0)))
    at = np.clip(spots.astype(int), 0, (frame.columns - 1, frame.rows - 1))
    assert off[at[:, 1], at[:, 0]].mean() < 1.0
    if style == "shaded":
        assert abs(share.sum() - covered.area) < 0.2 * covered.boundary.length


def test_faces_are_the_lighter_the_more_they_look_at_the_light(empty):
    """Top, front and right differ in this order, so that a gray print shows them apart."""
    _, page, frame, pixels = made("shaded", "isometric", "covered")
    assembly = built.assembly_of(built.table_of(QUILTING))
    gray = pixels[:, :, :3] @ (0.2126, 0.7152, 0.0722)  # ITU-R BT.709
    found = {}
    for name, normal in {"top": (0, 0, 1), "front": (0, -1, 0), "right": (1, 0, 0)}.items():
        faces = page.surface.normals @ page.surface.axes @ np.array(normal) > 0.999
        of_side = np.array([part.role == SIDE for part in assembly.parts])[page.surface.part]
        corners = page.surface.points[page.surface.triangles]
        area = shapely.area([shapely.Polygon(one[:, :2]) for one in corners]) * (faces & of_side)
        depth = np.where(area > 0.3 * area.max(), corners[:, :, 2].mean(axis=1), -np.inf)
        nearest = corners[np.argmax(depth), :, :2].mean(axis=0)
        at = (nearest * page.layout.scale + page.layout.place - frame.box[:2]) / 25.4 * DPI
        column, row = np.floor(at).astype(int)
        found[name] = gray[frame.rows - 1 - row, column]
    assert found["top"] > found["front"] + 15
    assert found["front"] > found["right"] + 8


@pytest.mark.parametrize("view", ["isometric", "below", "front", "right"])
def test_leaves_stand_out_in_a_transparent_body(empty, view):
    """Their outlines are dark dots on the paper, their faces colored, the body around them pale gray."""
    table, page, frame, pixels = made("transparent", view, "stowed", dpi=120)
    drawing = page.drawing("2031-05-17", frame, pixels)
    picture = dots(drawing, 120).astype(float)
    outlines = [item for item in drawing.items if item.name == "outlines" and item.pen.width == 0.5]
    paths = [path for item in outlines for path in item.paths]
    assert paths
    for path in paths:
        line = shapely.LineString(path)
        spots = np.array([line.interpolate(at).coords[0] for at in np.linspace(0.2, line.length - 0.2, 9)])
        row = ((drawing.height - spots[:, 1]) / 25.4 * 120).astype(int)
        column = (spots[:, 0] / 25.4 * 120).astype(int)
        assert np.median(picture[row, column].max(axis=1)) < 90
    color = pixels[:, :, 0].astype(float) - pixels[:, :, 2]
    opaque = pixels[:, :, 3] > 250
    pale = (pixels[:, :, 3] > 20) & ~opaque
    assert np.median(color[opaque]) > 35
    assert np.median(np.abs(color[pale])) < 25
    on_paper = 255 - pixels[:, :, 3][pale] / 255 * (255 - pixels[:, :, 1][pale].astype(float))
    assert np.median(on_paper) > 175
    leaves = [part for part in built.assembly_of(table).parts if part.role == LEAF]
    flat = (triangles_of(leaves) - frame.middle) @ frame.axes[:2].T / (frame.width, frame.height) + 0.5
    shapes = [shapely.Polygon(one * (frame.columns, frame.rows)) for one in flat]
    covered = shapely.union_all([one for one in shapes if one.area > 1e-6])
    assert covered.buffer(-1).area <= opaque.sum() <= covered.buffer(1).area


def test_rendered_shows_light_and_shadow(empty):
    _, _, _, pixels = made("rendered", "isometric", "covered", "seed-bench")
    there = pixels[:, :, 3] > 250
    assert 0.1 < there.mean() < 0.5
    assert np.ptp(np.quantile(pixels[there][:, :3].mean(axis=1), (0.02, 0.98))) > 50


@pytest.mark.once
def test_cycles_renders_the_same_frame(empty, monkeypatch):
    monkeypatch.setattr(engines, "SAMPLES_FINER", 4)
    table = built.table_of(QUILTING)
    page = on_paper.page_of(table, on_paper.Choice("rendered", engine="cycles", view="below"))
    frame = page.frame(30)
    pixels = on_paper.raster(table, page, frame, "cycles")
    covered = silhouette(table, page, frame)
    assert (pixels[:, :, 3] / 255).sum() == pytest.approx(covered.area, rel=0.03)


def test_a_picture_leaves_the_scene_as_it_was(state, tmp_path):
    before = census()
    on_paper.save_picture(
        built.table_of(QUILTING), tmp_path / "a.svg", on_paper.Choice("shaded", dpi=40), "2031-05-17"
    )
    assert census() == before
    assert {item.name for item in bpy.data.images} <= {"Render Result"}
    assert (tmp_path / "a.svg").read_text().count("data:image/png;base64,") == 1


def test_a_name_that_says_no_kind_of_file_is_refused_before_anything_is_rendered(
    empty, tmp_path, monkeypatch
):
    monkeypatch.setattr(engines, "render_picture", lambda _scene: pytest.fail("rendered"))
    with pytest.raises(ExportError, match=re.escape("has to end in .svg, .png or .pdf")):
        on_paper.save_picture(
            built.table_of(QUILTING), tmp_path / "a.bmp", on_paper.Choice("shaded"), "2031-05-17"
        )


def test_command(empty, tmp_path, capsys):
    table, pdf, png = (tmp_path / name for name in ("table.toml", "a.pdf", "a.png"))
    assert main(["new", str(table)]) == 0
    capsys.readouterr()
    arguments = ["--style", "transparent", "--view", "front", "--size", "A3", "--dpi", "50"]
    assert main(["render", str(table), "--image", str(pdf), *arguments, "--labels", "--json"]) == 0
    assert json.loads(capsys.readouterr().out.splitlines()[-1]) == {"image": str(pdf)}
    (page,) = pypdf.PdfReader(pdf).pages
    assert float(page.mediabox.width) == pytest.approx(420 / 25.4 * 72, abs=1e-3)
    words = page.extract_text()
    for part in ("Front view, leaves stowed, body transparent", "1:", "Quilting table", "L1"):
        assert part in words
    assert len(page.images) == 1
    assert (
        main(["render", str(table), "--image", str(png), "--style", "shaded", "--size", "A4", "--dpi", "50"])
        == 0
    )
    picture = Pillow.open(io.BytesIO(png.read_bytes()))
    assert picture.size == (round(297 / 25.4 * 50), round(210 / 25.4 * 50))
    assert picture.info["dpi"] == pytest.approx((50, 50), abs=0.02)


@pytest.fixture
def folder(state, tmp_path) -> Path:
    """Where the pictures of the quilting table go."""
    bpy.context.scene.dry_assembly.pictures_folder = str(tmp_path)
    return tmp_path


@pytest.mark.parametrize("style", ["lines", "shaded", "transparent", "rendered"])
@pytest.mark.parametrize("kind", ["pdf", "svg", "png"])
def test_the_button_saves_what_is_chosen(folder, style, kind):
    sheet = bpy.context.scene.dry_assembly.sheet
    sheet.style, sheet.view, sheet.format, sheet.dpi, sheet.size = style, "right", kind, 40, "A3"
    assert sheet.leaves == ("stowed" if style == "transparent" else "covered")
    before = census()
    assert bpy.ops.dry_assembly.save_picture() == {"FINISHED"}
    stowed = "-stowed" if style == "transparent" else ""
    (path,) = folder.iterdir()
    assert path.name == f"quilting-table-{style}-right{stowed}.{kind}"
    assert bpy.context.scene.dry_assembly.picture_saved == f"Saved {path}"
    assert census() == before
    if kind == "png":
        assert Pillow.open(path).size == (round(420 / 25.4 * 40), round(297 / 25.4 * 40))


def test_lines_from_the_button_are_those_of_the_command(folder):
    sheet = bpy.context.scene.dry_assembly.sheet
    sheet.view, sheet.format, sheet.labels = "front", "svg", True
    assert bpy.ops.dry_assembly.save_picture() == {"FINISHED"}
    (path,) = folder.iterdir()
    table = built.table_of(QUILTING)
    assembly, answer = built.assembly_of(table), built.told(table).table
    wanted = line_picture(assembly, date="X", view="front", labels=True, answer=answer)
    lines = [line for line in svg_text(wanted).splitlines() if "<path" in line]
    assert [line for line in path.read_text(encoding="utf-8").splitlines() if "<path" in line] == lines


@pytest.mark.parametrize(
    "named", ["isometric", "front", "right", "top", "below"], ids=lambda name: f"as {name}"
)
def test_as_in_the_3d_view(folder, named):
    """The view's axes put together from the direction that is passed on are those that the 3D view has."""
    sheet = bpy.context.scene.dry_assembly.sheet
    sheet.view, sheet.format = "view-3d", "svg"
    first().root.rotation_euler.z = 0.7
    bpy.context.view_layer.update()
    axes = VIEWS[named].axes if named != "below" else view_from("-45,-40").axes
    looking = Matrix.Rotation(0.7, 3, "Z") @ Matrix(axes.T.tolist())
    direction = on_paper.direction_of(first(), looking.to_quaternion())
    assert np.allclose(view_from(direction).axes, axes, atol=np.radians(0.06))
    on_paper.kind_of(first(), "X", looking.to_quaternion()).render(
        built.table_of(QUILTING), folder / "one.svg"
    )
    table = built.table_of(QUILTING)
    answer = built.told(table).table
    wanted = line_picture(built.assembly_of(table), date="X", view=direction, answer=answer)
    assert (folder / "one.svg").read_text(encoding="utf-8") == svg_text(wanted)


def test_without_a_3d_view_there_is_no_direction(folder):
    bpy.context.scene.dry_assembly.sheet.view = "view-3d"
    with pytest.raises(RuntimeError, match="No 3D view to look from"):
        bpy.ops.dry_assembly.save_picture()
    assert not list(folder.iterdir())


@pytest.mark.parametrize("stopped", [False, True])
def test_in_the_background_the_old_file_stays_until_the_new_one_is_whole(folder, monkeypatch, stopped):
    sheet = bpy.context.scene.dry_assembly.sheet
    sheet.style, sheet.format, sheet.dpi = "shaded", "pdf", 40
    before = census()
    kind = on_paper.kind_of(first(), "2031-05-17")
    path = rendering.path_of(first(), kind.ending)
    path.write_bytes(b"old")
    Renders(monkeypatch, stopped=stopped)
    job = rendering.Rendering(first(), kind)
    assert path.read_bytes() == b"old"
    assert job.finish() is not stopped
    if stopped:
        assert path.read_bytes() == b"old"
    else:
        assert "Quilting table" in pypdf.PdfReader(path).pages[0].extract_text()
    assert [item.name for item in folder.iterdir()] == [path.name]
    assert census() == before
