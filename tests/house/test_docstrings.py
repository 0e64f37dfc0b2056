"""House rule: who reads a physics function's docstring knows each unit, in the call's order."""

import ast
import inspect
import re

import pytest
from numpydoc.docscrape import NumpyDocString

from tests.house.tree import parsed, public_functions, python_files

# A pure number is [1] or [-]; a following underscore makes it the mark of a reference.
UNIT = re.compile(r"\[[^\[\]]+\](?!_)")
# What is built from these has no unit; everything else is a number until shown otherwise.
WITHOUT_UNIT = {"None", "str", "bool", "Path", "list", "tuple", "dict", "Mapping", "Sequence"}


def classes_of_case(tree: ast.Module) -> set[str]:
    """List names imported from `case` and classes of the file itself: their fields carry units."""
    imported = {
        name.asname or name.name
        for node in tree.body
        if isinstance(node, ast.ImportFrom) and (node.module or "").startswith("feedproof.case")
        for name in node.names
    }
    return imported | {node.name for node in tree.body if isinstance(node, ast.ClassDef)}


def has_no_unit(annotation: ast.expr | None, classes: set[str]) -> bool:
    """Say whether an annotation is of something that has no unit."""
    names = re.findall(r"\w+", ast.unparse(annotation)) if annotation else []
    return bool(names) and set(names) <= (WITHOUT_UNIT | classes)


def docstring_faults(tree: ast.Module) -> list[str]:
    """Say what is wrong with the docstrings of a file's public functions."""
    classes = classes_of_case(tree)
    return [
        f"{function.name}: {fault}"
        for function in public_functions(tree)
        for fault in function_faults(function, classes)
    ]


def function_faults(function: ast.FunctionDef, classes: set[str]) -> list[str]:
    """Compare one docstring with its signature."""
    text = ast.get_docstring(function, clean=False)
    if not text:
        return ["no docstring"]
    doc = NumpyDocString(inspect.cleandoc(text))
    arguments = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
    annotations = {argument.arg: argument.annotation for argument in arguments}
    documented = [
        (name.strip().lstrip("*"), " ".join(entry.desc))
        for entry in doc["Parameters"]
        for name in entry.name.split(",")
    ]
    faults = []
    if [name for name, _ in documented] != list(annotations):
        faults.append(f"documents {[n for n, _ in documented]}, takes {list(annotations)}")
    faults += [
        f"parameter {name} has no [unit]"
        for name, text in documented
        if not UNIT.search(text) and not has_no_unit(annotations.get(name), classes)
    ]
    if has_no_unit(function.returns, classes):
        return faults
    if not doc["Returns"]:
        faults.append("no Returns")
    faults += [
        f"return {entry.name or entry.type} has no [unit]"
        for entry in doc["Returns"]
        if not UNIT.search(" ".join(entry.desc))
    ]
    return faults


def test_each_physics_docstring_gives_units_in_the_order_of_the_call() -> None:
    files = python_files("physics")

    faults = [f"{file.name}: {fault}" for file in files for fault in docstring_faults(parsed(file))]

    assert not faults, "\n".join(faults)


def test_the_search_finds_functions_once_the_room_has_files() -> None:
    files = [file for file in python_files("physics") if file.name != "__init__.py"]

    found = [function for file in files for function in public_functions(parsed(file))]

    assert len(found) >= len(files) / 2


GOOD = '''
def head_pa(density_kg_per_m3: float, *, rise_m: float) -> float:
    """
    Pressure difference of a standing column.

    Parameters
    ----------
    density_kg_per_m3 : float
        Density. [kg/m3]
    rise_m : float
        Height. [m]

    Returns
    -------
    float
        Difference. [Pa]
    """
'''


def test_a_right_docstring_passes() -> None:
    assert docstring_faults(ast.parse(GOOD)) == []


@pytest.mark.parametrize(
    ("before", "after", "fault"),
    [
        ("Height. [m]", "Height.", "parameter rise_m has no [unit]"),
        ("Difference. [Pa]", "Difference.", "return float has no [unit]"),
        ("density_kg_per_m3: float, *, rise_m", "rise_m: float, *, density_kg_per_m3", "takes"),
        ("rise_m: float", "rise_m: float, extra_m: float", "takes"),
        ("    Returns\n    -------\n    float\n        Difference. [Pa]\n", "", "no Returns"),
    ],
)
def test_a_spoilt_docstring_is_found(before: str, after: str, fault: str) -> None:
    assert before in GOOD

    faults = docstring_faults(ast.parse(GOOD.replace(before, after)))

    assert any(fault in found for found in faults)
