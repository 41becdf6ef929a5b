"""Choices of the exploded view where several things go at once: sets, what follows, what hangs on what; by hand.

The rules are common practice, no source: nearest way out first (after Li, Agrawala, Curless and Salesin, SIGGRAPH
2008), but nothing shall stay behind in the air, and nothing shall be drawn into the room where something else hangs.
Blocks are in mm.
"""

from __future__ import annotations

from itertools import product

import pytest

from tests.blocks import Apart, Corners, Thing, apart


def shell(corners: Corners, thick: float = 5.0, without: tuple[str, ...] = ()) -> tuple[Corners, ...]:
    """The boards of a box around the room between two corners less their thickness, but for some faces ("-z")."""
    (x0, y0, z0), (x1, y1, z1) = corners
    t, foot = thick, z0 if "-z" in without else z0 + thick
    boards: dict[str, Corners] = {
        "-z": ((x0, y0, z0), (x1, y1, z0 + t)),
        "+z": ((x0, y0, z1 - t), (x1, y1, z1)),
        "-y": ((x0, y0, foot), (x1, y0 + t, z1 - t)),
        "+y": ((x0, y1 - t, foot), (x1, y1, z1 - t)),
        "-x": ((x0, y0 + t, foot), (x0 + t, y1 - t, z1 - t)),
        "+x": ((x1 - t, y0 + t, foot), (x1, y1 - t, z1 - t)),
    }
    return tuple(board for face, board in boards.items() if face not in without)


# -- a load in a cabinet that is open to the right and to the front
# ------------------------------------------------------------------------------------------------------------------

CABINET: tuple[Corners, ...] = (
    ((0, 0, -20), (1000, 1000, 0)),
    ((370, 390, 0), (390, 530, 160)),
    ((390, 510, 0), (510, 530, 160)),
    ((370, 390, 160), (510, 530, 180)),
)
"""A plate with a wall at the left and one at the back, which carry a lid."""

LOAD: Corners = ((400, 400, 50), (500, 500, 150))


def bearer(role: str, front: float) -> tuple[Thing, tuple[Corners, ...]]:
    """A board on edge below the load, 18 thick from `front` to the back, and the cleats that leave it upward only."""
    x0, x1, y0, y1 = 400, 500, front, front + 18
    cleats: tuple[Corners, ...] = (
        ((x0 - 4, y0, 0), (x0, y1, 10)),
        ((x1, y0, 0), (x1 + 4, y1, 10)),
        ((x0, y0 - 4, 0), (x1, y0, 10)),
        ((x0, y1, 0), (x1, y1 + 4, 10)),
    )
    return Thing.of(role, ((x0, y0, 0), (x1, y1, 50))), cleats


CRATE = {"A": Thing("rib", shell(LOAD)), "B": Thing.of("guide", ((410, 410, 60), (490, 490, 140)))}
"""A crate with something in it: neither leaves without the other, so both are taken out as a set."""

BLOCK = {"A": Thing.of("guide", LOAD)}


def in_the_cabinet(
    load: dict[str, Thing],
    bearers: list[tuple[str, float]],
    right: list[str],
    front: list[str],
    *joints: tuple[str, str],
    more: tuple[Corners, ...] = (),
) -> Apart:
    """A load on bearers, with boards that stand before the two open sides of the cabinet.

    Those go up and off before the load does, which lies on what it cannot be lifted from. To the right it has to go
    its own 100 until it is off its bearers, to the front as far as from its back to their fronts.

    Parameters
    ----------
    bearers : role and front of each
    right, front : roles of the boards; those at the right stand 40 from the load and more, one behind the other, all as
        wide as the load is; those before it 22 from it, one at its left edge and one at its right
    """
    things = {"P": Thing("bottom", (*CABINET, *more))}
    for number, (role, at) in enumerate(bearers):
        things[f"R{number}"], cleats = bearer(role, at)
        things["P"] = Thing("bottom", (*things["P"].blocks, *cleats))
    for number, role in enumerate(right):
        x = 540 + 20 * number
        things[f"O{number}"] = Thing.of(role, ((x, 400, 0), (x + 18, 500, 150)))
    for number, role in enumerate(front):
        x = (400, 492)[number]
        things[f"F{number}"] = Thing.of(role, ((x, 360, 0), (x + 8, 378, 150)))
    return apart(things | load, *joints)


