"""A page that the program does not have: one board, its upper edges to scale, with its label and its sizes.

As the guide for contributors says how to add one: a function that returns a `Drawing`, and a task for a subcommand that
hands it to `sheet.save`.
"""

from __future__ import annotations

from argparse import Namespace
from typing import Final

import numpy as np

from addon.command_line.edge import Outcome, open_table, today
from addon.paper.lines.hidden import lines_of
from addon.paper.lines.seen import surface_of
from addon.paper.sheet import Drawing, save
from addon.paper.sheet.dimensions import LETTERS, leader
from addon.paper.sheet.sheet import A4, Titles, draw_title_block, scale_name
from addon.paper.table_page import draw_lines
from addon.paper.views import SPACE, VIEWS, layout_of
from addon.sizes.units import Units, format_size
from addon.wood.assembly import Assembly
from addon.wood.part import Placement

LYING: Final = Placement(np.zeros(3), np.eye(3))
"""The board as it lies on the bench: its length to the right, its width up the paper."""


def board_page(assembly: Assembly, label: str, units: Units, *, date: str) -> Drawing:
    """One board of a table from above, at a standard scale."""
    part, seen = assembly.by_label[label], VIEWS["top"]
    surface = surface_of([part], seen.axes, {label: LYING})
    layout = layout_of(label, surface.points[:, :2], seen, A4, SPACE)
    drawing = A4.drawing(f"{assembly.name}: {label}")
    draw_lines(drawing, lines_of(surface), layout)
    length, width, thickness = (format_size(size, units) for size in part.shape.size)
    words = f"{label} {part.short_name}: {length} x {width} x {thickness}"
    left, _, _, top = layout.box
    leader(drawing, [(left + 10.0, top + 6.0), (left + 12.0, top)], "arrow")
    drawing.text(words, left + 10.0, top + 7.0, LETTERS)
    titles = Titles(assembly.name, seen.name, scale_name(1 / layout.parts), date)
    draw_title_block(drawing, layout.sheet, titles)
    return drawing


def draw_board(options: Namespace) -> Outcome:
    """The task of a subcommand that draws R1."""
    table, assembly = open_table(options.file)
    save(board_page(assembly, "R1", table.units, date=today()), options.image, options.dpi)
    return Outcome({"image": str(options.image)}, f"{options.image} written.")
