"""A random walk of edits, copies, deletions, undo, redo, saving and opening: findings belong to what stands there.

After each step every table's findings are those of a check that is made anew of its file, by functions that remember
nothing, and every part stands where a new assembly has it, or is said not to. After undo and redo all is as it was.
"""

from __future__ import annotations

import os
import random
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import bpy
import numpy as np
import pytest

from addon.designs import checking
from addon.designs.table import build, design
from addon.files.table_file import parse_table
from addon.scene import access, copies, ids, pending, tables
from addon.scene.motion import motion
from addon.sizes.errors import DryAssemblyError
from addon.wood.meshes.mesh import mesh_of
from tests.large import sampled

from .conftest import QUILTING, SEED_BENCH, positions
from .test_copies import select

MOST_TABLES = 3
STEPS = sampled(60, 200)

Snapshot = list[tuple[Any, ...]]


class Walk:
    """One walk, and what it saw after each step that can be undone."""

    def __init__(self, seed: int, folder: Path) -> None:
        self.random = random.Random(seed)
        self.folder = folder
        self.seen: list[Snapshot] = []
        self.at = 0
        self.did = ""
        self.coming: list[Callable[[], bool]] = []
        """What is done next, from the last: each has its turn."""

    def states(self) -> list[tables.TableState]:
        return access.tables_in(bpy.context.scene)

    def one(self) -> tables.TableState:
        return self.random.choice(self.states())

    def part(self, state: tables.TableState) -> bpy.types.Object:
        made = access.part_objects(state)
        return made[self.random.choice([label for label in sorted(made) if not label.startswith("L")])]

    # -- what is done; False where there was nothing to do

    def add(self) -> bool:
        if len(self.states()) >= MOST_TABLES:
            return False
        tables.create_table(bpy.context.scene, self.random.choice((QUILTING, SEED_BENCH)))
        return True

    def edit(self) -> bool:
        state = self.one()
        what = self.random.choice(("height", "legs", "above", "rib"))
        parameters = state.parameters
        if what == "height":
            parameters.table.height = self.random.choice((0.75, 0.77, 0.8))
        elif what == "legs":
            parameters.legs.width = self.random.choice((0.06, 0.075))
        elif what == "above":
            parameters.stowing.clearance_above = self.random.choice((0.0003, 0.0015))
        else:
            entry = {"part": "R1", "dimension": "length", "deviation": self.random.choice((-4.0, 0.0, 4.0))}
            tables.change(state, {f"as_cut[0].{name}": value for name, value in entry.items()})
        return True

    def copy(self) -> bool:
        if len(self.states()) >= MOST_TABLES:
            return False
        state = self.one()
        parts = list(access.part_objects(state).values())
        select(self.random.choice(([state.root], [state.root, *parts], parts)))
        bpy.ops.object.duplicate(linked=self.random.random() < 0.5)
        bpy.ops.transform.translate(value=(0.0, 2.0, 0.0))
        return True

    def copy_part(self) -> bool:
        select([self.part(self.one())])
        bpy.ops.object.duplicate()
        return True

    def lift(self) -> bool:
        self.part(self.one()).location.z += 0.1
        return True

    def turn(self) -> bool:
        item = self.part(self.one())
        item.rotation_mode = "XYZ"  # first: Blender turns what is there into the new mode
        item.rotation_euler = (0.1, 0.2, 0.3)
        return True

    def stretch(self) -> bool:
        item = self.part(self.one())
        item.data.vertices[0].co.x += 0.01
        item.data.update()
        return True

    def move_table(self) -> bool:
        state = self.one()
        select(list(access.part_objects(state).values()))
        bpy.ops.transform.translate(value=(0.5, 0.0, 0.0))
        return True

    def delete_part(self) -> bool:
        select([self.part(self.one())])
        bpy.ops.object.delete()
        return True

    def delete_table(self) -> bool:
        state = self.one()
        which = self.random.choice(("root", "parts", "operator"))
        if which == "operator":
            tables.remove_table(state)
        else:
            select([state.root] if which == "root" else list(access.part_objects(state).values()))
            bpy.ops.object.delete()
        return True

    def put_back(self) -> bool:
        copies.put_back(self.one())
        return True

    def keep(self) -> bool:
        found = [(state, stray.name) for state in self.states() for stray in state.moved if stray.item]
        return bool(found) and copies.keep_as_own(*self.random.choice(found))

    def leaves(self) -> bool:
        motion.set_leaves(self.one(), self.random.choice(("cover", "stowed", "sliding")), 200.0)
        return True

    def explode(self) -> bool:
        self.one().explosion_factor = self.random.choice((0.0, 0.4))
        return True

    # -- steps

    def step(self) -> None:
        """One step, and what follows from it."""
        kind = self.random.choices(("do", "undo", "redo", "reopen"), (60, 22, 12, 6))[0]
        if kind == "undo" and self.at > 0:
            self._go(-1)
        elif kind == "redo" and self.at < len(self.seen) - 1:
            self._go(1)
        elif kind == "reopen":
            self._reopen()
        else:
            self._do()

    def _do(self) -> None:
        if not self.coming:
            self.coming = [
                self.edit, self.edit, self.edit, self.copy, self.copy_part, self.lift, self.turn, self.stretch,
                self.move_table, self.delete_part, self.delete_table, self.put_back, self.put_back, self.keep,
                self.leaves, self.explode,
            ]  # fmt: skip
            self.random.shuffle(self.coming)
        action = self.coming.pop() if self.states() else self.add
        self.did = action.__name__
        try:
            if not action():
                return
        except DryAssemblyError:
            pass  # what is refused changes nothing
        self.push()

    def push(self) -> None:
        bpy.ops.ed.undo_push(message=self.did)
        settle()
        self.seen = [*self.seen[: self.at + 1], self.check()]
        self.at = len(self.seen) - 1

    def _go(self, by: int) -> None:
        self.did = "undo" if by < 0 else "redo"
        getattr(bpy.ops.ed, self.did)()  # once, whatever was sorted out after what was done
        settle()
        self.at += by
        assert self.check() == self.seen[self.at]

    def _reopen(self) -> None:
        self.did = "reopen"
        before = self.check()
        path = str(self.folder / "walk.blend")
        bpy.ops.wm.save_as_mainfile(filepath=path, check_existing=False)
        bpy.ops.wm.open_mainfile(filepath=path)
        settle()
        assert self.check() == before
        self.seen, self.at = [], -1
        self.push()

    # -- what has to hold

    def check(self) -> Snapshot:
        """What there is; every table's findings and parts are those of what stands there."""
        found = []
        keys = [state.key for state in self.states()]
        assert len(set(keys)) == len(keys)
        for item in bpy.context.scene.objects:
            assert item.get(ids.TABLE) in (None, *keys), item.name
        for state in self.states():
            assert not state.out_of_date
            table = parse_table(state.text)
            assert access.table_in(state) == table
            report = checking.check(design.TABLE, table)
            own = [item for item in state.findings if not item.of_slide and not item.of_answer]
            kept = [(item.rule, item.severity, item.parts, item.message) for item in own]
            wanted = [(one.rule, one.severity, ", ".join(one.parts), one.message) for one in report.findings]
            assert sorted(kept) == sorted(wanted)
            assert state.verdict == report.verdict
            off = {stray.name for stray in state.moved if stray.what != "extra"}
            assert off == elsewhere(state, table), state.root.name
            strays = sorted((stray.name, stray.what) for stray in state.moved)
            leaves = [(leaf.name, leaf.state) for leaf in state.leaves]
            place = tuple(round(value, 4) for value in state.root.matrix_world.translation)
            found.append((state.text, strays, leaves, place, round(state.explosion_factor, 3)))
        return sorted(found, key=str)