@pytest.mark.parametrize("load", [BLOCK, CRATE], ids=["block", "crate"])
@pytest.mark.parametrize(
    ("right", "front", "way"),
    [
        (["rib"], [], "-y"),
        ([], ["rib"], "+x"),
        (["rib"], ["rib"], "-y"),
        (["rib"], ["rib", "rib"], "+x"),
        (["rib", "rib"], ["rib", "rib"], "-y"),
        (["rib"], ["kicker", "kicker"], "-y"),
    ],
    ids=["right", "front", "one each", "two in front", "two each", "two of another kind"],
)
def test_the_way_is_taken_on_which_the_fewest_would_be_hit(load, right, front, way) -> None:
    """What stands where ribs hung is hit by the load only if the load's own rib goes where they went: kickers went
    their way and do not count. Each is counted once, though it stands before the crate and before what is in it too.
    Where as many are hit either way, the nearer way out is to the front: 18 against 100.
    """
    assert in_the_cabinet(load, [("rib", 482)], right, front).ways["A"] == way


def test_what_is_hit_counts_once_though_the_load_lies_on_two_of_its_kind() -> None:
    """On two ribs and a kicker: one rib to the right is one that is hit, two kickers in front are two."""
    found = in_the_cabinet(
        BLOCK, [("rib", 482), ("rib", 450), ("kicker", 416)], ["rib"], ["kicker", "kicker"]
    )
    assert found.ways["A"] == "+x"


POST: Corners = ((510, 460, 60), (520, 490, 140))
BEFORE: Corners = ((400, 400, 50), (500, 450, 150))
BEHIND = Thing.of("guide", ((400, 450, 50), (500, 500, 150)))
LOADS = pytest.mark.parametrize(
    "load",
    [
        {"A": Thing.of("guide", BEFORE)},
        {"A": Thing("guide", shell(BEFORE)), "B": Thing.of("guide", ((410, 410, 60), (490, 440, 140)))},
    ],
    ids=["block", "crate"],
)


@LOADS
def test_nothing_is_left_hanging_even_where_something_would_be_hit(load: dict[str, Thing]) -> None:
    """A strip is glued to the back of the load and held at the right by a post. To the right, where nothing was, the
    load would leave it in the air; to the front, where a rib was, the strip goes along."""
    found = in_the_cabinet(load | {"S": BEHIND}, [("rib", 420)], [], ["rib"], ("S", "A"), more=(POST,))
    assert found.ways["A"] == "-y"
    assert found.hangs_on["S"] == "A"


@LOADS
def test_what_the_base_is_fixed_to_does_not_hang(load: dict[str, Thing]) -> None:
    """The same strip, but the plate is screwed to it: it stays with the plate, and the load takes the free way."""
    found = in_the_cabinet(
        load | {"S": BEHIND}, [("rib", 420)], [], ["rib"], ("S", "A"), ("P", "S"), more=(POST,)
    )
    assert found.ways["A"] == "+x"


@LOADS
def test_what_is_glued_to_two_does_not_hang(load: dict[str, Thing]) -> None:
    """The same strip, glued to a bearer of its own as well: it lies there when the load has gone."""
    bearers = [("rib", 420), ("rib", 470)]
    found = in_the_cabinet(load | {"S": BEHIND}, bearers, [], ["rib"], ("S", "A"), ("S", "R1"), more=(POST,))
    assert found.ways["A"] == "+x"


# -- what goes first of several
# ------------------------------------------------------------------------------------------------------------------

FLOOR: Corners = ((0, 0, -20), (1000, 1000, 0))


def test_like_things_leave_in_the_order_of_the_list() -> None:
    """Nothing else tells them apart: whoever reads the list and the drawing finds them in one order."""
    things = {"P": Thing.of("bottom", FLOOR)}
    things |= {f"R{n}": Thing.of("rib", ((100 * n, 0, 0), (100 * n + 18, 200, 100))) for n in (1, 2, 3)}
    assert apart(things).order == ["R1", "R2", "R3"]
    assert apart(dict(reversed(things.items()))).order == ["R3", "R2", "R1"]


