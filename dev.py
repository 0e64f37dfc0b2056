"""
Set the project up on a bare machine, and run it, its checks and its tests.

    python3 dev.py demo          the packaged demo, from a bare machine
    python3 dev.py run ARGS...   feedproof with these arguments
    python3 dev.py test          every check and test; with ARGS only pytest ARGS
    python3 dev.py check         lint, form, types, imports and doctests only
    python3 dev.py bench ARGS... side by side with other libraries and C: series, network, envelope,
                                 fit, service, ingest, what-if; all without ARGS; --write puts
                                 them into docs/benchmark.md
    python3 dev.py rates N       error rates of the decision, simulated with N sessions each (a
                                 million unless said): the long form of tests/evidence/rates
    python3 dev.py torture ROW   the reliability table at full length: faults are brought about in
                                 hundreds of trials and counted; all without a ROW, which is
                                 part of a row's name, such as "disk full"
    python3 dev.py screens DIR   a picture of every screen, for a laptop and a phone, light and
                                dark
    python3 dev.py bom           docs/bom.cdx.json and docs/licences.md anew, from requirements.lock
    python3 dev.py lock          resolve the locks anew, to the newest versions that fit;
                                 with --keep only what pyproject.toml now asks for is changed

Needs Python 3.11 or newer with pip, nothing else.  All that it makes lies in .venv/ here; delete
that folder to start afresh.
"""

# Syntax and annotations down to _leave_old_python() must be readable by Python 3.6, so that an
# old interpreter gets an answer and not a traceback.
import contextlib
import hashlib
import json
import os
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent
ENVIRONMENTS = ROOT / ".venv"
OLDEST, NEWEST_TRIED = (3, 11), (3, 14)
LOCKS = {
    "run": "requirements.lock",
    "test": "requirements-test.lock",
    "bench": "requirements-bench.lock",
}
# Only makes the locks, never installed to run or to test: so a range is enough.
RESOLVER = "uv>=0.9,<1"


def say(text: str) -> None:
    """Write a line of progress where it cannot mix with results."""
    print("dev: " + text, file=sys.stderr, flush=True)


