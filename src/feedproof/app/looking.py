"""Looks kept in the journal: which runs were judged before, so that peeking shows."""

from collections.abc import Sequence
from typing import Any

from feedproof.app.configurations import candidates, label
from feedproof.case.case import Case
from feedproof.evidence.looks import Look, LookBook, look_of
from feedproof.records.folder import CaseFolder
from feedproof.records.journal import Entry
from feedproof.records.reading import RUN_EXCLUDED

JUDGED = "runs judged"
"""What the journal calls a look."""


def looks_of_case(case: Case) -> tuple[Look, ...]:
    """
    Say what a judgement of a case as it stands looks at.

    Parameters
    ----------
    case : Case
        With its runs.

    Returns
    -------
    tuple of Look
        One for each configuration that can be compared.
    """
    found = [look_of(case.runs, kits, role, label(kits, role)) for kits, role in candidates(case)]
    return tuple(look for look in found if look is not None)


def look_book(entries: Sequence[Entry]) -> LookBook:
    """
    Read earlier looks from a journal.

    Parameters
    ----------
    entries : sequence of Entry
        Of the case.

    Returns
    -------
    LookBook
        Looks, and runs that were left out after a look with them.
    """
    earlier: list[Look] = []
    late: list[int] = []
    for entry in entries:
        if entry.what == JUDGED:
            earlier += [_look(each) for each in entry.data.get("looks", ())]
        number = entry.data.get("run")
        seen = {run for look in earlier for run in (*look.baseline, *look.candidate)}
        if entry.what == RUN_EXCLUDED and isinstance(number, int) and number in seen:
            late.append(number)
    return LookBook(earlier=tuple(earlier), left_out_late=tuple(dict.fromkeys(late)))


def remember_looks(folder: CaseFolder, case: Case, book: LookBook) -> None:
    """
    Write those looks to the journal that are not in it yet.

    Parameters
    ----------
    folder : CaseFolder
        Of the case.
    case : Case
        As it was judged.
    book : LookBook
        What the journal held before.

    Raises
    ------
    InputError, WriteError
        The journal is broken or cannot be written: an answer that leaves no trace is none.
    """
    new = [
        look
        for look in looks_of_case(case)
        if not any(look.same_runs(other) for other in book.earlier)
    ]
    if new:
        folder.journal.append(
            JUDGED,
            {
                "looks": [
                    {
                        "configuration": look.configuration,
                        "baseline": list(look.baseline),
                        "candidate": list(look.candidate),
                        "counted": look.counted,
                    }
                    for look in new
                ]
            },
            who="feedproof",
            why="an answer was computed from these runs",
        )


def _look(data: dict[str, Any]) -> Look:
    """Read one look of a journal line."""
    return Look(
        configuration=str(data["configuration"]),
        baseline=tuple(int(number) for number in data["baseline"]),
        candidate=tuple(int(number) for number in data["candidate"]),
        counted=int(data["counted"]),
    )
