"""The rooms of the house: no two modules import each other, no file is longer than a few screens.

Modules as Python's own parser reads them (``ast``), loops as strongly connected components (Tarjan 1972).
"""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

import addon

ADDON = Path(addon.__file__).parent
LONGEST = 400


def module_name(path: Path) -> str:
    parts = path.relative_to(ADDON.parent).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


MODULES = {module_name(path): path for path in sorted(ADDON.rglob("*.py"))}


def imported(name: str, path: Path) -> set[str]:
    """Modules of the add-on that one imports when it is loaded or for its types; not what functions import late."""
    package = name if path.name == "__init__.py" else name.rpartition(".")[0]
    found = set()
    waiting = list(ast.parse(path.read_text(encoding="utf-8")).body)
    while waiting:
        node = waiting.pop()
        if isinstance(node, ast.If):
            waiting += node.body
        elif isinstance(node, ast.ImportFrom) and node.level:
            above = package.split(".")
            base = ".".join([*above[: len(above) - node.level + 1], *filter(None, [node.module])])
            for alias in node.names:
                inner = f"{base}.{alias.name}"
                found.add(inner if inner in MODULES else base)
    return found & MODULES.keys()


def loops(graph: dict[str, set[str]]) -> list[list[str]]:
    """Groups of modules each of which reaches each other one."""
    order: dict[str, int] = {}
    low: dict[str, int] = {}
    stack: list[str] = []
    found = []

    def visit(node: str) -> None:
        order[node] = low[node] = len(order)
        stack.append(node)
        for other in graph[node]:
            if other not in order:
                visit(other)
                low[node] = min(low[node], low[other])
            elif other in stack:
                low[node] = min(low[node], order[other])
        if low[node] == order[node]:
            at = stack.index(node)
            if len(stack) - at > 1:
                found.append(sorted(stack[at:]))
            del stack[at:]

    for node in graph:
        if node not in order:
            visit(node)
    return found


def test_the_search_finds_a_loop_and_no_other():
    """By hand: a and c import each other through b; d only imports them."""
    assert loops({"a": {"b"}, "b": {"c"}, "c": {"a"}, "d": {"a", "c"}}) == [["a", "b", "c"]]


def test_no_two_modules_import_each_other():
    graph = {name: imported(name, path) for name, path in MODULES.items()}
    assert sum(map(len, graph.values())) > 5 * len(graph) / 2  # imports are seen at all
    assert loops(graph) == []


@pytest.mark.parametrize("name", MODULES)
def test_a_file_fits_on_a_few_screens_and_says_what_it_is(name):
    text = MODULES[name].read_text(encoding="utf-8")
    assert len(text.splitlines()) <= LONGEST
    assert ast.get_docstring(ast.parse(text))