def elsewhere(state: tables.TableState, table: Any) -> set[str]:
    """Labels of parts that are not where a new assembly has them, by the places of their corners in the scene."""
    assembly = build(table)
    made, frame = access.part_objects(state), np.linalg.inv(np.array(state.root.matrix_world))
    where = {leaf.name: leaf for leaf in state.leaves}
    found = set()
    for label, part in assembly.by_label.items():
        item = made.get(label)
        if item is None:
            found.add(label)
            continue
        placement = part.placement
        if label in where and where[label].state == "cover":
            placement = assembly.cover[label]
        elif label in where and where[label].state == "sliding":
            placement = placement.moved(assembly.path_of(label).offset_at(where[label].travel * 1000.0))
        wanted = placement.to_table(mesh_of(part.shape).vertices) / 1000.0
        matrix = frame @ np.array(item.matrix_world)
        there = (
            positions(item) @ matrix[:3, :3].T
            + matrix[:3, 3]
            - np.array(item.get(ids.EXPLODED, (0.0, 0.0, 0.0)))
        )
        if there.shape != wanted.shape or np.abs(there - wanted).max() > 5e-4:
            found.add(label)
    for fastener in assembly.fasteners:
        if fastener.label not in made:
            found.add(fastener.label)
    return found


def settle() -> None:
    for _ in range(2):
        bpy.context.view_layer.update()
        pending.flush()


FRESH = "DRY_ASSEMBLY_FRESH_BLENDER"
"""Set where the walk begins in a Blender of its own."""


def in_a_fresh_blender(node: str) -> None:
    """Runs a test by itself: Blender's list of what can be undone is then the walk's own from its first step on."""
    root = Path(__file__).parent.parent.parent
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", node]
    done = subprocess.run(
        command, cwd=root, env={**os.environ, FRESH: "1"}, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout[-6000:]
    assert "1 passed" in done.stdout


@pytest.mark.parametrize("seed", sampled([1], list(range(1, 11))))
def test_findings_belong_to_what_stands_there(request, tmp_path, monkeypatch, seed):
    if FRESH not in os.environ:
        in_a_fresh_blender(request.node.nodeid)
        return
    scene = request.getfixturevalue("scene")
    # The check alone: what follows it has its own tests.
    monkeypatch.setattr(tables, "_STAGES", {"write": tables._STAGES["write"]})
    walk = Walk(seed, tmp_path)
    tables.create_table(scene, QUILTING)
    walk.push()
    for _ in range(STEPS):
        walk.step()
