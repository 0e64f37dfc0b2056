"""Progress on standard error, for anything that may take more than a second."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Protocol


class Progress(Protocol):
    """What long work tells of itself."""

    def __call__(self, done: int, total: int, what: str) -> None:
        """Say how far the work is."""


def silent(done: int, total: int, what: str) -> None:
    """
    Tell nobody.

    Parameters
    ----------
    done, total : int
        Steps done and steps in all.
    what : str
        What is being done.
    """


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