def _leave_old_python() -> None:
    """Start again with a newer Python where this one is too old."""
    if sys.version_info >= OLDEST:
        return
    minors = range(NEWEST_TRIED[1], OLDEST[1] - 1, -1)
    tries = [[f"python3.{minor}"] for minor in minors]
    if os.name == "nt":
        tries += [["py", f"-3.{minor}"] for minor in minors]
    for command in tries:
        # A launcher of that name may exist and still have no such Python behind it.
        if shutil.which(command[0]) and not subprocess.call(
            [*command, "-c", "import venv"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
        ):
            sys.exit(subprocess.call([*command, str(Path(__file__)), *sys.argv[1:]]))
    names = ", ".join(command[0] for command in tries)
    say(
        f"Python 3.{OLDEST[1]} or newer is needed; this is {sys.version.split()[0]}, and none of"
        f" {names} was found. Install one and start again."
    )
    sys.exit(1)


_leave_old_python()


class SetUpError(Exception):
    """The machine cannot be set up; the text says what to do."""


# --- environments -----------------------------------------------------------------------------


def _fingerprint(kind: str) -> str:
    """Hash all that an environment depends on; settings of linters are no part of it."""
    import tomllib  # exists from 3.11 on, and older ones have left above

    settings = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    parts = (
        sys.version,
        str(ROOT),
        (ROOT / LOCKS[kind]).read_text(encoding="utf-8") if kind in LOCKS else RESOLVER,
        json.dumps([settings["project"], settings["build-system"], settings["tool"]["hatch"]]),
    )
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()[:12]


def _program(folder: Path, name: str) -> str:
    """Give the path of a program of an environment."""
    return str(folder / ("Scripts" if os.name == "nt" else "bin") / name)


def _call(command: list[str], *, tries: int = 1) -> None:
    """Run a step of the set-up, again when it fails, with what it prints sent to stderr."""
    for attempt in range(1, tries + 1):
        code = subprocess.run(command, cwd=ROOT, check=False, stdout=sys.stderr.fileno()).returncode
        if code == 0:
            return
        if attempt < tries:
            say(f"try {attempt} of {tries} failed (exit code {code}); again in {3 * attempt} s")
            time.sleep(3 * attempt)
    raise SetUpError(f"this step failed (exit code {code}): {' '.join(command)}")


def _pip(folder: Path, *arguments: str, tries: int = 1) -> None:
    """Run pip for an environment: its own, else the pip of the Python that runs this file."""
    has_own = any(folder.glob("**/site-packages/pip"))
    python = _program(folder, "python") if has_own else sys.executable
    # Only the pip of another Python needs to be told which environment is meant.
    target = [] if has_own else ["--python", _program(folder, "python")]
    # Errors only: a machine's own pip settings can make it warn on every package.
    quiet = ["--disable-pip-version-check", "--no-input", "-qq"]
    _call([python, "-m", "pip", *target, *quiet, *arguments], tries=tries)


def _make_environment(folder: Path) -> None:
    """Make an empty environment, also where the system has split pip from Python."""
    from importlib.util import find_spec

    can_bring_pip = find_spec("ensurepip") is not None
    if find_spec("venv") is None or not (can_bring_pip or find_spec("pip")):
        name = f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"
        raise SetUpError(
            f"this Python cannot make environments. On Debian and Ubuntu: apt-get install {name}"
        )
    _call(
        [sys.executable, "-m", "venv", *([] if can_bring_pip else ["--without-pip"]), str(folder)]
    )


def _install(kind: str, folder: Path) -> None:
    """Install what is locked, then the package itself, and check that all fits together."""
    if kind == "lock":
        _pip(folder, "install", RESOLVER, tries=3)
        return
    wheels_only = ["--require-hashes", "--no-deps", "--only-binary", ":all:"]
    # What is used is compiled when it is; compiling all of it takes a third of the installation.
    wheels_only.append("--no-compile")
    _pip(folder, "install", *wheels_only, "-r", LOCKS[kind], tries=3)
    _pip(folder, "install", "--no-deps", "--no-build-isolation", "--editable", ".")
    _pip(folder, "check")


@contextlib.contextmanager
def _only_one_start() -> Iterator[None]:
    """Let one start set up at a time; the system frees the lock when its holder dies."""
    ENVIRONMENTS.mkdir(exist_ok=True)
    with (ENVIRONMENTS / "lock").open("a") as file:
        if not _take(file.fileno(), wait=False):
            say("another start is setting up; waiting for it")
            while not _take(file.fileno(), wait=True):
                time.sleep(1)
        yield


def _take(file: int, *, wait: bool) -> bool:
    """Take the lock on an open file, by the way of the system at hand."""
    try:
        if sys.platform == "win32":
            import msvcrt

            msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | (0 if wait else fcntl.LOCK_NB))
    except OSError:
        return False
    return True


def environment(kind: str) -> Path:
    """Give the ready environment of a kind; a start that finds its stamp costs nothing."""
    folder = ENVIRONMENTS / f"{kind}-{_fingerprint(kind)}"
    stamp = folder / "complete"
    if stamp.exists():
        return folder
    with _only_one_start():
        if stamp.exists():
            return folder
        if sys.version_info[:2] > NEWEST_TRIED:
            say(f"this Python is newer than the newest tried, 3.{NEWEST_TRIED[1]}")
        started = time.monotonic()
        say(f"setting up .venv/{folder.name}: downloads and installs, a minute or two")
        if folder.exists():
            say("an earlier set-up was not finished: starting it afresh")
            shutil.rmtree(folder)
        _make_environment(folder)
        _install(kind, folder)
        say(f"installed in {time.monotonic() - started:.0f} s")
        if kind != "lock":
            _warm(folder)
        # Last of all: without it the next start builds the environment again.
        stamp.write_text(sys.version, encoding="utf-8")
        _remove_older(kind, folder)
    return folder


def _remove_older(kind: str, keep: Path) -> None:
    """Remove environments of this kind and Python that no lock leads to any more."""
    for old in ENVIRONMENTS.glob(f"{kind}-*"):
        stamp = old / "complete"
        if old != keep and stamp.exists() and stamp.read_text(encoding="utf-8") == sys.version:
            say(f"removing .venv/{old.name}, made for an earlier lock")
            shutil.rmtree(old, ignore_errors=True)


def _surroundings(folder: Path) -> dict[str, str]:
    """Give the variables for programs of an environment."""
    # Paths that lead to another Python's packages would bring in what is not locked.
    variables = {k: v for k, v in os.environ.items() if k not in {"PYTHONPATH", "PYTHONHOME"}}
    variables.setdefault("FEEDPROOF_CACHE", str(folder / "formulas"))
    return variables


