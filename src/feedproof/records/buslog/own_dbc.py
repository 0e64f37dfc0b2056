"""The DBC that a case names: where it stands, and whether it is the one that was meant."""

import hashlib
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

from feedproof.case.run import Instrument
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, warning

LARGEST_BYTES = 20_000_000
_PLACE = "dialect.dbc"


def checked_dbc(hints: Mapping[str, str]) -> Path | None:
    """
    Find the DBC that is stated.

    Parameters
    ----------
    hints : mapping of str to str
        ``dbc`` and, where it is known, ``dbc_sha256``.

    Returns
    -------
    Path or None
        None where none is stated.

    Raises
    ------
    InputError
        There is no such file, it is too large, or it is another one than was meant.
    """
    if "dbc" not in hints:
        return None
    path = Path(hints["dbc"])
    found = _hash(path)
    stated = hints.get("dbc_sha256", found)
    if stated.lower() != found:
        raise InputError.at(
            f"{_PLACE}, {path.name}",
            f"has the SHA-256 {found}, and the case states {stated}.",
            "It was changed: bring back the one that the runs were read with, or state its hash.",
        )
    return path


def with_dbc(instrument: Instrument, folder: Path) -> tuple[Instrument, tuple[Finding, ...]]:
    """
    Settle the DBC that an instrument of a case names.

    Parameters
    ----------
    instrument : Instrument
        As the case holds it.
    folder : Path
        Of the case: the DBC stands in it, so that it goes where the case goes.

    Returns
    -------
    instrument : Instrument
        With whole path and hash; as it came where it names none.
    findings : tuple of Finding
        A warning where the case does not state the hash.

    Raises
    ------
    InputError
        A path that leads out of the folder, or no such file.
    """
    stated = instrument.dialect.get("dbc")
    if stated is None:
        return instrument, ()
    place = f"instrument.{instrument.id}.{_PLACE}"
    root = folder.resolve()
    path = (root / stated).resolve()
    if not path.is_relative_to(root):
        raise InputError.at(
            place,
            f"{stated!r} leads out of the case folder.",
            "Copy the DBC into the folder, so that it goes where the case goes, and name it there.",
        )
    found = _hash(path)
    told: tuple[Finding, ...] = ()
    if "dbc_sha256" not in instrument.dialect:
        told = (
            warning(
                place,
                f"{stated}: the case does not state its hash, so that a later change of the DBC"
                " would not be seen.",
                f'Write dbc_sha256 = "{found}" beside it.',
            ),
        )
    hints = {"dbc_sha256": found, **instrument.dialect, "dbc": str(path)}
    return replace(instrument, dialect=hints), told


def _hash(path: Path) -> str:
    """Hash a DBC of a sensible size."""
    if not path.is_file():
        raise InputError.at(
            _PLACE, f"there is no file {path.name!r} there.", "Look at the name and the folder."
        )
    if path.stat().st_size > LARGEST_BYTES:
        raise InputError.at(
            f"{_PLACE}, {path.name}",
            f"has more than {LARGEST_BYTES / 1e6:.0f} MB.",
            "Name the DBC itself.",
        )
    return hashlib.sha256(path.read_bytes()).hexdigest()
