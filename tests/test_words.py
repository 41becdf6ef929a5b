"""The list of words in the contributors' guide holds every name that a panel, a command or a page shows, and no other.

The names are read off the sources and the parser; where each comes from is written by hand in the guide.
"""

from __future__ import annotations

import argparse
import ast
import re
from pathlib import Path
from typing import Final

import pytest

import addon
from addon.command_line.main import parser
from addon.designs.findings import RULE_WORDS
from addon.designs.words.answer import NAMES
from addon.designs.words.slide import VERDICT_WORDS
from addon.paper.slide_page.labels import VIEW_NAMES
from addon.paper.views import VIEWS
from addon.wood.roles import ROLES

ROOT = Path(addon.__file__).parent.parent
SOURCES = ("trade", "standard", "Blender", "our own", "common practice")


def rows() -> list[tuple[list[str], str, str]]:
    """Names, what shows them, and where they come from, a row each."""
    guide = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    table = guide.split("\n## Words\n")[1].split("\nWords that stand in sentences")[0]
    cells = [line.strip("|").split(" | ") for line in table.splitlines() if line.startswith("| `")]
    return [(re.findall(r"`([^`]+)`", names), shown, source.strip()) for names, shown, source in cells]


def listed(*shown: str) -> set[str]:
    """The names that something of these kinds shows."""
    return {name for names, kind, _ in rows() if any(word in kind for word in shown) for name in names}


WORDS: Final = {"button": 2, "menu": 2, "folded": 1, "switched": 1}
"""Function that shows a name of our own → which of its arguments that is."""


def labels() -> set[str]:
    """Every `bl_label` of the user interface, the words on buttons and menus, the names of sections."""
    found = set()
    for path in (Path(addon.__file__).parent / "ui").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Assign) and _target(node) == "bl_label":
                assert isinstance(node.value, ast.Constant)
                found.add(str(node.value.value))
            elif isinstance(node, ast.AnnAssign) and _target(node) == "SECTIONS":
                assert isinstance(node.value, ast.Dict)
                found |= {str(key.value) for key in node.value.keys if isinstance(key, ast.Constant)}
            elif isinstance(node, ast.Call):
                found |= _shown_by(node)
    return {name.rstrip("…") for name in found}


def _target(node: ast.Assign | ast.AnnAssign) -> str:
    (target,) = node.targets if isinstance(node, ast.Assign) else (node.target,)
    return target.id if isinstance(target, ast.Name) else ""


def _shown_by(call: ast.Call) -> set[str]:
    """The names among the arguments of a call: one, or two of which one is chosen."""
    function = call.func.attr if isinstance(call.func, ast.Attribute) else getattr(call.func, "id", "")
    place = WORDS.get(function, 99)
    if len(call.args) <= place:
        return set()
    word = call.args[place]
    found = (word.body, word.orelse) if isinstance(word, ast.IfExp) else (word,)
    return {str(one.value) for one in found if isinstance(one, ast.Constant) and one.value}


def subcommands() -> dict[str, argparse.ArgumentParser]:
    """Name → its arguments."""
    (commands,) = (one for one in parser()._actions if isinstance(one, argparse._SubParsersAction))
    return commands.choices


def test_every_label_is_listed_and_every_one_listed_is_shown() -> None:
    assert len(labels()) > 50
    assert listed("panel", "button", "menu", "tab") == labels()


def test_every_command_and_option_is_listed() -> None:
    commands = subcommands()
    assert listed("command") == set(commands)
    options = {word for one in commands.values() for action in one._actions for word in action.option_strings}
    assert listed("option") == options


def test_every_kind_of_part_is_listed() -> None:
    assert listed("parts") == {role.one for role in ROLES.values()}


def test_every_verdict_and_finding_is_listed() -> None:
    assert listed("answer") == set(NAMES)
    assert listed("slide proof") == set(VERDICT_WORDS.values())
    assert listed("verdicts", "findings") >= set(RULE_WORDS.values())


def test_every_view_is_listed() -> None:
    assert listed("pages") == {view.name for view in VIEWS.values()} | set(VIEW_NAMES.values())


@pytest.mark.parametrize(("names", "shown", "source"), rows(), ids=lambda row: str(row)[:24])
def test_each_name_says_where_it_comes_from(names: list[str], shown: str, source: str) -> None:
    assert names
    assert shown
    assert source.startswith(SOURCES)
