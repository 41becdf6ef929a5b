"""The quilting table from its table file to parts, findings, pictures and a video, in ``out/``.

``python3 scripts/example.py [--out FOLDER]``. With ``BLENDER=/path/to/blender`` it runs in that Blender.
"""

from __future__ import annotations

import argparse
import json
import time

import environment
import standard_output

EXCESS = 4.0
"""How much too long the ribs of the what-if table are, mm."""


def main() -> None:
    """Run the example."""
    parser = argparse.ArgumentParser(description="The quilting table, from its file to a video.")
    parser.add_argument("--out", default=environment.ROOT + "/out", help="folder for the results")
    options = parser.parse_args()
    environment.enter("blender")
    from addon.sizes.errors import DryAssemblyError

    try:
        run(options.out)
    except DryAssemblyError as error:
        environment.fail(str(error))
    environment.leave(0)


def run(out: str) -> None:
    """All steps, with progress on the screen."""
    from pathlib import Path

    from addon.check.prepared import prepare
    from addon.check.progress import run_through
    from addon.designs.table.build import build
    from addon.designs.table.design import answer_steps
    from addon.designs.table.figures import long_ribs
    from addon.files.examples import EXAMPLES
    from addon.reports.check import long_ribs_document, long_ribs_text, report_document, report_text
    from addon.scene import jobs

    folder = Path(out)
    folder.mkdir(parents=True, exist_ok=True)
    standard_output.send_chatter_to(str(folder / "blender.log"))
    started = time.monotonic()

    def step(words: str) -> None:
        print("[%5.1f s] %s" % (time.monotonic() - started, words))

    example = EXAMPLES["quilting"]
    table = example.table()
    step("Table file: %s" % example.path.relative_to(environment.ROOT))
    report = run_through(answer_steps(table, prepare(build(table))))
    print()
    print(report_text(report))
    print()
    ribs = list(long_ribs(table, EXCESS))
    print(long_ribs_text(ribs, table.units))
    print()
    document = {"table": report_document(report), "long_ribs": long_ribs_document(ribs)}
    (folder / "findings.json").write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")
    step("Findings written to %s" % (folder / "findings.json"))
    jobs.build(example.text(), folder / "quilting-table.blend")
    step("Parts, materials and the stow animation: %s" % (folder / "quilting-table.blend"))
    jobs.render(example.text(), folder / "table.png")
    step("The table: %s" % (folder / "table.png"))
    jobs.render(example.text(), folder / "stowed.png", stowed=True)
    step("Leaves stowed, tightest place marked: %s" % (folder / "stowed.png"))
    frames = jobs.animate(example.text(), folder / "stow.mp4", progress=_progress)
    step("Video of the leaves sliding home, %d frames: %s" % (frames, folder / "stow.mp4"))


def _progress(done: int, of: int) -> None:
    if done % 20 == 0 or done == of:
        environment.progress("          video: frame %d of %d" % (done, of))


if __name__ == "__main__":
    main()
