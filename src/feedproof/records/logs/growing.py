"""A column that grows block by block, without being held twice at its end."""

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
        self._room: NDArray[Any] = np.empty(max(expected, 64), dtype)
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
            wider = np.empty(max(end, self._room.size * 3 // 2), self._room.dtype)
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
