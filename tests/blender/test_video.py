"""The video: its frames, read back by PyAV, which is not Blender's own reader; the strip and the inset in them."""

from __future__ import annotations

from dataclasses import replace

import bpy
import numpy as np
import pytest

from addon.designs.table.design import check
from addon.designs.table.parameters import AsCut
from addon.paper.sheet import Drawing
from addon.paper.sheet.lettering import text_box
from addon.scene import built, jobs, tables
from addon.scene.built import prepared_of, proofs_of, report_of
from addon.scene.motion import timeline
from addon.scene.pictures import video, video_layers
from addon.scene.pictures.video_script import STEP, script_of
from addon.sizes.errors import ExportError
from tests.old_tables import EXAMPLES

av = pytest.importorskip("av")

TABLE = EXAMPLES["seed-bench"].table()
COLLIDING = replace(EXAMPLES["quilting"].table(), as_cut=(AsCut("R3", "window_height", deviation=-2.5),))
"""L3 and L4 overlap the rib R3 by 1.0 mm, as in test_running."""


def script(table):
    return script_of(table, prepared_of(table), report_of(table).leaves, proofs_of(table))


def test_the_video_has_its_frames_its_strip_and_its_inset(empty, tmp_path):
    size, counted = (240, 150), []
    frames = video.video(TABLE, tmp_path / "video.mp4", size, lambda done, of: counted.append((done, of)))
    told = script(TABLE)
    assert frames == len(told.moments) == len(range(told.line.first, told.line.last + 1, STEP))
    assert counted == [(done, frames) for done in range(1, frames + 1)]
    with av.open(str(tmp_path / "video.mp4")) as read:
        stream = read.streams.video[0]
        assert (stream.codec_context.name, stream.codec_context.pix_fmt) == (
            "h264",
            "yuv420p",
        )  # what browsers play
        assert stream.average_rate == timeline.FRAME_RATE / STEP
        decoded = [frame.to_ndarray(format="rgb24").astype(float) for frame in read.decode(video=0)]
    assert len(decoded) == frames
    assert decoded[0].shape == (150, 240, 3)
    _has_strip_and_inset(decoded, told, size)
    assert np.abs(decoded[frames // 2] - decoded[0]).mean() > 2.0  # leaves move
    assert np.abs(decoded[-1] - decoded[-2]).mean() < 1.0  # at rest at the end


def test_the_lines_of_the_answer_are_said_at_the_start_and_at_the_end(empty, tmp_path):
    told, answer = script(COLLIDING), built.told(COLLIDING).table
    painter = video_layers.Painter(COLLIDING, prepared_of(COLLIDING), None, None, "D", tmp_path, answer)
    assert answer[0].short == "blocked by 1.0 mm"
    for moment, wanted in (
        (told.moments[0], True),
        (told.moments[len(told.moments) // 2], False),
        (told.moments[-1], True),
    ):
        drawing = Drawing(video_layers.HEIGHT * 16 / 9, video_layers.STRIP * video_layers.HEIGHT)
        painter._draw_strip(drawing, moment)
        said = [item for item, _ in drawing.texts()]
        for line in answer:
            assert (f"{line.name}: {line.short}" in [item.text for item in said]) == wanted
        assert all(text_box(item)[2] <= drawing.width for item in said)
        assert all(item.size >= video_layers.SMALL * 0.8 for item in said)


def _has_strip_and_inset(decoded, told, size):
    """The strip is white and has words that change; the inset is there while a leaf is at its tightest."""
    height = round(video_layers.STRIP * size[1])
    strips = [frame[-height + 1 :] for frame in decoded]
    for strip in strips:
        assert np.median(strip) > 245
        assert strip.min() < 120
    kinds = [moment.kind for moment in told.moments]
    cover, tight = kinds.index("cover"), kinds.index("tightest")
    assert np.abs(strips[cover] - strips[tight]).mean() > 3.0
    # The paper behind the table is gray (238 of 255): white is only in the inset, whose leaf is pale blue.
    white = [(frame[:-height] > 248).all(axis=2) for frame in (decoded[cover], decoded[tight])]
    room = video_layers.INSET[0] * video_layers.INSET[1] * size[0] * size[1]
    assert white[0].sum() < 0.02 * room
    assert white[1].sum() > 0.2 * room
    rows, columns = np.nonzero(white[1])
    assert np.ptp(columns) <= video_layers.INSET[0] * size[0] + 2
    assert np.ptp(rows) <= video_layers.INSET[1] * size[1] + 2


def test_the_video_waits_at_the_tightest_place_and_at_the_snag(empty):
    told = script(TABLE)
    results = {result.leaf: result for result in check(TABLE).leaves}
    for leaf, result in results.items():
        held = [one for one in told.moments if one.kind == "tightest" and one.pose.leaf == leaf]
        assert len(held) >= timeline.PAUSE // STEP
        assert [one.pose.travel for one in held] == pytest.approx([result.travel] * len(held))
        assert held[0].pose.clearance == pytest.approx(result.clearance, abs=1e-6)
        assert held[0].clearance == "clearance 0.062 in to S1"  # the file's clearance, in its unit
        snags = [one for one in told.moments if one.kind == "snag" and one.pose.leaf == leaf]
        assert len(snags) >= timeline.PAUSE // STEP
        assert snags[0].snag.opening in snags[0].words
        assert snags[0].pose.travel == pytest.approx(snags[0].snag.pose.travel)
    assert (
        min(one.pose.clearance for one in told.moments if one.pose)
        >= min(result.clearance for result in results.values()) - 1e-6
    )


def test_a_collision_is_said_in_words(empty):
    told = script(COLLIDING)
    held = [one for one in told.moments if one.kind == "tightest" and one.pose.leaf == "L3"]
    assert {one.words for one in held} <= {"L3 at its tightest", "L3 collides"}
    after = [one for one in told.moments if one.kind == "stowed" and one.pose.leaf == "L3"]
    assert after[0].clearance == "overlaps R3 by 1.0 mm"


def test_the_inset_lies_in_the_corner_where_it_hides_the_least():
    body = np.array([(0.0, 0.1), (0.6, 0.1), (0.6, 0.9), (0.0, 0.9)])
    everything = np.array([(0.0, 0.1), (1.0, 0.1), (0.6, 0.9), (0.0, 0.9)])
    places = video_layers.places_of((960, 600), body, everything)
    left, bottom, width, height = places.inset
    assert (left + width, bottom + height) == (960 - 8, 600 - 8)
    assert all(value % 2 == 0 for value in (*places.inset, *places.strip))


def test_a_video_leaves_nothing_behind(empty, tmp_path):
    kinds = ("objects", "meshes", "curves", "cameras", "worlds", "collections", "actions", "scenes", "images")
    before = {kind: {item.name for item in getattr(bpy.data, kind)} for kind in kinds}
    with video.video_scene(TABLE, tmp_path / "video.mp4", (64, 40)) as scene:
        assert scene.render.image_settings.file_format == "FFMPEG"
    assert {kind: {item.name for item in getattr(bpy.data, kind)} for kind in kinds} == before
    assert not [handler for handler in bpy.app.handlers.render_post if "addon" in str(handler)]


def test_no_video_is_kept_whose_layers_could_not_be_drawn(empty, tmp_path, monkeypatch):
    painted = []

    def failing(painter, frame):
        painted.append(frame)
        if len(painted) == 3:
            raise OSError("no room on the disk")

    monkeypatch.setattr(video_layers.Painter, "paint", failing)
    target = tmp_path / "video.mp4"
    message = "video.mp4 cannot be written: no room on the disk"
    with pytest.raises(ExportError, match=message), jobs.written(target) as path:
        video.video(TABLE, path, (64, 40))
    assert painted == [1, 1 + STEP, 1 + 2 * STEP]  # frame after frame, and not after the error
    assert list(tmp_path.iterdir()) == []
    assert not [handler for handler in bpy.app.handlers.render_pre if "addon" in str(handler)]


def test_the_job_puts_the_video_in_its_place(empty, tmp_path, monkeypatch):
    """Without the minutes that rendering takes: what makes the video is told where to write, and says its frames."""

    def made(table, path, progress=None):
        assert table == TABLE
        path.write_bytes(b"video")
        progress(1, 7)
        return 7

    monkeypatch.setattr(video, "video", made)
    said = []
    target = tmp_path / "video.mp4"
    assert jobs.animate(EXAMPLES["seed-bench"].text(), target, lambda *frames: said.append(frames)) == 7
    assert said == [(1, 7)]
    assert {path.name: path.read_bytes() for path in tmp_path.iterdir()} == {"video.mp4": b"video"}


def test_the_button_saves_a_strip_for_each_leaf(scene, tmp_path):
    tables.create_table(scene, EXAMPLES["seed-bench"].text())
    bpy.context.scene.dry_assembly.pictures_folder = str(tmp_path)
    bpy.context.scene.dry_assembly.sheet.format = "svg"
    assert bpy.ops.dry_assembly.save_filmstrips() == {"FINISHED"}
    (own,) = tmp_path.iterdir()
    assert sorted(path.name for path in own.iterdir()) == ["L1-filmstrip.svg", "L2-filmstrip.svg"]
    assert bpy.context.scene.dry_assembly.picture_saved == f"Saved 2 files in {own}"
