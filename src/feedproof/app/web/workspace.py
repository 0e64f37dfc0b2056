"""The folder that a server works in: its cases, and a folder of its own beside them."""

import re
import secrets
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from feedproof.app.api import PACKAGED_DEMO, new
from feedproof.core.errors import InputError, MissingError, WriteError
from feedproof.records.durable import write_whole
from feedproof.records.folder import CaseFolder
from feedproof.records.names import name_fault
from feedproof.records.trash import removed_cases

_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_-]{0,59}")
OWN = ".feedproof"
"""Folder of the server itself: secret, password, jobs."""
DEMO = "demo"


def is_demo(name: str) -> bool:
    """
    Say whether a name is one that copies of the demonstration get.

    Parameters
    ----------
    name : str
        Of a case.

    Returns
    -------
    bool
        True also for what somebody called so by hand.

    Examples
    --------
    >>> is_demo("demo-2"), is_demo("demolition-truck")
    (True, False)
    """
    return re.fullmatch(rf"{DEMO}(-\d+)?", name) is not None


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseLine:
    """
    A case in the list.

    Parameters
    ----------
    name : str
        Of its folder, and in addresses.
    title : str
        As the case says; its name where it cannot be read.
    note : str
        As the case says.
    fault : str
        Why it cannot be used; empty when it can.
    """

    name: str
    title: str
    note: str
    fault: str


class Workspace:
    """
    A folder of cases.

    Parameters
    ----------
    path : Path
        The folder; it is made where it is not there.
    """

    def __init__(self, path: Path) -> None:
        self.path = path
        self.own = path / OWN

    def prepare(self) -> bool:
        """
        Make what is missing; a folder without cases gets the demonstration.

        Returns
        -------
        bool
            True on a first visit.

        Raises
        ------
        WriteError
            The folder cannot be written.
        """
        try:
            self.own.mkdir(parents=True, exist_ok=True, mode=0o700)
        except OSError as fault:
            raise WriteError.at(
                str(self.path), f"cannot be written: {fault.strerror}.", "Name another folder."
            ) from fault
        is_first = not any(self.names())
        if is_first:
            self.add_demo()
        return is_first

    def names(self) -> Iterator[str]:
        """
        Give the names of the cases.

        Yields
        ------
        str
            Sorted; folders with other names are not served.
        """
        if not self.path.is_dir():
            return
        for each in sorted(self.path.iterdir()):
            if _NAME.fullmatch(each.name) and (each / "case.toml").is_file():
                yield each.name

    def lines(self) -> tuple[CaseLine, ...]:
        """
        List the cases with what they say of themselves.

        Returns
        -------
        tuple of CaseLine
            Also those that cannot be used, with the reason.
        """
        return tuple(self._line(name) for name in self.names())

    def case(self, name: str) -> Path:
        """
        Find a case by name.

        Parameters
        ----------
        name : str
            From an address: never trusted.

        Returns
        -------
        Path
            Its folder, inside this one.

        Raises
        ------
        MissingError
            There is none of this name.
        """
        path = self.place(name)
        if (
            not (path / "case.toml").is_file()
            # A link could lead anywhere.
            or path.resolve().parent != self.path.resolve()
        ):
            raise MissingError.at("cases", f"there is no case {name!r}.", "Choose one of the list.")
        return path

    def place(self, name: str) -> Path:
        """
        Give the folder that a case of a name has, or had before it was removed.

        Parameters
        ----------
        name : str
            From an address: never trusted.

        Returns
        -------
        Path
            Inside this one.

        Raises
        ------
        MissingError
            No case can have that name.
        """
        if not _NAME.fullmatch(name):
            raise MissingError.at("cases", f"there is no case {name!r}.", "Choose one of the list.")
        return self.path / name

    def removed(self) -> tuple[tuple[str, str], ...]:
        """
        List cases that were taken away and can be brought back.

        Returns
        -------
        tuple of (str, str)
            Name and day.
        """
        return tuple(
            (name, f"{when:%Y-%m-%d}")
            for name, when in removed_cases(self.path)
            if _NAME.fullmatch(name)
        )

    def free_name(self, wanted: str) -> str:
        """
        Make a name for a new case.

        Parameters
        ----------
        wanted : str
            What it is about, in any words.

        Returns
        -------
        str
            Not taken yet.
        """
        slug = re.sub(r"[^a-z0-9]+", "-", wanted.lower()).strip("-")[:50].strip("-") or "case"
        if name_fault(slug):
            # Such as "con", which is a device on some machines and can be no folder there.
            slug = f"case-{slug}"
        number, name = 1, slug
        while (self.path / name).exists():
            number += 1
            name = f"{slug}-{number}"
        return name

    def add_case(self, wanted: str) -> str:
        """
        Begin a case from the template.

        Parameters
        ----------
        wanted : str
            What it is about: its title, and in plain letters its name.

        Returns
        -------
        str
            Its name.

        Raises
        ------
        InputError
            Nothing to name it by.
        WriteError
            It could not be written.
        """
        if not wanted.strip():
            raise InputError.at("name", "is empty.", "Say which vehicle the case is about.")
        name = self.free_name(wanted)
        new(self.path / name, title=wanted.strip())
        return name

    def add_demo(self) -> str:
        """
        Copy the demonstration case.

        Returns
        -------
        str
            Its name.

        Raises
        ------
        WriteError
            It could not be written.
        """
        name = self.free_name(DEMO)
        CaseFolder(PACKAGED_DEMO).copy_to(self.path / name)
        return name

    def secret(self) -> bytes:
        """
        Give the secret that sessions are signed with; it outlives a restart.

        Returns
        -------
        bytes
            32 random bytes.
        """
        file = self.own / "secret"
        if not file.is_file() or len(file.read_bytes()) != 32:
            write_whole(file, secrets.token_bytes(32))
            file.chmod(0o600)
        return file.read_bytes()

    def _line(self, name: str) -> CaseLine:
        """Read what a case says of itself."""
        try:
            case = CaseFolder.open(self.path / name).read().case
        except (InputError, MissingError) as fault:
            return CaseLine(name=name, title=name, note="", fault=str(fault.findings[0]))
        if case is None:
            return CaseLine(name=name, title=name, note="", fault="it has mistakes to mend first")
        return CaseLine(name=name, title=case.title, note=case.note, fault="")
