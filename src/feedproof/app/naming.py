"""Where an archive of repeatability is named: on the command line, or in the environment."""

import os
from pathlib import Path

VARIABLE = "FEEDPROOF_ARCHIVE"


def named_archive(file: Path | None) -> Path | None:
    """
    Give the archive that was named, on the command line or in the environment.

    Parameters
    ----------
    file : Path or None
        As given on the command line, which goes first.

    Returns
    -------
    Path or None
        None when neither names one.
    """
    name = os.environ.get(VARIABLE, "").strip()
    return file if file is not None or not name else Path(name)
