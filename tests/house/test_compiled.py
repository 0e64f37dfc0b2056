"""House rule: an edit of a formula reaches all who call it, at once, from any file."""

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from feedproof.core.compiled import engine, source_fingerprint
from tests.house.tree import PACKAGE

CALLEE = """
from feedproof.core.compiled import formula

@formula
def factor(x: float) -> float:
    return {factor} * x
"""
CALLER = """
from feedproof.core.compiled import formula
from feedproof.physics.callee import factor

@formula
def shifted(x: float) -> float:
    return factor(x) + 1.0
"""


@pytest.fixture
def small_package(tmp_path: Path) -> Path:
    """Lay out a package with two formulas, the real compiler room and nothing else."""
    package = tmp_path / "feedproof"
    for room in ("core", "physics"):
        (package / room).mkdir(parents=True)
        (package / room / "__init__.py").touch()
    (package / "__init__.py").touch()
    shutil.copy(PACKAGE / "core" / "compiled.py", package / "core" / "compiled.py")
    (package / "physics" / "callee.py").write_text(CALLEE.format(factor=2.0), encoding="utf-8")
    (package / "physics" / "caller.py").write_text(CALLER, encoding="utf-8")
    return package


def answer_of_a_fresh_process(package: Path, *, plain: bool = False) -> float:
    """Import the small package in a new process and call its caller with 10."""
    program = (
        "import feedproof, sys; from feedproof.physics.caller import shifted;"
        "print(feedproof.__file__, shifted(10.0))"
    )
    variables = {
        **os.environ,
        "PYTHONPATH": str(package.parent),
        "FEEDPROOF_CACHE": str(package.parent / "formulas"),
        "FEEDPROOF_PLAIN": "1" if plain else "0",
    }
    done = subprocess.run(
        [sys.executable, "-c", program],
        env=variables, cwd=package.parent, capture_output=True, text=True, check=True,
    )  # fmt: skip
    where, answer = done.stdout.rsplit(maxsplit=1)
    assert Path(where).parent == package, "the real package was imported instead"
    return float(answer)


def edit_the_callee(package: Path) -> None:
    """Change the formula that the other file calls."""
    (package / "physics" / "callee.py").write_text(CALLEE.format(factor=3.0), encoding="utf-8")


def test_a_fresh_process_sees_an_edit_in_the_file_of_a_called_formula(small_package: Path) -> None:
    before = answer_of_a_fresh_process(small_package)
    edit_the_callee(small_package)

    after = answer_of_a_fresh_process(small_package)

    assert (before, after) == (21.0, 31.0)


def test_without_the_fingerprint_the_old_answer_would_stay(small_package: Path) -> None:
    # Shows that the test above can fail, and that the trap still exists in the compiler.
    if engine() == "plain":
        return
    file = small_package / "core" / "compiled.py"
    text = file.read_text(encoding="utf-8")
    assert "{source_fingerprint()}" in text
    file.write_text(text.replace("{source_fingerprint()}", "fixed"), encoding="utf-8")
    answer_of_a_fresh_process(small_package)
    edit_the_callee(small_package)

    after = answer_of_a_fresh_process(small_package)

    assert after == 21.0


def test_the_plain_functions_give_the_same_answer(small_package: Path) -> None:
    assert answer_of_a_fresh_process(small_package, plain=True) == 21.0


@pytest.mark.parametrize("room", ["core", "physics"])
def test_an_edit_in_any_formula_room_changes_the_fingerprint(
    small_package: Path, room: str
) -> None:
    before = source_fingerprint(small_package)
    (small_package / room / "new.py").write_text("x = 1\n", encoding="utf-8")

    after = source_fingerprint(small_package)

    assert before != after


def test_the_fingerprint_is_the_same_for_the_same_files(small_package: Path) -> None:
    assert source_fingerprint(small_package) == source_fingerprint(small_package)


def test_every_file_with_a_compiled_formula_is_in_a_room_that_the_fingerprint_covers() -> None:
    outside = [
        file
        for file in PACKAGE.rglob("*.py")
        if "core.compiled import" in file.read_text(encoding="utf-8")
        and "@formula" in file.read_text(encoding="utf-8")
        and file.relative_to(PACKAGE).parts[0]
        not in {"core", "physics", "feedline", "kits", "evidence"}
    ]

    assert not outside