@pytest.mark.parametrize("filled", [False, True], ids=["empty", "with something in it"])
def test_what_holds_nothing_goes_before_what_holds_something(filled: bool) -> None:
    """Two caps on the plate, each beside a block 60 high, which both have to pass on their way up. The first holds its
    block (that is glued to it and to the plate), the second is held by its own: that one goes first, though it is the
    later one in the list, whatever is in the first one and goes along."""
    cap: Corners = ((100, 100, 0), (200, 200, 105))
    things = {
        "P": Thing.of("bottom", FLOOR),
        "A": Thing("guide", shell(cap, without=("-z",))),
        "Y": Thing.of("rib", ((200, 120, 0), (218, 180, 60))),
        "B": Thing.of("guide", ((400, 100, 0), (500, 200, 105))),
        "Z": Thing.of("rib", ((500, 120, 0), (518, 180, 60))),
    }
    joints = [("Y", "A"), ("Y", "P"), ("B", "Z"), ("Z", "P")]
    if filled:
        things["S"] = Thing.of("kicker", ((110, 110, 10), (190, 190, 50)))
        joints.append(("S", "A"))
    found = [label for label in apart(things, *joints).order if label != "S"]
    assert found == ["B", "Z", "A", "Y"]


def test_like_things_do_not_go_the_same_way_where_one_would_be_hit() -> None:
    """Two strips in corners of walls. The second can only go up, the first up or, nearer, to the right. It would go up
    as well, as its like does, but a board that lay above it in its corner has gone up and hangs there."""
    things = {
        "P": Thing.of("bottom", ((0, 0, 0), (600, 600, 20))),
        "S1": Thing.of("side", ((200, 0, 20), (218, 600, 180))),
        "S2": Thing.of("side", ((218, 100, 20), (268, 118, 180))),
        "S3": Thing.of("side", ((218, 400, 20), (268, 418, 180))),
        "S4": Thing.of("side", ((260, 380, 20), (278, 520, 180))),
        "S5": Thing.of("side", ((218, 118, 150), (248, 148, 170))),
        "T1": Thing.of("guide", ((218, 118, 100), (248, 148, 145))),
        "T2": Thing.of("guide", ((218, 418, 100), (248, 448, 145))),
    }
    found = apart(things).ways
    assert (found["S5"], found["T1"], found["T2"]) == ("+z", "+x", "+z")


# -- what goes along, and is taken off after that
# ------------------------------------------------------------------------------------------------------------------


STRIP: Corners = ((185, 100, 60), (200, 200, 80))
GROUND: tuple[Corners, ...] = (
    ((0, -100, 0), (400, 300, 20)),
    ((185, -30, 20), (200, -10, 90)),
    ((185, 210, 20), (200, 230, 90)),
    ((230, 50, 20), (240, 250, 120)),
)
"""A plate with a post behind the strip, one before it, farther off than the strip is long, and a wall at the right."""
BETWEEN_LIPS = Thing.of(
    "rib",
    ((200, 50, 20), (218, 250, 120)),
    ((185, 100, 80), (200, 200, 95)),
    ((185, 100, 45), (200, 200, 60)),
)


@pytest.mark.parametrize("hollow", [False, True], ids=["strip", "strip with something in it"])
@pytest.mark.parametrize(("gap", "way"), [(14, "-y"), (16, "-x")])
def test_a_strip_goes_along_and_is_then_drawn_off_beside_what_stands(
    hollow: bool, gap: int, way: str
) -> None:
    """A strip 15 thick between two lips of a rib, which goes up from a plate with a wall, 14 or 16 beside the strip.

    Once out, the nearest is to draw it off square from its rib, 15. With 14 from the wall it would stand in its way
    there: then to the front, where the next post is farther off than the strip is long.
    """
    open_strip = shell(STRIP, without=("+x", "+y"))
    things = {
        "P": Thing("bottom", (*GROUND, ((167 - gap, 50, 20), (185 - gap, 250, 120)))),
        "R": BETWEEN_LIPS,
        "T": Thing("guide", open_strip) if hollow else Thing.of("guide", STRIP),
    }
    if hollow:
        things["U"] = Thing.of("kicker", ((192, 110, 67), (198, 190, 73)))
    found = apart(things, ("R", "P"), ("U", "T") if hollow else ("T", "R"))
    assert (found.ways["R"], found.hangs_on["T"]) == ("+z", "R")
    assert found.ways["T"] == way


