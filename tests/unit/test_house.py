"""The rules of the house that no linter holds: size, public signatures, a quick start."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MODULES = sorted(path for folder in ("variants", "cli") for path in (ROOT / folder).rglob("*.py"))
MOST_MODULE_LINES = 600
MOST_FUNCTION_LINES = 40
# Three is the aim; the fourth is for an address in a score: score, part, measure, tick.
MOST_POSITIONAL = 4
# They take from a tenth of a second to several to import, so a command that does not use them
# must not pay for them: they are imported inside the functions that do.
HEAVY = {"music21", "verovio", "typst", "matplotlib", "scipy"}

Function = ast.FunctionDef | ast.AsyncFunctionDef


def _functions(tree: ast.AST) -> Iterator[tuple[Function, bool]]:
    """Yield each function, and whether it and the classes around it are public."""

    def walk(node: ast.AST, *, is_public: bool) -> Iterator[tuple[Function, bool]]:
        for child in ast.iter_child_nodes(node):
            if isinstance(child, Function):
                yield child, is_public and not child.name.startswith("_")
                yield from walk(child, is_public=False)
            elif isinstance(child, ast.ClassDef):
                yield from walk(child, is_public=is_public and not child.name.startswith("_"))
            else:
                yield from walk(child, is_public=is_public)

    return walk(tree, is_public=True)


def _body_lines(function: Function) -> int:
    """Return the lines of a function from after its docstring to its end."""
    body = function.body
    if ast.get_docstring(function, clean=False) is not None:
        body = body[1:]
    return (function.end_lineno or 0) - body[0].lineno + 1 if body else 0


def _positional(function: Function) -> int:
    names = [argument.arg for argument in function.args.posonlyargs + function.args.args]
    return len([name for name in names if name not in {"self", "cls"}])


def _imported(tree: ast.Module) -> set[str]:
    """Return the packages that a module imports as soon as it is imported itself."""
    found: set[str] = set()
    for node in tree.body:
        if isinstance(node, ast.Import):
            found |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom) and node.level == 0:
            found.add((node.module or "").split(".")[0])
    return found


def _name(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_module_is_small(path: Path) -> None:
    """A module has one purpose and at most 600 lines, a function at most 40 after its docstring."""
    text = path.read_text(encoding="utf-8")
    assert len(text.splitlines()) <= MOST_MODULE_LINES
    long = {
        function.name: _body_lines(function)
        for function, _ in _functions(ast.parse(text))
        if _body_lines(function) > MOST_FUNCTION_LINES
    }
    assert long == {}


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_public_signatures(path: Path) -> None:
    """A public function takes few positional arguments, the rest by keyword."""
    wide = {
        function.name: _positional(function)
        for function, is_public in _functions(ast.parse(path.read_text(encoding="utf-8")))
        if is_public and _positional(function) > MOST_POSITIONAL
    }
    # Typer reads a command's options from its parameters; nobody calls it with positions.
    assert wide == {} or path.is_relative_to(ROOT / "cli")


@pytest.mark.parametrize("path", MODULES, ids=_name)
def test_heavy_imports_wait(path: Path) -> None:
    """No module imports a heavy library before it is used."""
    assert _imported(ast.parse(path.read_text(encoding="utf-8"))) & HEAVY == set()


def test_one_noun_one_meaning() -> None:
    """No public class name stands twice: a word means one thing (see DEVELOPERS.md)."""
    where: dict[str, list[str]] = {}
    for path in MODULES:
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                where.setdefault(node.name, []).append(str(path.relative_to(ROOT)))
    assert not {name: places for name, places in where.items() if len(places) > 1}
