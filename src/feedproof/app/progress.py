"""Progress on standard error, for anything that may take more than a second."""

import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager

from feedproof.core.progress import Progress, silent

__all__ = ["PATIENCE_S", "Progress", "bar", "patient", "silent"]

PATIENCE_S = 1.0
"""Work shorter than this is not told of."""


@contextmanager
def bar() -> Iterator[Progress]:
    """
    Show a progress bar on standard error while the block runs.

    Yields
    ------
    Progress
        To be called with done, total and what; on a console that is no terminal it writes one
        line for each new ``what``.
    """
    if not sys.stderr.isatty():
        seen: set[str] = set()

        def lines(done: int, total: int, what: str) -> None:  # noqa: ARG001
            if what not in seen:
                seen.add(what)
                print(f"{what} ...", file=sys.stderr, flush=True)

        yield lines
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn
    from rich.progress import Progress as RichProgress

    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn())
    with RichProgress(*columns, console=Console(stderr=True), transient=True) as rich:
        tasks: dict[str, object] = {}

        def show(done: int, total: int, what: str) -> None:
            if what not in tasks:
                tasks[what] = rich.add_task(what, total=total)
            rich.update(tasks[what], completed=done, total=total)  # type: ignore[arg-type]

        yield show


def patient(progress: Progress, after_s: float = PATIENCE_S) -> Progress:
    """
    Tell only of work that takes longer than a moment.

    Parameters
    ----------
    progress : Progress
        Whom to tell.
    after_s : float
        How long nothing is told. [s]

    Returns
    -------
    Progress
        To be handed to the work; its clock starts now.
    """
    started = time.monotonic()

    def later(done: int, total: int, what: str) -> None:
        if time.monotonic() - started > after_s:
            progress(done, total, what)

    return later
