"""How fast the check is, as times and ratios measured in one run: ``python3 scripts/bench.py [--repeat N]``.

``--base CHECKOUT`` measures another checkout in turn with this one, prints the ratios, and ends with 1 where a figure
is worse by more than a tenth (`bench_pairs`); ``--numbers`` leaves out Blender.
The large table is not compared: its figures have their own bounds.

Times depend on the machine and on what else it does; each is the best of several runs. The comparison is with
python-fcl: meshes of leaf and parts, collided at 240 places along each way.
"""

from __future__ import annotations

import argparse
import gc
import time
from dataclasses import replace

import bench_pairs
import environment
import standard_output

SAMPLES = 240
"""Places along a leaf's way at which the comparison looks."""
DRAGGED = (
    ("table", "height"),
    ("table", "length"),
    ("well", "depth"),
    ("leaves", "gap"),
    ("stowing", "side_clearance"),
)
"""Section and name of the lengths that are dragged in Blender: few parts change with the first, many with the rest."""

SHADED_DPI = 165
"""An A4 sheet then has 1929 by 1364 dots."""

VIDEO_FRAMES = 120

LARGE = (14, 15)
"""Through ribs and rows of a table with 618 parts."""

LARGE_VERBS = {
    "check": ["check"],
    "slide": ["slide"],
    "tolerance": ["tolerance"],
    "line drawing": ["draw", "--image", "lines.pdf"],
    "exploded view": ["draw", "--exploded", "--labels", "--image", "exploded.pdf"],
    "filmstrips": ["draw", "--filmstrip", "--image", "filmstrip.pdf"],
    "order of assembly": ["steps"],
    "variants side by side": ["compare", "--variant", "legs.width=80", "--image", "variants.pdf"],
    "export": ["export", "--dir", "parts"],
}
"""What is asked of that table, each in a process of its own."""


def main() -> None:
    """Measure and print."""
    parser = argparse.ArgumentParser(
        description="How fast the check is, as times and ratios measured in one run"
    )
    parser.add_argument("--repeat", type=int, default=30, metavar="N", help="runs of each short measurement")
    parser.add_argument("--base", metavar="CHECKOUT", help="a checkout to compare with, measured in turn")
    parser.add_argument("--numbers", action="store_true", help="with --base: without Blender")
    options = parser.parse_args()
    environment.enter("test")
    if options.base:
        environment.enter("blender")
        extent = "numbers" if options.numbers else "all"
        worse = bench_pairs.compare(options.base, options.repeat, extent)
        environment.leave(int(worse))
    rows = measure(options.repeat)
    environment.enter("blender")
    standard_output.keep_pure()
    rows += measure_blender(options.repeat)
    print("%-66s %12s %14s" % ("what", "measured", "wanted"))
    for what, measured, wanted in rows:
        print("%-66s %12s %14s" % (what, measured, wanted))
    environment.leave(0)


def best(run, repeat: int, clock=time.perf_counter) -> float:  # noqa: ANN001
    """Shortest time of several runs, seconds; as in timeit, without the garbage collector in between."""
    times = []
    gc.collect()
    gc.disable()
    try:
        for _ in range(repeat):
            start = clock()
            run()
            times.append(clock() - start)
    finally:
        gc.enable()
    return min(times)


def milliseconds(seconds: float) -> str:
    """A time for the table."""
    return "%.2f ms" % (1000 * seconds)


