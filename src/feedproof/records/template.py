"""A commented case for a newcomer to start from."""

from datetime import date
from pathlib import Path

from feedproof.records.folder import CaseFolder

TEMPLATE = Path(__file__).with_name("template.toml")


def new_case(path: Path) -> CaseFolder:
    """
    Start a case from the template.

    Parameters
    ----------
    path : Path
        Folder to make.

    Returns
    -------
    CaseFolder
        With a first line in its journal.

    Raises
    ------
    WriteError
        Something is there already, or it cannot be written.
    """
    text = TEMPLATE.read_text(encoding="utf-8").replace("@TODAY@", date.today().isoformat())
    folder = CaseFolder.create(path, text)
    folder.journal.append("case started", {"template": "suction_fed"})
    return folder