def test_it_is_drawn_off_where_another_was_that_went_another_way() -> None:
    """A strip glued under the lip of a rib, 10 above the plate and 14 beside another rib, on a post with an arm over
    it: that one has gone to the front, so nothing hangs where the strip comes to stand."""
    things = {
        "P": Thing("bottom", GROUND),
        "W": Thing.of("leg", ((153, 250, 20), (171, 290, 140)), ((153, 240, 120), (171, 250, 140))),
        "R1": Thing.of("rib", ((153, 50, 30), (171, 250, 118))),
        "R2": Thing.of("rib", ((200, 50, 20), (218, 250, 120)), ((185, 100, 50), (200, 200, 65))),
        "T": Thing.of("guide", ((185, 100, 30), (200, 200, 50))),
    }
    found = apart(things, ("T", "R2"), ("R2", "P"), ("R1", "W"), ("W", "P"))
    assert (found.ways["R1"], found.ways["R2"], found.hangs_on["T"]) == ("-y", "+z", "R2")
    assert found.order.index("R2") < found.order.index("T")
    assert found.ways["T"] == "-x"


CAP: Corners = ((100, 100, 0), (200, 200, 105))


def under_the_cap(*joints: tuple[str, str]) -> Apart:
    """A cap on a plate with two boards under it, which lie there one on the other."""
    things = {
        "P": Thing.of("bottom", FLOOR),
        "A": Thing("guide", shell(CAP, without=("-z",))),
        "Q": Thing.of("kicker", ((110, 110, 0), (190, 190, 50))),
        "S": Thing.of("rib", ((110, 110, 50), (190, 190, 90))),
    }
    return apart(things, *joints)


def test_all_that_is_held_by_nothing_else_goes_along() -> None:
    """Both are glued into the cap: the lower one, first in the list, can go up only as the upper one does."""
    assert under_the_cap(("S", "A"), ("Q", "A")).hangs_on == {"A": "P", "S": "A", "Q": "A"}


def test_what_holds_something_that_stays_does_not_go_along() -> None:
    """The upper one is glued into the cap, the lower one to the upper one and to the plate: both stay on the plate."""
    found = under_the_cap(("S", "A"), ("Q", "S"), ("Q", "P"))
    assert found.hangs_on == {"A": "P", "S": "Q", "Q": "P"}


# -- what hangs on what
# ------------------------------------------------------------------------------------------------------------------


def test_a_thing_hangs_on_what_it_touched() -> None:
    """A strip on a rib on a plate moves out with its rib; one that touched two ribs hangs on the plate, on which both
    hang, and one that touched a rib and that rib's strip hangs on the rib."""
    things = {
        "P": Thing.of("bottom", ((0, 0, 0), (400, 300, 20))),
        "R1": Thing.of("rib", ((100, 50, 20), (118, 250, 120))),
        "R2": Thing.of("rib", ((200, 50, 20), (218, 250, 120))),
        "T1": Thing.of("guide", ((118, 60, 60), (130, 240, 80))),
        "T2": Thing.of("guide", ((118, 60, 100), (200, 240, 120))),
        "T3": Thing.of("guide", ((118, 60, 80), (124, 240, 90))),
    }
    found = apart(things).hangs_on
    assert found == {"R1": "P", "R2": "P", "T1": "R1", "T2": "P", "T3": "R1"}


def test_what_goes_along_counts_for_what_it_hangs_on() -> None:
    """Between two posts on a plate, a board on one of them with another glued to it that touches the other post: drawn
    out, they hang on neither post, but on the plate."""
    things = {
        "P": Thing.of("bottom", FLOOR),
        "W": Thing.of("leg", ((100, 100, 0), (118, 200, 100))),
        "V": Thing.of("leg", ((154, 100, 0), (172, 200, 100))),
        "R": Thing.of("rib", ((118, 100, 20), (136, 200, 100))),
        "T": Thing.of("guide", ((136, 100, 20), (154, 200, 100))),
    }
    found = apart(things, ("T", "R"), ("R", "W"), ("W", "P"), ("V", "P"))
    assert found.hangs_on == {"W": "P", "V": "P", "R": "P", "T": "R"}


