"""Set-ups: a page or more for each tool, the numbers to set large, with small drawings and what may hurt there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from ...shop.cut_list import exact
from ...shop.job import Job
from ...shop.router import LEFT_BY_SAW, Pair, chamfer_face, passes
from ...shop.saw import SawSettings
from ...shop.set_ups import (
    Cut,
    EdgeCut,
    GrooveCut,
    cuts_of,
    edge_cuts,
    grooves_of,
    pairs_of,
    patterns,
    spacer,
    straightedge,
    template,
)
from ...sizes.words import capital, codes_in_row, listed, plural
from ..sheet.dimensions import LARGE_LETTERS
from . import set_up_drawings as drawings
from .page import ShopPage
from .rows import Cell, Column, Row
from .set_up_page import LARGE, SetUp, pages_of
from .taper_page import tapers


def pages(job: Job) -> Iterator[ShopPage]:
    """Saw, templates, slots and windows, grooves, edges; what the table does not have is left out."""
    for one in (_saw(job), tapers(job), _bushings(job), _openings(job), _grooves(job), _edges(job)):
        if one is not None:
            yield from pages_of(job, one)


# -- saw


def _saw(job: Job) -> SetUp:
    saw = SawSettings(job)
    fences = [
        Row((one.setting, str(one.count), codes_in_row(one.labels) + (f": {one.note}" if one.note else "")))
        for one in saw.fences
    ]
    stops = [
        Row(
            (
                one.setting,
                one.with_kerf,
                str(one.count),
                codes_in_row(one.labels) + (f": {one.note}" if one.note else ""),
            )
        )
        for one in saw.stops
    ]
    angles = [
        Row((figure, f"degrees the blade is tilted: {codes_in_row(labels)}")) for figure, labels in saw.angles
    ]
    fence_heads = (Column("Fence F", 34, "end", LARGE), Column("Count", 12, "end"), Column("Parts", 24))
    stop_heads = (
        Column("Stop S", 38, "end", LARGE),
        Column("With kerf K", 20, "end"),
        Column("Count", 12, "end"),
        Column("Parts", 27),
    )
    angle_heads = (Column("Set", 34, "end", LARGE), Column("What", 36))
    return SetUp(
        "saw",
        "saw, fences and stop blocks",
        "saw",
        (
            (0.42, ((fence_heads, fences), (angle_heads, angles))),
            (0.58, ((stop_heads, stops),)),
        ),
        (drawings.fence, drawings.stop_block),
        (
            "Fences wide to narrow, stop blocks long to short; one setting for all parts of a line. K is the same "
            "stop on a tape that counts from the far side of the blade. The stop block ends before the blade. On edge: "
            "ripped to this thickness.",
            *((_EVEN,) if any(part.role.stands_on_floor for part in job.drawn.parts) else ()),
        ),
    )


_EVEN: Final = (
    "Boards of one length in all legs at one stop that is not moved: the table stands as even as they are."
)


# -- templates


def _bushings(job: Job) -> SetUp | None:
    cuts = cuts_of(job)
    if not cuts:
        return None
    heads = (
        Column("Bushing", 18, "end", LARGE_LETTERS),
        Column("Bit", 18, "end", LARGE_LETTERS),
        Column("Offset O", 26, "end", LARGE),
        Column("Added", 26, "end", LARGE),
        Column("Corners", 22, "end", LARGE_LETTERS),
        Column("Cuts", 82),
    )
    rows = [_pair_row(job, pair, cuts) for pair in pairs_of(job)]
    edge_heads = (
        Column("Bit", 18, "end", LARGE_LETTERS),
        Column("Fence to near edge N", 34, "end", LARGE),
        Column("To far edge R", 34, "end", LARGE),
        Column("Base along a straightedge", 106),
    )
    edges = [
        Row(
            (
                exact(job, "bit", bit),
                near,
                far,
                "fence on the left of the router's way" if number == 0 else "",
            )
        )
        for number, (bit, near, far) in enumerate(straightedge(job))
    ]
    return SetUp(
        "templates",
        "bushings, bits and straightedge",
        "router",
        ((1.0, ((heads, rows), (edge_heads, edges))),),
        (drawings.bushing, drawings.straightedge),
        (
            "Offset: template's edge to cut's edge. Added: template's opening less the cut, each way; around a part "
            "the template is as much smaller. Corners: radius that the bit leaves in a square corner of the template.",
            "Measure bushing and bit in your drawer: half of an error in a diameter is in the offset. Keep the base "
            "turned one way. Widening: first with a spacer between base and fence, then without, the same way.",
        ),
    )


def _pair_row(job: Job, pair: Pair, cuts: Sequence[Cut]) -> Row:
    if not pair.fits:
        words, offset, added, corners = "nothing: the bit does not pass through the bushing", "", "", ""
        cells: tuple[Cell, ...] = (offset, added, corners, words)
    else:
        cells = (
            exact(job, "offset", pair.offset),
            exact(job, "added to the cut", pair.add),
            exact(job, "corner radius", pair.corner()),
            _pair_words(pair, cuts),
        )
    return Row((exact(job, "bushing", pair.bushing), exact(job, "bit", pair.bit), *cells))


def _pair_words(pair: Pair, cuts: Sequence[Cut]) -> str:
    """What it cuts, and why not the rest."""
    able = list(dict.fromkeys(plural(cut.name) for cut in cuts if not cut.lacks(pair)))
    lacks: dict[str, list[str]] = {}
    for cut in cuts:
        why = cut.lacks(pair).replace(f"the {cut.name} ", "they ").replace("they asks", "they ask")
        if why:
            lacks.setdefault(why.replace("they is", "they are"), []).append(plural(cut.name))
    words = [listed(able)] if able else []
    words += [f"not {listed(list(dict.fromkeys(names)))}: {why}" for why, names in lacks.items()]
    return "; ".join(words)


# -- slots and windows


def _openings(job: Job) -> SetUp | None:
    cuts = cuts_of(job)
    if not cuts:
        return None
    heads = (
        Column("Cut", 34),
        Column("Wide", 22, "end", LARGE_LETTERS),
        Column("High", 20, "end", LARGE_LETTERS),
        Column("Corner", 12, "end"),
        Column("Bushing", 14, "end"),
        Column("Bit", 11, "end"),
        Column("Template A", 34, "end", LARGE),
        Column("B", 30, "end", LARGE),
    )
    depth_heads = (
        Column("Passes of the router", 70),
        Column("Count", 14, "end"),
        Column("Each deeper by", 34, "end", LARGE),
        Column("Down to", 34, "end", LARGE),
        Column("", 40),
    )
    closed = any(cut.walls == (2, 2) for cut in cuts)
    opened = any(cut.walls != (2, 2) for cut in cuts)
    pattern_heads = (Column("Pattern: cut first with the template", 70), Column("Then trimmed along it", 122))
    alike = [Row((one.first, f"{codes_in_row(one.others)}, with a flush-trim bit")) for one in patterns(job)]
    return SetUp(
        "openings",
        "slots and windows",
        "router",
        (
            (
                1.0,
                (
                    (heads, [_cut_row(job, cut) for cut in cuts]),
                    (depth_heads, _depth_rows(job, cuts)),
                    (pattern_heads, alike),
                ),
            ),
        ),
        (
            *((drawings.glued_template,) if closed else ()),
            *((drawings.notch_template,) if opened else ()),
            drawings.clockwise,
        ),
        (
            f"Starter hole, jig saw: leave {_saw_leaves(job)} inside of the line for the router. Backer below, all "
            "clamped. Clockwise inside the opening, each deeper pass the same way.",
            "Rails longer than A by two hand widths, wide enough to carry the base. Where the cut runs out of the "
            "board, a backer where the bit leaves the wood.",
        ),
    )


def _saw_leaves(job: Job) -> str:
    return f"{LEFT_BY_SAW:g} mm" if job.units == "mm" else "1/16 in"


def _cut_row(job: Job, cut: Cut) -> Row:
    found = template(job, cut)
    name = f"{cut.name}: {codes_in_row(cut.labels)}"
    size: tuple[Cell, ...] = (cut.width, cut.height, cut.radius or ("square: chisel" if cut.through else ""))
    if found is None:
        return Row((f"{name}. No bushing takes a bit that cuts it.", *size, "", "", "", ""))
    pair = found.pair
    if not found.bit_at_hand:
        name += ". This bit is not in the drawer"
    return Row(
        (
            name,
            *size,
            exact(job, "bushing", pair.bushing),
            exact(job, "bit", pair.bit),
            found.length,
            found.spacer,
        )
    )


def _depth_rows(job: Job, cuts: Sequence[Cut]) -> list[Row]:
    depths: dict[tuple[str, bool], tuple[float, list[str]]] = {}
    for cut in cuts:
        depths.setdefault((job.rule.exact(cut.depth), cut.through), (cut.depth, []))[1].append(
            plural(cut.name)
        )
    rows = []
    for (_, through), (depth, names) in depths.items():
        rows.append(
            Row(
                (
                    capital(listed(list(dict.fromkeys(names)))),
                    str(len(passes(depth, job.tools.pass_depth))),
                    exact(job, "deepest pass", job.tools.pass_depth),
                    exact(job, "depth", depth),
                    "the last one into the backer" if through else "",
                )
            )
        )
    return rows


# -- grooves

_STOPPED: Final = (
    "A groove that stops short: stop blocks clamped to the fence; lower the work onto the bit with its end at the "
    "first, lift it at the second. Begin and end count from the start of the part, as on its sheet."
)


def _grooves(job: Job) -> SetUp | None:
    grooves, block = grooves_of(job), spacer(job)
    if not grooves and block is None:
        return None
    heads = (
        Column("Parts", 42),
        Column("What", 54),
        Column("Set", 40, "end", LARGE),
        Column("How", 56),
    )
    rows = [row for groove in grooves for row in _groove_rows(job, groove)]
    blocks = []
    if block is not None:
        how = "upside down on the bench, sides on their upper edges; check with the groove"
        blocks = [Row(("", "spacer blocks under the bottom panel", block, how), wide=True)]
    return SetUp(
        "grooves",
        "grooves",
        "grooves",
        ((1.0, ((heads, [*rows, *blocks]),)),),
        (drawings.router_table,),
        (
            "Pass 1 is the one nearest to the fence. Then move the fence away from the bit: pass 2 takes the wood on "
            "the side away from the fence, and right to left stays against the rotation.",
            "Width from the sheet as measured: rout a test piece and try it on the panel before the parts.",
            *((_STOPPED,) if any(groove.ends for groove in grooves) else ()),
        ),
    )


def _groove_rows(job: Job, groove: GrooveCut) -> Iterator[Row]:
    parts = codes_in_row(groove.labels)
    yield Row((parts, "width", groove.width, "as the sheet measures; test piece first"), wide=True)
    if groove.bit is None:
        yield Row(("", "no bit in the drawer is thin enough", "", f"height {groove.height.printed}"))
        yield Row(("", f"from the {groove.edge} to the groove", groove.height, "reference edge"))
    else:
        yield Row(("", "bit", exact(job, "bit", groove.bit), ""))
    for number, setting in enumerate(groove.settings, 1):
        how = (
            f"{groove.edge} at the fence, right to left"
            if number == 1
            else "fence back, right to left; by the test piece"
        )
        yield Row(("", f"H: fence to bit, pass {number}", setting, how))
    count = len(groove.depths)
    yield Row(("", "depth", groove.depth, "one pass" if count == 1 else f"{count} passes"))
    for name, end in zip(("begins", "ends"), groove.ends, strict=False):
        yield Row(("", f"{name}, from the start", end, "mark it on the work"))


# -- edges


def _edges(job: Job) -> SetUp | None:
    cuts = edge_cuts(job)
    if not cuts:
        return None
    heads = (
        Column("Edge", 52),
        Column("Size", 24, "end", LARGE),
        Column("Its face", 18, "end"),
        Column("Straight T", 20, "end"),
        Column("Corner C", 20, "end"),
        Column("Bearing", 62),
    )
    bearing = Row(
        ("bearing in the drawer", exact(job, "bearing", job.tools.bearing), "", "", "", "its diameter"),
        wide=True,
    )
    return SetUp(
        "edges",
        "chamfers and round-overs",
        "edges",
        ((1.0, ((heads, [*(_edge_row(job, cut) for cut in cuts), bearing]),)),),
        (drawings.bearing, *((drawings.corner,) if any(cut.corner for cut in cuts) else ())),
        (
            "Base on the work: clockwise inside an opening, counterclockwise around a part. Router table: right to "
            "left.",
            "Its face: what a rule shows across a 45° chamfer. Straight T: wood that both faces' cuts leave for the "
            "bearing. Corner C: how much smaller the chamfer comes out in an inside corner tighter than the bearing; "
            "finish it with a file or chisel, or leave it.",
        ),
    )


def _edge_row(job: Job, cut: EdgeCut) -> Row:
    words = f"{cut.kind}, {cut.where}: {codes_in_row(cut.labels)}"
    face: Cell = ""
    if cut.kind == "chamfer":
        face = job.rule.figure("face of the chamfer", chamfer_face(cut.size.value))
    return Row((words, cut.size, face, cut.straight, cut.corner or "", _bearing_words(cut)))


def _bearing_words(cut: EdgeCut) -> str:
    if cut.low:
        return "does not enter the opening: chamfer by hand, or with a smaller bearing"
    corners = ""
    if cut.corner is not None and cut.corner.value >= cut.size.value:
        corners = "; corners stay uncut"
    if cut.bearing_runs:
        return f"runs on both faces{corners}"
    return f"first face only; the second against a fence, or with a strip clamped flush below{corners}"
