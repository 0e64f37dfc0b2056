"""House rule: the wheel holds all that the program needs, and answers as the source tree does."""

import hashlib
import json
import os
import shutil
import stat
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.house.tree import PACKAGE, ROOT

BUILD = """
import sys
from hatchling.build import build_wheel
print(build_wheel(sys.argv[1]))
"""
WHERE = "import feedproof; print(feedproof.__file__)"
WITHOUT = """
import runpy, sys
forbidden = sys.argv.pop(1)

def listen(event, arguments):
    if event == "open" and str(arguments[0]).startswith(forbidden):
        raise RuntimeError(f"a file of the source tree was opened: {arguments[0]}")

sys.addaudithook(listen)
runpy.run_module("feedproof", run_name="__main__", alter_sys=True)
"""
"""Runs the program as `python -m feedproof` does, but opens no file of one folder."""
WHEN = "computed"
"""When a proof was made: the one field that differs between two runs of one program."""


def run(words: list[str], where: Path, variables: dict[str, str] | None = None) -> str:
    """Run Python in a folder and give what it prints."""
    done = subprocess.run(
        [sys.executable, *words],
        cwd=where, env=variables, capture_output=True, encoding="utf-8", check=False, timeout=100,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return done.stdout


def variables_for(packages: Path) -> dict[str, str]:
    """Give the process's variables with one folder of packages and no other."""
    variables = {key: value for key, value in os.environ.items() if key != "PYTHONPATH"}
    return variables | {"PYTHONPATH": str(packages), "PYTHONIOENCODING": "utf-8"}


def tree_hash(folder: Path) -> str:
    """Hash names and contents of all that is in a folder."""
    digest = hashlib.sha256()
    for file in sorted(folder.rglob("*")):
        digest.update(str(file.relative_to(folder)).encode() + b"\0")
        digest.update(hashlib.sha256(file.read_bytes()).digest() if file.is_file() else b"folder")
    return digest.hexdigest()


def make_read_only(folder: Path, *, read_only: bool = True) -> None:
    """Take the right to write away from a folder and all in it, or give it back."""
    for each in (folder, *folder.rglob("*")):
        mode = each.stat().st_mode
        each.chmod(mode & ~0o222 if read_only else mode | stat.S_IWUSR)


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Build the wheel and install it, and nothing else, into a folder that is then read-only."""
    base = tmp_path_factory.mktemp("wheel")
    name = run(["-c", BUILD, str(base)], ROOT).splitlines()[-1]
    target = base / "installed"
    options = ["--no-deps", "--no-index", "--quiet", "--disable-pip-version-check"]
    run(["-m", "pip", "install", *options, "--target", str(target), str(base / name)], base)
    make_read_only(target)
    yield target
    make_read_only(target, read_only=False)


def answer_of(
    packages: Path, case: Path, verb: str, where: Path, *, without: Path
) -> dict[str, object]:
    """Ask a verb for its document, from another folder and without the files of one folder."""
    where.mkdir(exist_ok=True)
    words = ["-c", WITHOUT, str(without), verb, str(case), "--json"]
    document: dict[str, object] = json.loads(run(words, where, variables_for(packages)))
    document.pop(WHEN, None)
    return document


def test_every_data_file_of_the_source_is_in_the_wheel(installed: Path) -> None:
    wanted = {
        file.relative_to(PACKAGE): hashlib.sha256(file.read_bytes()).hexdigest()
        for file in PACKAGE.rglob("*")
        if file.is_file() and "__pycache__" not in file.parts
    }
    home = installed / "feedproof"
    found = {
        name: hashlib.sha256((home / name).read_bytes()).hexdigest()
        for name in wanted
        if (home / name).is_file()
    }

    assert any(name.suffix == ".ttf" for name in wanted)
    assert found == wanted


def test_the_installed_package_is_the_one_that_is_used(installed: Path, tmp_path: Path) -> None:
    where = Path(run(["-c", WHERE], tmp_path, variables_for(installed)).strip())

    assert where == installed / "feedproof" / "__init__.py"


@pytest.mark.parametrize("verb", ["predict", "prove"])
def test_a_read_only_installation_answers_as_the_source_tree_does(
    installed: Path, tmp_path: Path, verb: str
) -> None:
    case = tmp_path / "case"
    shutil.copytree(installed / "feedproof" / "scenario" / "case", case)
    make_read_only(case, read_only=False)
    before = tree_hash(installed)

    source = PACKAGE.parent
    answer = answer_of(installed, case, verb, tmp_path / "elsewhere", without=source)

    assert tree_hash(installed) == before, "something was written into the installation"
    assert len(json.dumps(answer)) > 1000
    assert answer == answer_of(source, case, verb, tmp_path / "other", without=installed)


def test_a_file_of_the_source_tree_would_be_seen(tmp_path: Path) -> None:
    with pytest.raises(AssertionError, match="a file of the source tree was opened"):
        answer_of(PACKAGE.parent, tmp_path, "predict", tmp_path, without=PACKAGE)


def test_a_file_written_into_the_installation_would_be_seen(tmp_path: Path) -> None:
    # As the administrator the missing right to write does not bind, so the hash has to tell.
    (tmp_path / "room").mkdir()
    before = tree_hash(tmp_path)
    (tmp_path / "room" / "cache.bin").write_bytes(b"1")

    assert tree_hash(tmp_path) != before
