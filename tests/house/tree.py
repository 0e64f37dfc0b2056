"""Where things stand in the source tree, for the house tests."""

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "src" / "feedproof"
CALCULATION_ROOMS = ("core", "case", "physics", "feedline", "evidence", "kits")


def python_files(*rooms: str) -> list[Path]:
    """List the Python files of rooms; of the whole package where none is named."""
    folders = [PACKAGE / room for room in rooms] or [PACKAGE]
    return sorted(file for folder in folders for file in folder.rglob("*.py"))


def parsed(file: Path) -> ast.Module:
    """Read a Python file as a syntax tree."""
    return ast.parse(file.read_text(encoding="utf-8"), str(file))


def public_functions(tree: ast.Module) -> Iterator[ast.FunctionDef]:
    """Give the functions of a file that other files may use."""
    for node in tree.body:
        if isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node