def _warm(folder: Path) -> None:
    """Compile the hot formulas once; a failure is told and costs time later, nothing else."""
    if not (ROOT / "src/feedproof/app/warm.py").exists():
        return
    started = time.monotonic()
    code = subprocess.run(
        [_program(folder, "python"), "-m", "feedproof.app.warm"],
        env=_surroundings(folder),
        check=False,
        stdout=sys.stderr.fileno(),
    ).returncode
    if code:
        say(f"compiling formulas failed (exit code {code}); they will be compiled when first used")
    else:
        say(f"formulas compiled in {time.monotonic() - started:.0f} s")


# --- commands ---------------------------------------------------------------------------------


def run(arguments: list[str]) -> int:
    """Run feedproof in place of this program, so that signals and exit codes are its own."""
    folder = environment("run")
    command = [_program(folder, "feedproof"), *arguments]
    if os.name == "posix":
        os.execve(command[0], command, _surroundings(folder))
    return subprocess.run(command, env=_surroundings(folder), check=False).returncode


def demo(arguments: list[str]) -> int:
    """Run the packaged demo."""
    return run(["demo", *arguments])


def _checks(folder: Path) -> list[tuple[str, list[str]]]:
    """List the checks that need no test: name and command."""
    python = _program(folder, "python")
    doctests = [python, "-m", "pytest", "--doctest-modules", "src/feedproof", "-q"]
    return [
        ("ruff check", [python, "-m", "ruff", "check", "."]),
        ("ruff format", [python, "-m", "ruff", "format", "--check", "."]),
        ("mypy", [python, "-m", "mypy"]),
        ("imports", [_program(folder, "lint-imports")]),
        ("doctests", [*doctests, f"--junitxml={folder / 'doctests.xml'}"]),
    ]


def _tests(folder: Path) -> list[tuple[str, list[str]]]:
    """List the groups after the checks; pytest comes last, so that its closing line does too."""
    python = _program(folder, "python")
    report = f"--junitxml={folder / 'tests.xml'}"
    return [
        ("formulas", [python, "-m", "feedproof.app.warm", "networks"]),
        ("tests", [python, "-m", "pytest", "tests", "-q", "-n", "2", report]),
    ]


def _run_groups(folder: Path, groups: list[tuple[str, list[str]]]) -> list[tuple[str, str, float]]:
    """Run all groups, also after a failure: name, result and seconds of each."""
    variables = {**_surroundings(folder), "PYTHONUTF8": "1"}
    rows = []
    for name, command in groups:
        print(f"\n== {name}", flush=True)
        started = time.monotonic()
        code = subprocess.run(command, cwd=ROOT, env=variables, check=False).returncode
        # Pytest's 5, "no test ran", counts as a failure like any other.
        result = "passed" if code == 0 else f"FAILED ({code})"
        rows.append((name, result, time.monotonic() - started))
    return rows


def _unlisted_skips(reports: list[Path]) -> list[str]:
    """Name skipped and expected-to-fail tests that tests/allowed_skips.txt does not list."""
    from xml.etree import ElementTree

    lines = (ROOT / "tests/allowed_skips.txt").read_text(encoding="utf-8").splitlines()
    # A line is "module::test reason"; one without a reason allows nothing.
    allowed = {line.split()[0] for line in lines if len(line.split()) > 1 and line[0] != "#"}
    skipped = (
        f"{case.get('classname')}::{case.get('name')}"
        for report in reports
        if report.exists()
        for case in ElementTree.parse(report).iter("testcase")
        if case.find("skipped") is not None
    )
    return sorted(name for name in skipped if name not in allowed)


def _judge(folder: Path, groups: list[tuple[str, list[str]]], set_up_s: float) -> int:
    """Run groups, print what each came to and took, and give the exit code."""
    reports = [folder / "doctests.xml", folder / "tests.xml"]
    for report in reports:
        report.unlink(missing_ok=True)
    rows = [("set-up", "passed", set_up_s), *_run_groups(folder, groups)]
    skips = _unlisted_skips(reports)
    rows.append(("skips", f"FAILED ({len(skips)} not listed)" if skips else "passed", 0.0))
    print()
    for skip in skips:
        print(f"skipped, but not listed in tests/allowed_skips.txt: {skip}")
    for name, result, seconds in rows:
        print(f"{name:<12} {seconds:7.1f} s  {result}")
    return int(any(result != "passed" for _, result, _ in rows))


def check(arguments: list[str]) -> int:
    """Run lint, form, types, imports and doctests."""
    if arguments:
        raise SetUpError("check takes no arguments")
    started = time.monotonic()
    folder = environment("test")
    return _judge(folder, _checks(folder), time.monotonic() - started)


