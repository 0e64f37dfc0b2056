"""The server that the reliability rows share."""

from tests.records.store.conftest import server

__all__ = ["server"]
