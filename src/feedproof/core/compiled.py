"""
One decorator that turns a readable scalar formula into machine code.

Every hot formula of the project is written once, as a plain function of floats.
``formula`` hands it to Numba; the plain function stays reachable as ``.py_func`` and is the
reference that tests compare with.  There is no second form of any formula.

Traps that this file exists for:

* Numba's file cache notices an edit of the compiled function's own file, not of a function that
  it calls in another file: the caller would silently keep the old physics.  The cache folder is
  therefore named by a hash over all files that hold compiled formulas.
* A read-only home must not stop the program: without a writable cache it compiles in memory.
* Where Numba has no wheel, the plain functions run, slower; ``engine()`` says which it is.
"""

import hashlib
import os
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, TypeVar

Function = TypeVar("Function", bound=Callable[..., Any])

_PACKAGE = Path(__file__).resolve().parent.parent
# Rooms that may hold compiled formulas; the hash covers all of their files.
_FORMULA_ROOMS = ("core", "physics", "feedline", "kits", "evidence")


@cache
def _numba() -> Any:
    """Give the compiler module, or None when it is absent or switched off."""
    if os.environ.get("FEEDPROOF_PLAIN") == "1":
        return None
    try:
        import numba
    except ImportError:
        return None
    return numba


def engine() -> str:
    """
    Say how formulas are run on this machine.

    Returns
    -------
    str
        ``"compiled"`` or ``"plain"``.
    """
    return "plain" if _numba() is None else "compiled"


def source_fingerprint(package: Path = _PACKAGE) -> str:
    """
    Hash every source file that may hold a compiled formula.

    Parameters
    ----------
    package : Path
        Folder of the package.

    Returns
    -------
    str
        Sixteen hexadecimal digits; any edit of a formula or of a function it calls changes them.
    """
    digest = hashlib.sha256()
    for room in _FORMULA_ROOMS:
        for file in sorted((package / room).glob("**/*.py")):
            digest.update(file.relative_to(package).as_posix().encode())
            digest.update(file.read_bytes())
    return digest.hexdigest()[:16]


@cache
def _cache_folder() -> Path | None:
    """Make and give the folder for machine code, or None when none can be written."""
    base = os.environ.get("FEEDPROOF_CACHE")
    root = Path(base) if base else Path.home() / ".cache" / "feedproof"
    folder = root / f"formulas-{source_fingerprint()}"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe = folder / f".probe-{os.getpid()}"
        probe.touch()
        probe.unlink()
    except (OSError, RuntimeError):
        return None
    return folder


def formula(function: Function) -> Function:
    """
    Compile a scalar formula, keeping its plain form as the reference.

    Parameters
    ----------
    function : callable
        Function of floats (or of arrays with explicit loops) that uses ``math`` and other
        formulas only, raises nothing, and returns numbers only.  Range checks and findings
        belong to the Python layer above.

    Returns
    -------
    callable
        The compiled function, with the plain one as ``py_func``; the plain function itself
        where no compiler is at hand.
    """
    numba = _numba()
    if numba is None:
        return function
    folder = _cache_folder()
    before = numba.config.CACHE_DIR
    try:
        # Numba reads the folder while decorating; the setting is put back at once so that
        # nothing else in the process sees it.
        numba.config.CACHE_DIR = str(folder or "")
        compiled: Function = numba.njit(
            # Without the interpreter's lock, so that threads can share a large grid.
            cache=folder is not None,
            error_model="numpy",
            fastmath=False,
            nogil=True,
        )(function)
    finally:
        numba.config.CACHE_DIR = before
    return compiled
