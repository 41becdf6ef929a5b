"""The exploded view in the scene: a Factor from 0 to 1 that moves the parts, and its animation.

Parts are moved by their delta location, on top of where they stand: what places and animates the leaves does not
notice, and neither do the user's own keyframes.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from bpy.types import Object, Scene

from ...check.apart.explosion import Explosion
from ...sizes.arrays import Floats
from ...sizes.errors import DryAssemblyError
from .. import access, built, ids, seeing, spaces
from ..description import METERS
from ..state.properties import DRY_ASSEMBLY_PG_table as TableState
from . import animation, timeline

FACTOR: Final = "explosion_factor"

_APART: Final = 72
"""Frames in which a table comes apart, or together again."""

_REST: Final = 24
"""Frames before, between and after."""

_NOTHING: Final = 1e-6
"""What is left of a delta location of 0 by rounding, m."""


def factor_changed(state: TableState) -> None:
    """Called by Blender when the user changes the Factor."""
    if not access.is_own_writing():
        if state.explosion_factor > 0:
            seeing.put_back(access.scene_of(state))
        refresh(state)


def refresh(state: TableState) -> None:
    """Brings the parts to where the Factor says; where the parameters cannot be built, they stay."""
    try:
        show(state, state.explosion_factor)
    except DryAssemblyError:
        return


def show(state: TableState, factor: float) -> None:
    """Explodes the parts by a factor from 0 to 1; 0 puts all back exactly.

    Raises
    ------
    DryAssemblyError
        Where the parameters cannot be built; the parts stay.
    """
    made = access.part_objects(state)
    spaces.refresh_shown(access.scene_of(state), state.key, state.root)
    if factor <= 0:
        for item in made.values():
            _move(item, None)
        return
    explosion = explosion_in(state)
    words = words_of(explosion)
    if state.explosion_words != words:
        state.explosion_words = words
    offsets = explosion.part_offsets(factor) * METERS
    for label, offset in zip(explosion.order.blocking.labels, offsets, strict=True):
        if label in made:
            _move(made[label], offset)
    for fastener in explosion.order.assembly.fasteners:
        if fastener.label in made:
            _move(made[fastener.label], explosion.offset_at(fastener.label, factor) * METERS)


def explosion_in(state: TableState) -> Explosion:
    """The exploded view of a table as its leaves are now; animated ones lie on the cover. Raises DryAssemblyError."""
    table = access.table_in(state)
    if state.animation != "none":
        leaves = tuple((leaf.name, "cover", 0.0) for leaf in state.leaves)
    else:
        leaves = tuple(
            (leaf.name, leaf.state, leaf.travel * 1000.0 if leaf.state == "sliding" else 0.0)
            for leaf in state.leaves
        )
    return built.explosion_of(table, leaves)


def words_of(explosion: Explosion) -> str:
    """What is to be said of an exploded view; "" where all parts come apart without running into each other."""
    sentences = [
        f"{', '.join(labels)} stay together: straight moves do not take them apart."
        for labels in explosion.order.together
    ]
    if not explosion.proven:
        pairs = dict.fromkeys(f"{one.one} and {one.other}" for one in explosion.collisions())
        sentences.append(f"On the way parts run into each other: {', '.join([*pairs][:3])}.")
    return " ".join(sentences)


def animate(state: TableState) -> tuple[int, int]:
    """Gives the Factor keyframes: together, apart, together again. Returns the first and the last frame.

    Raises
    ------
    DryAssemblyError
        Where the parameters cannot be built.
    """
    explosion_in(state)
    scene = access.scene_of(state)
    frames = np.cumsum([timeline.FIRST, _REST, _APART, _REST, _APART, _REST]).astype(float)
    values = np.array([[0.0], [0.0], [1.0], [1.0], [0.0], [0.0]])
    animation.set_keys(state.root, path_of(state), frames, values, np.ones(len(frames), dtype=bool))
    scene.render.fps = timeline.FRAME_RATE
    scene.frame_start, scene.frame_end = int(frames[0]), int(frames[-1])
    scene.frame_set(scene.frame_start)
    return scene.frame_start, scene.frame_end


def stop_animation(state: TableState) -> None:
    """Takes the keyframes of the Factor away, and puts the table together."""
    animation.drop_keys(state.root, path_of(state))
    state.explosion_factor = 0.0


def is_animated(state: TableState) -> bool:
    """Whether the Factor has keyframes."""
    path = path_of(state)
    return any(curve.data_path == path for curve in animation.curves_of(state.root))


def path_of(state: TableState) -> str:
    """From the table's empty to the Factor."""
    return state.path_from_id(FACTOR)


def follow(scene: Scene) -> None:
    """Called before a frame is shown or rendered: brings the parts to where the keyframes of the Factor say."""
    for state in access.tables_in(scene):
        for curve in animation.curves_of(state.root):
            if curve.data_path == path_of(state):
                show(state, curve.evaluate(scene.frame_current_final))


def _move(item: Object, offset: Floats | None) -> None:
    """Moves a part away from where it stands, m in its table's frame; what the user added to its delta stays."""
    ours = item.get(ids.EXPLODED)
    if ours is None and offset is None:
        return
    theirs = np.asarray(item.delta_location) - (0.0 if ours is None else np.asarray(ours))
    theirs[np.abs(theirs) < _NOTHING] = 0.0
    if offset is None:
        item.delta_location = theirs
        del item[ids.EXPLODED]
    else:
        item.delta_location = theirs + offset
        item[ids.EXPLODED] = offset.tolist()
