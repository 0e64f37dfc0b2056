"""A column that grows block by block, without being held twice at its end."""

import mmap
from typing import Any

import numpy as np
from numpy.typing import NDArray


class Growing:
    """
    An array that takes parts.

    Parameters
    ----------
    dtype : type
        Kind of its items.
    expected : int
        Items that are likely to come; room for more is made when they do.
    """

    def __init__(self, dtype: type[np.generic], expected: int) -> None:
        # Memory that is asked for and never written to costs nothing.
        self._room: NDArray[Any] = _room(max(expected, 64), dtype)
        self._size = 0

    @property
    def size(self) -> int:
        """Give the number of items taken."""
        return self._size

    def add(self, part: NDArray[Any]) -> None:
        """
        Take a part at the end.

        Parameters
        ----------
        part : array, shape (n,)
            Its items.
        """
        end = self._size + part.size
        if end > self._room.size:
            wider = _room(max(end, self._room.size * 3 // 2), self._room.dtype.type)
            wider[: self._size] = self._room[: self._size]
            self._room = wider
        self._room[self._size : end] = part
        self._size = end

    def whole(self) -> NDArray[Any]:
        """
        Give all items.

        Returns
        -------
        array, shape (n,)
            A view of the room, so that nothing is copied.
        """
        return self._room[: self._size]


def _room(items: int, dtype: type[np.generic]) -> NDArray[Any]:
    """
    Ask for memory in pages of the usual size.

    For large arrays numpy asks for huge pages.  Where memory is in pieces, the system then first
    moves other pages out of the way: writing 230 MB took 0.6 s of computing, and takes 0.2 s so.
    """
    size = items * np.dtype(dtype).itemsize
    # Shared with nobody, which is not the default where there is a choice.
    how = {"flags": mmap.MAP_PRIVATE} if hasattr(mmap, "MAP_PRIVATE") else {}
    try:
        return np.frombuffer(mmap.mmap(-1, size, **how), dtype)
    except OSError as fault:
        # As an array says it: whoever tells the user looks for this, and not for a broken file.
        raise MemoryError(f"{size} bytes for a column of a log") from fault
