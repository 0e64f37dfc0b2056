"""The seam to long work: start it, ask how far it is, find its last result, stop it."""

import hashlib
import json
import secrets
import threading
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from fastapi import Request

from feedproof.app.web.shown.computing import shown_for
from feedproof.core.errors import FeedproofError, MissingError
from feedproof.core.findings import Finding, error
from feedproof.records.folder import CASE


@dataclass(slots=True, kw_only=True)
class Piece:
    """
    One piece of long work.

    Parameters
    ----------
    id, case, verb : str
        Its name, the case's, what is computed.
    parameters : mapping
        What was asked.
    status : str
        ``waiting``, ``running``, ``done``, ``failed`` or ``stopped``.
    done, total : int
        Of the piece of work at hand.
    what : str
        What is being done.
    findings : tuple of Finding
        Why there is no result.
    """

    id: str
    case: str
    verb: str
    parameters: Mapping[str, Any]
    status: str = "running"
    done: int = 0
    total: int = 0
    what: str = ""
    findings: tuple[Finding, ...] = ()
    document: str = ""
    stopping: bool = False

    @property
    def is_open(self) -> bool:
        """Whether something may still come of it."""
        return self.status in ("waiting", "running")

    @property
    def told(self) -> str:
        """How far it is, in words."""
        if not self.what:
            return "Waiting for its turn."
        counted = f": {self.done} of {self.total}" if self.total > 1 else ""
        return f"{self.what[:1].upper()}{self.what[1:]}{counted}."


@dataclass(frozen=True, slots=True, kw_only=True)
class Last:
    """
    The last result of a question.

    Parameters
    ----------
    shown : mapping
        What the screen shows.
    made : datetime
        When.
    is_current : bool
        False when the case has changed since.
    """

    shown: Mapping[str, Any]
    made: datetime
    is_current: bool


@dataclass(slots=True)
class _Shelf:
    pieces: dict[str, Piece] = field(default_factory=dict)
    results: dict[str, tuple[str, Last]] = field(default_factory=dict)


_SHELF = _Shelf()


class _StoppedError(Exception):
    pass


def _document(path: Path) -> str:
    return hashlib.sha256((path / CASE).read_bytes()).hexdigest()


def _key(path: Path, verb: str, parameters: Mapping[str, Any]) -> str:
    return json.dumps([str(path), verb, parameters], sort_keys=True)


def start(request: Request, path: Path, verb: str, parameters: Mapping[str, Any]) -> str:
    piece = Piece(
        id=secrets.token_hex(8),
        case=path.name,
        verb=verb,
        parameters=parameters,
        document=_document(path),
    )
    _SHELF.pieces[piece.id] = piece

    def progress(done: int, total: int, what: str) -> None:
        if piece.stopping:
            raise _StoppedError
        piece.done, piece.total, piece.what = done, total, what

    def work() -> None:
        try:
            shown = shown_for(verb, path, parameters, progress)
            _SHELF.results[_key(path, verb, parameters)] = (
                piece.document,
                Last(shown=shown, made=datetime.now(UTC), is_current=True),
            )
            piece.status = "done"
        except _StoppedError:
            piece.status = "stopped"
        except FeedproofError as fault:
            piece.findings, piece.status = fault.findings, "failed"
        except Exception as fault:
            piece.findings, piece.status = (error(verb, repr(fault)),), "failed"
            raise

    threading.Thread(target=work, daemon=True).start()
    return piece.id


def state(request: Request, identity: str) -> Piece:
    if identity not in _SHELF.pieces:
        raise MissingError.at("work", "there is no such work.", "Load the page again.")
    return _SHELF.pieces[identity]


def latest(request: Request, path: Path, verb: str, parameters: Mapping[str, Any]) -> Piece | None:
    same = [
        piece
        for piece in _SHELF.pieces.values()
        if (piece.case, piece.verb, piece.parameters) == (path.name, verb, parameters)
        and (piece.is_open or piece.document == _document(path))
    ]
    return same[-1] if same else None


def last(request: Request, path: Path, verb: str, parameters: Mapping[str, Any]) -> Last | None:
    found = _SHELF.results.get(_key(path, verb, parameters))
    if found is None:
        return None
    return Last(shown=found[1].shown, made=found[1].made, is_current=found[0] == _document(path))


def cancel(request: Request, identity: str) -> None:
    state(request, identity).stopping = True
