"""The C programs of the benchmarks: compiled when asked for, into a scratch folder."""

import ctypes
import shutil
import subprocess
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

SOURCES = Path(__file__).resolve().parent / "c"
FLAGS = ("-O3", "-std=c11", "-shared", "-fPIC")
DOUBLES = ctypes.POINTER(ctypes.c_double)
INTS = ctypes.POINTER(ctypes.c_int64)


def compiler() -> str | None:
    """
    Find the C compiler.

    Returns
    -------
    str or None
        Its path; None where there is none.
    """
    return shutil.which("gcc")


def compiler_version() -> str:
    """
    Name the C compiler.

    Returns
    -------
    str
        Its name, version and options, or that there is none.
    """
    path = compiler()
    if path is None:
        return "no gcc: the C rows are left out"
    shown = subprocess.run(
        [path, "-dumpfullversion"], check=True, capture_output=True, text=True
    ).stdout
    return f"gcc {shown.strip()}, -O3"


def build(name: str, scratch: Path, *more: str) -> ctypes.CDLL:
    """
    Compile and load one of the programs.

    Parameters
    ----------
    name : str
        File in benchmarks/c without its ending.
    scratch : Path
        Folder that takes the library.
    *more : str
        Options beside -O3.

    Returns
    -------
    CDLL
        Ready to be called.

    Raises
    ------
    RuntimeError
        No compiler.
    """
    path = compiler()
    if path is None:
        raise RuntimeError("no gcc on this machine")
    target = scratch / f"{name}{'-'.join(more)}.so"
    source = SOURCES / f"{name}.c"
    subprocess.run([path, *FLAGS, *more, str(source), "-o", str(target), "-lm"], check=True)
    return ctypes.CDLL(str(target))


def doubles(array: FloatArray) -> "ctypes._Pointer[ctypes.c_double]":
    """
    Hand an array of floats to C.

    Parameters
    ----------
    array : array
        Contiguous, of 64-bit floats.

    Returns
    -------
    pointer
        Valid as long as the array lives.
    """
    if array.dtype != np.float64 or not array.flags.c_contiguous:
        raise TypeError("a contiguous array of 64-bit floats is needed")
    return array.ctypes.data_as(DOUBLES)


def ints(array: NDArray[np.int64]) -> "ctypes._Pointer[ctypes.c_int64]":
    """
    Hand an array of integers to C.

    Parameters
    ----------
    array : array
        Contiguous, of 64-bit integers.

    Returns
    -------
    pointer
        Valid as long as the array lives.
    """
    if array.dtype != np.int64 or not array.flags.c_contiguous:
        raise TypeError("a contiguous array of 64-bit integers is needed")
    return array.ctypes.data_as(INTS)
