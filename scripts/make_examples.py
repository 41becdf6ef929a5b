"""Makes ``blend_examples/`` anew: ``python3 scripts/make_examples.py``.

The .blend files are saved by Blender 4.2, so that every later one opens them; it also makes the README's pictures.
"""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import environment
from example import EXCESS
from loop_picture import loop
from words_picture import words_drawing

BLENDER = "4.2"
FOLDER = Path(environment.ROOT) / "blend_examples"
PICTURES = FOLDER / "pictures"

LONG_RIB = "quilting-table-long-rib"
RIB = "R3"
BELOW = (0.55, -0.5, -0.67)
"""From the overlap to the eye: between the legs and up, as the floor hides it from above."""
NEAR = 0.8
"""Distance from which the overlap is looked at, m."""


def with_long_rib(text: str, forced_in: bool = True) -> str:
    """The quilting table with one rib too long at its start, and forced in all the same, as a table file.

    It seats against the side at its start and has carried its windows along. Seen from that end, it is too long at the
    other one, and its windows are as much too far along.
    """
    from addon.files.editing import update_text
    from addon.files.table_file import parse_table

    changes = {
        "name": "%s, %s too long and forced in" % (parse_table(text).name, RIB),
        "as_cut[0].part": RIB,
        "as_cut[0].dimension": "length",
        "as_cut[0].deviation": EXCESS,
    }
    if forced_in:
        changes |= {
            "as_cut[1].part": RIB,
            "as_cut[1].dimension": "window_offset",
            "as_cut[1].deviation": EXCESS,
        }
    return update_text(text, changes, "The table")


def main() -> None:
    """Write one .blend an example table."""
    environment.enter("blender", BLENDER)
    from addon.files.examples import EXAMPLES
    from addon.files.table_file import parse_table
    from addon.scene import jobs
    from addon.scene.tables import check_all

    FOLDER.mkdir(exist_ok=True)
    for example in EXAMPLES.values():
        path = FOLDER / ("%s.blend" % example.path.stem)
        jobs.build(example.text(), path, check_all)
        _say(path)
    path = FOLDER / ("%s.blend" % LONG_RIB)
    jobs.build(with_long_rib(EXAMPLES["quilting"].text()), path, _show_overlap)
    _say(path)
    PICTURES.mkdir(exist_ok=True)
    for example in EXAMPLES.values():
        for ending, stowed in (("", False), ("-stowed", True)):
            picture = PICTURES / ("%s%s.png" % (example.path.stem, ending))
            jobs.render(example.text(), picture, stowed=stowed)
            _say(picture)
    text = EXAMPLES["quilting"].text()
    tables = [parse_table(one) for one in (text, with_long_rib(text, forced_in=False), with_long_rib(text))]
    loop(tables[0], tables[1], tables[2], PICTURES / "loop.webp")
    _say(PICTURES / "loop.webp")
    _draw(EXAMPLES["quilting"], datetime.date.today().isoformat())
    environment.leave(0)


def _show_overlap(state) -> None:  # noqa: ANN001
    """The first leaf that the rib stops, at the frame at which they meet, seen from below in every workspace."""
    import bpy
    from mathutils import Vector

    from addon.scene import tables

    tables.check_all(state)
    rules = [finding.rule for finding in state.findings]
    state.finding_index = rules.index("leaf-blocked")
    areas = [area for screen in bpy.data.screens for area in screen.areas if area.type == "VIEW_3D"]
    spaces: list[Any] = [area.spaces.active for area in areas]
    for view in [space.region_3d for space in spaces]:
        view.view_perspective = "PERSP"
        view.view_location = state.findings[state.finding_index].place
        view.view_rotation = Vector(BELOW).to_track_quat("Z", "Y")
        view.view_distance = NEAR


PAPERS = (("part-sheet", "R6"), ("layout", ""))
"""Pages of the shop set that the README shows: kind and number."""


def _papers(example, date: str):  # noqa: ANN001, ANN202
    """Name, drawing and dots an inch of pages of the shop set."""
    from addon.check.progress import run_through
    from addon.designs.table import build
    from addon.paper.shop.page import finished
    from addon.paper.shop.shop_set import MAKERS
    from addon.shop.job import job_steps

    table = example.table()
    job = run_through(job_steps(table, build(table), date))
    pages = [page for _, maker in MAKERS for page in maker(job)]
    for place, page in enumerate(pages, 1):
        if (page.kind, page.number) in PAPERS:
            name = "%s-%s" % (example.path.stem, page.kind)
            yield name, finished(page, job, place, len(pages)), 110


def _draw(example, date: str) -> None:  # noqa: ANN001
    """The drawings that the README shows: a leaf on its way, the table apart, the steps of assembly."""
    from addon.check.prepared import prepare
    from addon.check.progress import run_through
    from addon.check.slide.proof import prove_leaves
    from addon.command_line.edge import answered
    from addon.designs.table import build
    from addon.paper.exploded_page import exploded_picture
    from addon.paper.sheet.save import save
    from addon.paper.slide_page.page import side_picture
    from addon.paper.steps.pages import contact_pages, step_pictures

    table = example.table()
    assembly = build(table)
    told = answered(table, assembly)
    leaf = prove_leaves(prepare(assembly))[0]
    slide = side_picture(
        leaf.side.proof,
        table=table.name,
        leaf=leaf.leaf,
        view="side",
        units=table.units,
        date=date,
        answer=told.leaves[leaf.leaf],
    )
    apart = exploded_picture(assembly, date=date, view="below", labels=True, answer=told.table)
    pictures = run_through(step_pictures(assembly, table.units))
    steps = contact_pages(assembly, pictures, date=date, answer=told.table)[0]
    stem = example.path.stem
    for name, drawing, dots in (
        *_papers(example, date),
        ("%s-sliding-in" % stem, slide, 110),
        ("%s-exploded" % stem, apart, 90),
        ("%s-steps" % stem, steps, 110),
        ("words", words_drawing(assembly), 110),
    ):
        picture = PICTURES / ("%s.png" % name)
        save(drawing, picture, dpi=dots)
        _say(picture)


def _say(path: Path) -> None:
    print("%s, %d kB" % (path.relative_to(environment.ROOT), path.stat().st_size // 1000))


if __name__ == "__main__":
    main()