def test(arguments: list[str]) -> int:
    """Run every check and test, or pytest alone where arguments say which part."""
    started = time.monotonic()
    folder = environment("test")
    groups = [*_checks(folder), *_tests(folder)]
    if arguments:
        report = f"--junitxml={folder / 'tests.xml'}"
        groups = [("pytest", [_program(folder, "python"), "-m", "pytest", report, *arguments])]
    if not (ROOT / "src/feedproof/app/warm.py").exists():
        groups = [group for group in groups if group[0] != "formulas"]
    return _judge(folder, groups, time.monotonic() - started)


def bench(arguments: list[str]) -> int:
    """Measure side by side with general-purpose libraries and a C program."""
    folder = environment("bench")
    command = [_program(folder, "python"), "-m", "benchmarks", *arguments]
    variables = {**_surroundings(folder), "PYTHONUTF8": "1"}
    return subprocess.run(command, cwd=ROOT, env=variables, check=False).returncode


def rates(arguments: list[str]) -> int:
    """Simulate the error rates of the decision at length."""
    folder = environment("test")
    command = [_program(folder, "python"), "-m", "tests.evidence.rates", *arguments]
    variables = {**_surroundings(folder), "PYTHONUTF8": "1"}
    return subprocess.run(command, cwd=ROOT, env=variables, check=False).returncode


def torture(arguments: list[str]) -> int:
    """Bring about the faults of the reliability table at full length and print the table."""
    folder = environment("test")
    command = [_program(folder, "python"), "-m", "tests.reliability.torture", *arguments]
    variables = {**_surroundings(folder), "PYTHONUTF8": "1"}
    return subprocess.run(command, cwd=ROOT, env=variables, check=False).returncode


def screens(arguments: list[str]) -> int:
    """Take pictures of every screen, at two widths, light and dark, into a folder."""
    folder = environment("test")
    command = [_program(folder, "python"), str(ROOT / "tools" / "make_screenshots.py"), *arguments]
    variables = {**_surroundings(folder), "PYTHONUTF8": "1"}
    return subprocess.run(command, cwd=ROOT, env=variables, check=False).returncode


def bom(arguments: list[str]) -> int:
    """Write the bill of materials and the list of licences from the run lock."""
    if arguments:
        raise SetUpError("bom takes no arguments")
    folder = environment("test")
    command = [_program(folder, "python"), str(ROOT / "tools" / "make_bom.py")]
    variables = {**_surroundings(folder), "PYTHONUTF8": "1"}
    return subprocess.run(command, cwd=ROOT, env=variables, check=False).returncode


def lock(arguments: list[str]) -> int:
    """Resolve the dependencies and write the locks, with hashes and without addresses."""
    if arguments not in ([], ["--keep"]):
        raise SetUpError("lock takes no argument but --keep")
    # The resolver reads the lock that it replaces, and keeps its versions unless told otherwise.
    newest = [] if arguments else ["--upgrade"]
    resolver = _program(environment("lock"), "uv")
    common = [resolver, "pip", "compile", "pyproject.toml", "--quiet", "--universal", *newest]
    common += ["--python-version", ".".join(map(str, OLDEST)), "--group", "build"]
    common += ["--generate-hashes", "--no-annotate", "--no-header", "--no-emit-index-url"]
    for kind, name in LOCKS.items():
        more = [] if kind == "run" else ["--group", kind]
        if kind == "test":
            # What runs is resolved first, and tested as it is.  Peers need not go with all of it.
            more += ["--all-extras", "--constraint", LOCKS["run"]]
        _call([*common, *more, "--output-file", name], tries=3)
        lines = (ROOT / name).read_text(encoding="utf-8").splitlines()
        say(f"wrote {name}: {sum(line[:1].isalnum() for line in lines)} entries")
    return 0


COMMANDS: dict[str, Callable[[list[str]], int]] = {
    "demo": demo,
    "run": run,
    "test": test,
    "check": check,
    "bench": bench,
    "rates": rates,
    "torture": torture,
    "screens": screens,
    "bom": bom,
    "lock": lock,
}


def main(arguments: list[str]) -> int:
    """Carry out one command and give its exit code."""
    if not arguments or arguments[0] not in COMMANDS:
        print(__doc__)
        return 0 if arguments[:1] in (["-h"], ["--help"]) else 2
    try:
        return COMMANDS[arguments[0]](arguments[1:])
    except (SetUpError, OSError) as fault:
        say(str(fault))
        return 1
    except KeyboardInterrupt:
        return 130


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
