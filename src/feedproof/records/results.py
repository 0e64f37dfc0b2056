"""
Results of a case: written once, named by their content, never changed.

A file holds ``kind`` and ``content``, how it was ``made``, and a ``seal``, the hash of the other
three.  Its name is made of kind and content alone: the same answer is the same result on every
machine and with every version.  Older results have neither ``made`` nor ``seal``.
"""

import hashlib
import json
import re
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from feedproof.core.errors import InputError, MissingError
from feedproof.records.durable import write_whole

_RESULT_ID = re.compile(r"^[0-9a-f]{16}$")
_FIRST_DIGITS = 16
_SEEN = re.compile(rb'"journal_seen": \{\s*"lines": (\d+),\s*"sha256": "([0-9a-f]{64})"')


class Results:
    """
    The results of one case.

    Parameters
    ----------
    path : Path
        Folder; it need not exist yet.
    """

    def __init__(self, path: Path) -> None:
        self.path = path

    def write(
        self, kind: str, document: Mapping[str, Any], made: Mapping[str, Any] | None = None
    ) -> str:
        """
        Keep a result for good.

        Parameters
        ----------
        kind : str
            Such as ``prediction`` or ``proof``.
        document : mapping
            What JSON can hold.
        made : mapping, optional
            How it was made: a `feedproof.records.making.Making`, laid out for JSON.

        Returns
        -------
        str
            Its id, made of its content: the same result is kept once.

        Raises
        ------
        InputError
            NaN or an infinite number.
        WriteError
            No space.
        """
        body: dict[str, Any] = {"kind": kind, "content": document}
        try:
            identity = _identity(_canonical(body))
            if made is not None:
                body["made"] = made
                body["seal"] = _sealed(body)
            text = _canonical(body)
        except (TypeError, ValueError) as fault:
            raise InputError.at(f"result {kind}", f"cannot be kept: {fault}.") from fault
        target = self.path / f"{identity}.json"
        if not target.exists():
            self.path.mkdir(exist_ok=True)
            write_whole(target, text.encode())
        return identity

    def read(self, identity: str) -> Mapping[str, Any]:
        """
        Read a result.

        Parameters
        ----------
        identity : str
            Its id.

        Returns
        -------
        mapping
            With ``kind`` and ``content``, and ``made`` where it is known.

        Raises
        ------
        MissingError
            There is no such result.
        InputError
            The file was changed.
        """
        path = self.path / f"{identity}.json"
        if not _RESULT_ID.match(identity) or not path.is_file():
            raise MissingError.at(f"result {identity}", "there is no such result.")
        found = _whole(path.read_bytes(), identity)
        if found is None:
            raise InputError.at(
                f"results/{path.name}",
                "was changed after it was written.",
                "Restore it, or compute it again.",
            )
        return found

    def journals_seen(self) -> tuple[tuple[str, int, str], ...]:
        """
        Say which end of the journal each result was computed with.

        Returns
        -------
        tuple of (str, int, str)
            Id of the result, lines of the journal and hash of the last one; results that keep no
            such mark are left out.
        """
        # Looked for in the bytes: results are large, and every verb asks.
        found = (
            (file.stem, _SEEN.search(file.read_bytes()))
            for file in sorted(self.path.glob("*.json"))
        )
        return tuple((name, int(mark[1]), mark[2].decode()) for name, mark in found if mark)

    def of_kind(self, kind: str) -> tuple[str, ...]:
        """
        List the results of a kind.

        Parameters
        ----------
        kind : str
            Such as ``proof``.

        Returns
        -------
        tuple of str
            Ids, the oldest file first.
        """
        return tuple(each for each in self.all() if self.read(each)["kind"] == kind)

    def all(self) -> tuple[str, ...]:
        """
        List all results.

        Returns
        -------
        tuple of str
            Ids, the oldest file first.
        """
        files = sorted(self.path.glob("*.json"), key=lambda f: (f.stat().st_mtime, f))
        return tuple(f.stem for f in files)


def _canonical(body: Mapping[str, Any]) -> str:
    """Write a body in the only form that a file of results has."""
    return json.dumps(body, sort_keys=True, indent=1, ensure_ascii=False, allow_nan=False)


def _sealed(body: Mapping[str, Any]) -> str:
    """Hash everything of a body but its seal."""
    unsealed = {key: value for key, value in body.items() if key != "seal"}
    return hashlib.sha256(_canonical(unsealed).encode()).hexdigest()


def _whole(content: bytes, identity: str) -> dict[str, Any] | None:
    """Read a file of results; None where any byte of it is not as it was written."""
    try:
        text = content.decode()
        found = json.loads(text)
        # Equal values can be written in many ways; only one of them was.
        if not isinstance(found, dict) or _canonical(found) != text:
            return None
        core = _canonical({"kind": found["kind"], "content": found["content"]})
    except (ValueError, KeyError, RecursionError):
        return None
    if _identity(core) != identity:
        return None
    sealed = set(found) == {"kind", "content", "made", "seal"} and found["seal"] == _sealed(found)
    if not sealed and set(found) != {"kind", "content"}:
        return None
    return {key: value for key, value in found.items() if key != "seal"}


def _identity(text: str) -> str:
    """Name a result by its content; the time of computing is no part of what was found."""
    timeless = re.sub(r'^  "computed": .*$', "", text, flags=re.MULTILINE)
    return hashlib.sha256(timeless.encode()).hexdigest()[:_FIRST_DIGITS]