def test_going_out_from_the_base_the_last_to_leave_come_first() -> None:
    """What hangs on others has to wait for them; for the rest, as it is put together again."""
    things = {
        "P": Thing.of("bottom", FLOOR),
        "A": Thing.of("rib", ((100, 0, 0), (118, 200, 100))),
        "B": Thing.of("rib", ((200, 0, 0), (218, 200, 100))),
        "C": Thing.of("guide", ((100, 0, 100), (118, 200, 120))),
    }
    found = apart(things)
    assert found.order == ["B", "C", "A"]
    assert [found.labels[one.unit] for one in found.graph.from_the_base] == ["A", "B", "C"]


# -- what stays
# ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("first", ["P", "Q"])
def test_of_two_alike_the_first_in_the_list_stays(first: str) -> None:
    sheets = {"P": ((0, 0, 0), (400, 300, 18)), "Q": ((0, 0, 18), (400, 300, 36))}
    labels = [first, *(label for label in sheets if label != first)]
    assert apart({label: Thing.of("bottom", sheets[label]) for label in labels}).base == first


def test_a_broad_sheet_stays_rather_than_a_long_or_a_heavy_beam() -> None:
    """Of three that touch as many, the one with the largest face, on which the others are seen to lie: 400 x 300 of a
    sheet 6 thick, not a beam 500 long or one of nine times its volume."""
    things = {
        "L": Thing.of("rib", ((0, 0, 6), (500, 20, 26))),
        "H": Thing.of("rib", ((0, 100, 6), (300, 240, 146))),
        "P": Thing.of("bottom", ((0, 0, 0), (400, 300, 6))),
        "T": Thing.of("guide", ((0, 20, 6), (300, 100, 26))),
    }
    assert apart(things, ("L", "H")).base == "P"


@pytest.mark.parametrize(("posts", "base"), [(2, "P"), (3, "TOP"), (6, "TOP")])
def test_at_least_half_as_many_have_to_be_touched(posts: int, base: str) -> None:
    """A plate carries six posts. A larger sheet on two of them would be an odd base; on three it touches half as
    many as the plate does, and the larger one stays."""
    corners = [(x, y) for y, x in product((0, 282), (0, 191, 382))]
    things = {"P": Thing.of("bottom", ((0, 0, 0), (400, 300, 20)))}
    for number, (x, y) in enumerate(corners):
        things[f"R{number}"] = Thing.of("rib", ((x, y, 20), (x + 18, y + 18, 120 if number < posts else 100)))
    things["TOP"] = Thing.of("top", ((-50, -50, 120), (450, 350, 138)))
    assert apart(things).base == base


def interlocked(extra: bool, inner_first: bool, clear: bool = False) -> Apart:
    """A crate with a hole in its bottom, and in it what stands through the hole; both stand on a plate.

    Parameters
    ----------
    extra : whether something else lies inside that touches the inner one alone
    clear : whether the inner one ends above the plate
    """
    crate = (*shell(((0, 0, 0), (100, 100, 100)), without=("-z",)), ((5, 5, 0), (40, 95, 5)))
    foot = 2 if clear else 0
    things = {
        "A": Thing("rib", crate),
        "B": Thing.of("guide", ((10, 10, 10), (90, 90, 80)), ((45, 10, foot), (90, 90, 10))),
    }
    if inner_first:
        things = dict(reversed(things.items()))
    things["P"] = Thing.of("bottom", ((-200, -200, -20), (300, 300, 0)))
    things["R"] = Thing.of("rib", ((-100, 0, 0), (-82, 100, 100)))
    things["R2"] = Thing.of("rib", ((-150, 0, 0), (-132, 100, 100)))
    if extra:
        things["C"] = Thing.of("kicker", ((40, 40, 80), (60, 60, 90)))
    return apart(things)


@pytest.mark.parametrize("inner_first", [False, True])
def test_of_a_set_what_touches_most_of_the_rest_is_taken_off_first(inner_first: bool) -> None:
    """A set that cannot be taken apart is shown in the place of the one that stood on the rest. Where both stood on it,
    the one that touches more, and of those the larger one."""

    def staying(*, extra: bool, clear: bool) -> str:
        (group,) = interlocked(extra, inner_first, clear).together
        return group[0]

    assert staying(extra=True, clear=True) == "A"
    assert staying(extra=True, clear=False) == "B"
    assert staying(extra=False, clear=False) == "A"
