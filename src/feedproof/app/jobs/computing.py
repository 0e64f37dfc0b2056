"""Compute one job, whatever comes of it: what the process of its own does between two messages."""

import sys
import traceback
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from feedproof.app.documents import to_document
from feedproof.app.jobs.bases import Standing
from feedproof.app.jobs.verbs import TABLE, call, given, table_of, verb_of
from feedproof.app.progress import Progress
from feedproof.core.errors import FeedproofError, InputError
from feedproof.core.findings import error


def prepare(table: str) -> None:
    """
    Load what the verbs need, so that the first job does not wait for it.

    Parameters
    ----------
    table : str
        Table of verbs as ``module:name``.
    """
    table_of(table)
    if table == TABLE:
        from feedproof.app import api, warm  # noqa: F401

        warm.warm()


def computed(table: str, message: Mapping[str, Any], progress: Progress) -> dict[str, Any]:
    """
    Compute one job.

    Parameters
    ----------
    table : str
        Table of verbs as ``module:name``.
    message : mapping
        ``verb``, ``case``, ``parameters``, ``root`` and ``memory_mb``.
    progress : Progress
        Told how far the work is; what it raises ends the work.

    Returns
    -------
    dict
        Arguments of `feedproof.app.jobs.shelf.write_outcome`.
    """
    try:
        verb = verb_of(table_of(table), message["verb"])
        case = Path(message["case"])
        found = given(verb, message["parameters"], Path(message["root"]))
        before = Standing(case, asks_database=verb.asks_database) if verb.kind else None
        result = call(verb, case, found, progress)
        outcome: dict[str, Any] = {
            "exit_code": _exit_code(result),
            "result": to_document(result),
        }
        if before is not None:
            after = Standing(case, asks_database=verb.asks_database)
            # Edited while it was computed: nobody can say what it rests on.
            outcome["basis"] = after.basis() if after.document == before.document else None
    except FeedproofError as fault:
        return {"exit_code": fault.exit_code, "findings": fault.findings}
    except MemoryError:
        return _fault(
            message["verb"],
            f"needs more than the {message['memory_mb']} MiB that a job may take.",
            "Ask for less at once, or raise the limit.",
        )
    except Exception as fault:
        traceback.print_exc(file=sys.stderr)
        return _fault(
            message["verb"],
            f"a fault of the program: {type(fault).__name__}: {fault}.",
            "Please report it, with the case if you can.",
        )
    return outcome


def _exit_code(result: Any) -> int:
    """Give what the command line would, for answers that say themselves whether all is well."""
    is_well = getattr(result, "usable", True) and getattr(result, "whole", True)
    return 0 if is_well else InputError.exit_code


def _fault(verb: str, message: str, remedy: str) -> dict[str, Any]:
    """Say what no verb says of itself."""
    return {"exit_code": 1, "findings": (error(verb, message, remedy),)}
