"""What long work tells of itself, whoever listens."""

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
