"""Documents that results were made from: each kept once under the hash of its bytes."""

import hashlib
import re
from pathlib import Path

from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.durable import sync_folder, write_whole

_NAME = re.compile(r"^[0-9a-f]{64}(\.[a-z0-9]{1,8})?$")


class Documents:
    """
    The documents that one case keeps.

    Parameters
    ----------
    path : Path
        Folder of ``<sha256>.<kind>``; it need not exist yet.
    """

    def __init__(self, path: Path) -> None:
        self.path = path

    def keep(self, content: bytes, kind: str) -> str:
        """
        Keep a document for good.

        Parameters
        ----------
        content : bytes
            The document.
        kind : str
            What it is, as its name ends: ``toml``, ``json``, ``csv``, ``jsonl``.

        Returns
        -------
        str
            Its name; the same bytes are kept once.

        Raises
        ------
        WriteError
            No space.
        """
        name = f"{hashlib.sha256(content).hexdigest()}.{kind}"
        target = self.path / name
        if not target.exists():
            try:
                self.path.mkdir(exist_ok=True)
                sync_folder(self.path.parent)
            except OSError as fault:
                raise WriteError.at(
                    "documents", f"could not be kept: {fault.strerror}.", "Free some space."
                ) from fault
            write_whole(target, content)
        return name

    def read(self, name: str) -> bytes:
        """
        Read a document.

        Parameters
        ----------
        name : str
            As `keep` gave it.

        Returns
        -------
        bytes
            As they were kept.

        Raises
        ------
        MissingError
            There is no such document.
        InputError
            The file was changed.
        """
        path = self.path / name
        if not _NAME.match(name) or not path.is_file():
            raise MissingError.at(f"documents/{name}", "is not there.", "Restore it.")
        content = path.read_bytes()
        if hashlib.sha256(content).hexdigest() != name.split(".")[0]:
            raise InputError.at(
                f"documents/{name}", "was changed after it was kept.", "Restore it from a backup."
            )
        return content

    def all(self) -> tuple[str, ...]:
        """
        List the documents.

        Returns
        -------
        tuple of str
            Names, sorted.
        """
        if not self.path.is_dir():
            return ()
        return tuple(
            sorted(each.name for each in self.path.iterdir() if not each.name.startswith("."))
        )