def measure(repeat: int) -> list:
    """Rows (what, measured, wanted) of everything that needs no Blender."""
    import numpy as np

    from addon.check.apart.explosion import coming_apart, explode
    from addon.check.matrix import leaf_matrix
    from addon.check.prepared import prepare
    from addon.check.progress import run_through
    from addon.check.slide.proof import prove_leaves
    from addon.check.tolerance.shop import Shop
    from addon.designs.table import build
    from addon.designs.table.design import check_prepared
    from addon.files.editing import set_values
    from addon.files.examples import EXAMPLES
    from addon.paper.filmstrip_page import filmstrips
    from addon.paper.steps.pages import step_files
    from addon.paper.table_page import line_picture

    table = EXAMPLES["quilting"].table()
    assembly = build(table)
    prepared = prepare(assembly)
    outside, well = table.table, table.well
    others = iter(
        [
            set_values(
                table,
                {
                    "table.length": outside.length + 0.1 * step,
                    "table.width": outside.width + 0.1 * step,
                    "table.height": outside.height + 0.1 * step,
                    "well.depth": well.depth + 0.01 * step,
                },
            )
            for step in range(1, repeat + 1)
        ]
    )

    def set_up() -> None:
        prepare(build(next(others)))  # a table of other sizes each time: hardly a board that is known

    def slide_all() -> None:
        prepared.slides(assembly.stow_paths, table.limits.min_clearance)

    set_up_time = best(set_up, repeat)
    proofs = prove_leaves(prepared)
    check_time = best(lambda: check_prepared(table, prepared, proofs), repeat)
    answer_time = best(lambda: check_prepared(table, prepared), repeat)
    facts = check_prepared(table, prepared).findings
    shop_time = best(lambda: run_through(Shop().steps(prepared, facts)), max(3, repeat // 5))
    known = Shop()
    run_through(known.steps(prepared, facts))
    again_time = best(lambda: run_through(known.steps(prepared, facts)), max(3, repeat // 5))
    kernel_time = best(slide_all, repeat)
    proof_time = best(lambda: prove_leaves(prepared), repeat)
    matrix_time = best(lambda: leaf_matrix(prepared), max(3, repeat // 5))
    drawing_time = best(lambda: line_picture(assembly, date=""), max(3, repeat // 5))
    explosion_time = best(
        lambda: explode(coming_apart(assembly, assembly.cover), np.full(6, 60.0)), max(3, repeat // 5)
    )
    steps_time = best(lambda: run_through(step_files(assembly, table.units, "png", date="")), 1)
    strips_time = best(lambda: filmstrips(table, prepared, date=""), 2)
    sampled_time, sampled_hits = _sampled(assembly)
    verdict = check_prepared(table, prepared).verdict
    same = (verdict == "blocked") == (sampled_hits > 0)
    larger = prepare(_ten_times(assembly))
    larger_proofs = prove_leaves(larger)
    larger_time = best(lambda: check_prepared(table, larger, larger_proofs), max(3, repeat // 5))
    return [
        ("quilting table: set-up (parts, convex pieces, bounds)", milliseconds(set_up_time), "<= 30 ms"),
        ("quilting table: full check after set-up", milliseconds(check_time), "<= 10 ms"),
        ("kernel: four leaves slid home against all parts", milliseconds(kernel_time), "<= 0.5 ms"),
        ("slide proof: four leaves in both views, tilt included", milliseconds(proof_time), "<= 20 ms"),
        ("the answer as drawn and by hand", milliseconds(answer_time), "<= 40 ms"),
        ("the answer in the shop: 200 random tables", milliseconds(shop_time), "<= 300 ms"),
        ("  ... of a table that differs in nothing", milliseconds(again_time), ""),
        ("any leaf, any slot, any way round: 64 cells", milliseconds(matrix_time), "<= 200 ms"),
        ("line drawing, isometric, hidden lines taken away", milliseconds(drawing_time), "<= 1000 ms"),
        ("exploded view: order, offsets, proof", milliseconds(explosion_time), "<= 500 ms"),
        ("pictures of all steps, A4 at 200 dots an inch", "%.1f s" % steps_time, "<= 40 s"),
        ("filmstrips of all leaves", "%.1f s" % strips_time, ""),
        ("mesh collision by python-fcl at %d places a leaf" % SAMPLES, milliseconds(sampled_time), ""),
        ("  ... that many times the kernel", "%.0f x" % (sampled_time / kernel_time), ">= 100 x"),
        ("  ... the same verdict", "yes" if same else "NO", "yes"),
        ("ten times the parts: full check, as a multiple", "%.1f x" % (larger_time / check_time), "<= 12 x"),
        *_shop_set(table, assembly),
        *_toleranced(assembly),
        *_large(),
    ]


def _shop_set(table, assembly) -> list:  # noqa: ANN001
    """Rows for the papers for the shop: until the first page is drawn, and all of them as files."""
    from addon.check.progress import run_through
    from addon.paper.shop.page import finished
    from addon.paper.shop.shop_set import MAKERS, shop_set_steps
    from addon.shop.job import job_steps

    def first_page() -> None:
        job = run_through(job_steps(table, assembly, ""))
        finished(next(iter(MAKERS[0][1](job))), job, 1, 1)

    first_time = best(first_page, 3)
    whole_time = best(lambda: run_through(shop_set_steps(table, assembly, date="")), 1)
    return [
        ("shop set: until its first page", "%.1f s" % first_time, "<= 2 s"),
        ("shop set: all pages, each alone and all in one file", "%.1f s" % whole_time, "<= 15 s"),
    ]


def _large() -> list:
    """Rows of a table with hundreds of parts: time and memory of each subcommand, from its start to its end."""
    import tempfile
    from pathlib import Path

    from addon.designs.table import build
    from addon.files.writer import new_table_text
    from large_table import large_table

    table = large_table(*LARGE)
    count = len(build(table).parts)
    rows = []
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "large.toml"
        file.write_text(new_table_text(table), encoding="utf-8")
        for what, (verb, *more) in LARGE_VERBS.items():
            seconds, megabytes = _run_alone([verb, str(file), "--json", *more], folder)
            measured = "%.1f s, %.0f MB" % (seconds, megabytes)
            rows.append(("%d parts: %s" % (count, what), measured, "<= 20 s, 1 GB"))
    return rows


def _run_alone(arguments: list, folder: str) -> tuple:
    """Seconds and greatest memory, MB, of the command line in a process of its own. Fails where it ends with 2."""
    import os
    import subprocess
    import sys

    program = "import sys; sys.path[:0] = [%r]; from addon.command_line.main import main; sys.exit(main(%r))"
    command = [sys.executable, "-c", program % (str(environment.ROOT), arguments)]
    start = time.perf_counter()
    process = subprocess.Popen(command, cwd=folder, stdout=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    seconds = time.perf_counter() - start
    if os.waitstatus_to_exitcode(status) not in (0, 1):
        environment.fail("%s failed" % " ".join(arguments))
    return seconds, used.ru_maxrss / (1e6 if sys.platform == "darwin" else 1e3)


def _toleranced(assembly) -> list:  # noqa: ANN001
    """Rows of the tolerance analysis: time of ten thousand tables, memory of ten times as many."""
    import tracemalloc

    from addon.check.tolerance.analysis import analyze

    seconds = best(lambda: analyze(assembly, count=10_000, guided=0, wanted=None), 3)
    tracemalloc.start()
    analyze(assembly, count=100_000, guided=0, wanted=None)
    megabytes = tracemalloc.get_traced_memory()[1] / 1e6
    tracemalloc.stop()
    return [
        ("10,000 toleranced tables, tilt included", milliseconds(seconds), "<= 2000 ms"),
        ("  ... and memory of 100,000", "%.0f MB" % megabytes, "<= 500 MB"),
    ]


def _ten_times(assembly):  # noqa: ANN001, ANN202
    """The assembly with nine more tables beside it, whose leaves stay stowed."""
    parts, joints = list(assembly.parts), list(assembly.joints)
    for number in range(1, 10):
        for part in assembly.parts:
            place = part.placement.moved([2000.0 * number, 0.0, 0.0])
            parts.append(replace(part, label="%s.%d" % (part.label, number), placement=place))
        for joint in assembly.joints:
            joints.append(replace(joint, a="%s.%d" % (joint.a, number), b="%s.%d" % (joint.b, number)))
    return replace(assembly, parts=tuple(parts), joints=tuple(joints))


def _sampled(assembly):  # noqa: ANN001, ANN202
    """Time and number of hits of the sampled comparison: broad phase by a tree, then triangle meshes."""
    import fcl
    import numpy as np

    from addon.wood.meshes.mesh import mesh_of

    def model(part):  # noqa: ANN001, ANN202
        mesh = mesh_of(part.shape)
        body = fcl.BVHModel()
        body.beginModel(len(mesh.vertices), len(mesh.triangles))
        body.addSubModel(part.placement.to_table(mesh.vertices), mesh.triangles)
        body.endModel()
        return fcl.CollisionObject(body, fcl.Transform())

    bodies = {part.label: model(part) for part in assembly.parts}
    hits = 0
    start = time.perf_counter()
    for path in assembly.stow_paths:
        manager = fcl.DynamicAABBTreeCollisionManager()
        manager.registerObjects(
            [body for label, body in bodies.items() if label not in (path.leaf, path.end_stop)]
        )
        manager.setup()
        leaf = bodies[path.leaf]
        for share in np.linspace(0.0, 1.0, SAMPLES):
            leaf.setTransform(fcl.Transform(path.offset_at(share * path.length - path.zero)))
            found = fcl.CollisionData()
            manager.collide(leaf, found, fcl.defaultCollisionCallback)
            hits += found.result.is_collision
        leaf.setTransform(fcl.Transform())
    return time.perf_counter() - start, hits


def measure_blender(repeat: int) -> list:
    """Rows of what needs Blender."""
    return [*_dragged(repeat), *_rendered(), *_videoed()]


def _videoed() -> list:
    """Rows for the video of the leaves: until its first frame, and with its first frames, set-up included."""
    import tempfile
    from pathlib import Path

    from addon.files.examples import EXAMPLES
    from addon.scene.pictures import engines, video

    table = EXAMPLES["quilting"].table()
    start = time.perf_counter()
    with tempfile.TemporaryDirectory() as folder, video.video_scene(table, Path(folder) / "f.mp4") as scene:
        begun = time.perf_counter() - start
        scene.frame_end = scene.frame_start + (VIDEO_FRAMES - 1) * scene.frame_step
        engines.render_video(scene)
        seconds = time.perf_counter() - start
    return [
        ("video of the leaves: until the first frame", "%.1f s" % begun, ""),
        ("video of the leaves: %d frames of 960 by 600" % VIDEO_FRAMES, "%.0f s" % seconds, "<= 90 s"),
    ]


def _rendered() -> list:
    """A row for a shaded picture with lines on top, from the table to the file."""
    import tempfile
    from pathlib import Path

    from addon.files.examples import EXAMPLES
    from addon.scene.pictures import on_paper

    table = EXAMPLES["quilting"].table()
    choice = on_paper.Choice("shaded", sheet="A4", dpi=SHADED_DPI)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "shaded.png"
        seconds = best(lambda: on_paper.save_picture(table, path, choice, ""), 2)
    return [
        ("shaded picture under its lines, A4 at %d dots an inch" % SHADED_DPI, "%.2f s" % seconds, "<= 5 s")
    ]


def _dragged(repeat: int) -> list:
    """A row for each of some parameters dragged in Blender, from the new value to updated objects and the verdict as
    drawn, and one from there to all three lines; seconds of the processor, whatever else the machine does."""
    import bpy

    from addon.files.examples import EXAMPLES
    from addon.scene import jobs

    text = EXAMPLES["quilting"].text()
    rows = []
    for section, name in DRAGGED:
        bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
        drag = jobs.parameter_drag(bpy.context.scene, text, section, name)
        what = "Blender: drag of %s.%s to the verdict as drawn" % (section, name)
        rows.append((what, milliseconds(best(drag, repeat, time.process_time)), "<= 33 ms"))
    bpy.ops.wm.read_homefile(use_empty=True, use_factory_startup=True)
    drag = jobs.parameter_drag(bpy.context.scene, text, *DRAGGED[0], lines=True)
    rows.append(
        (
            "Blender: drag of %s.%s to all three lines" % DRAGGED[0],
            milliseconds(best(drag, repeat, time.process_time)),
            "<= 300 ms",
        )
    )
    return rows


if __name__ == "__main__":
    main()
