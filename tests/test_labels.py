"""Labels of panels and buttons: whole sentences that Blender can look up in a translation (common practice of gettext,
no source: what is translated must be a literal, with its values filled in afterwards)."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import addon

MODULES = sorted((Path(addon.__file__).parent / "ui").glob("*.py"))
SHOWN = {"text", "text_ctxt", "heading"}


def pieces(node: ast.expr) -> list[str]:
    """The literal pieces of an f-string that hold words."""
    if not isinstance(node, ast.JoinedStr):
        return []
    texts = [part.value for part in node.values if isinstance(part, ast.Constant)]
    return [text for text in texts if sum(letter.isalpha() for letter in str(text)) > 1]


def made_up(tree: ast.AST) -> list[int]:
    """Lines where a label is made of words and values at once, so that no translation can find it."""
    return [
        word.value.lineno
        for call in ast.walk(tree)
        if isinstance(call, ast.Call)
        for word in call.keywords
        if word.arg in SHOWN and pieces(word.value)
    ]


@pytest.mark.parametrize("module", MODULES, ids=lambda path: path.stem)
def test_no_label_is_made_of_words_and_values(module: Path) -> None:
    assert not made_up(ast.parse(module.read_text(encoding="utf-8")))


def test_a_made_up_label_is_found() -> None:
    assert made_up(ast.parse('row.label(text=f"Openings of {leaf}")')) == [1]
    assert not made_up(ast.parse('row.label(text=f"L{number}")\nrow.label(text="Openings")'))
