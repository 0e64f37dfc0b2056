"""The process that reads a log of another kind: limits first, then the reader, then an answer."""

import contextlib
import json
import sys
from collections.abc import Mapping
from dataclasses import asdict
from importlib import import_module
from pathlib import Path
from typing import Any

from feedproof.core.errors import InputError
from feedproof.records.logs.dialect import Dialect
from feedproof.records.logs.guarded import dialect_as_json

_LARGEST_TEXT_BYTES = 2_000_000_000


def main(request: str) -> None:
    """
    Read one log and write the answer.

    Parameters
    ----------
    request : str
        JSON of `feedproof.records.logs.guarded`.
    """
    asked = json.loads(request)
    reader = import_module(asked["reader"])
    _limit(asked["memory"])
    answer = _answer(reader, asked["path"], asked["hints"], asked["target"])
    Path(asked["answer"]).write_text(json.dumps(answer), encoding="utf-8")


def _answer(reader: Any, path: str, hints: Mapping[str, str], target: str) -> dict[str, Any]:
    """Let the reader work and put in JSON whatever comes of it."""
    try:
        dialect: Dialect = reader.as_text(Path(path), hints, Path(target))
    except InputError as fault:
        return {"findings": [asdict(finding) for finding in fault.findings]}
    except MemoryError:
        return {"died": "memory"}
    except OSError as fault:
        if fault.filename == target or fault.errno in (27, 28, 122):  # EFBIG, ENOSPC, EDQUOT
            return {"no_room": fault.strerror or "cannot be written"}
        return {"died": f"{type(fault).__name__}: {str(fault)[:200]}"}
    except BaseException as fault:
        # Libraries that are written in other languages raise kinds of their own, some of which
        # are no Exception.
        return {"died": f"{type(fault).__name__}: {str(fault)[:200]}"}
    return {"dialect": dialect_as_json(dialect)}


def _limit(memory: int) -> None:
    """Limit the address space where the system can; elsewhere only time is limited."""
    try:
        import resource
    except ImportError:
        return  # Windows: sizes are checked by the readers and the time by the parent.
    taken = 0
    with contextlib.suppress(OSError, ValueError, IndexError):
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[0])
        taken = pages * resource.getpagesize()
    # A system without /proc counts otherwise: there the start is allowed for by a guess.
    most = memory + (taken or 1_000_000_000)
    for what, value in ((resource.RLIMIT_AS, most), (resource.RLIMIT_FSIZE, _LARGEST_TEXT_BYTES)):
        with contextlib.suppress(OSError, ValueError):
            hard = resource.getrlimit(what)[1]
            least = value if hard == resource.RLIM_INFINITY else min(value, hard)
            resource.setrlimit(what, (least, hard))
    with contextlib.suppress(OSError, ValueError):
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))


if __name__ == "__main__":
    main(sys.argv[1])
