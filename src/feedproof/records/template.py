"""A commented case for a newcomer to start from."""

import json
from datetime import date
from pathlib import Path

from feedproof.core.errors import InputError
from feedproof.records.folder import CaseFolder

TEMPLATE = Path(__file__).with_name("template.toml")
_TITLE = 'title = "Example, replace: what this case asks"'


def new_case(path: Path, title: str = "") -> CaseFolder:
    """
    Start a case from the template.

    Parameters
    ----------
    path : Path
        Folder to make.
    title : str
        What the case is about; the template's own words where it is empty.

    Returns
    -------
    CaseFolder
        With a first line in its journal.

    Raises
    ------
    InputError
        The title has letters that cannot be printed.
    WriteError
        Something is there already, or it cannot be written.
    """
    text = TEMPLATE.read_text(encoding="utf-8").replace("@TODAY@", date.today().isoformat())
    if not title.isprintable():
        raise InputError.at("title", "has letters that cannot be printed.", "Type it in one line.")
    if title:
        # Of printable letters, JSON writes a string as TOML does.
        text = text.replace(_TITLE, f"title = {json.dumps(title, ensure_ascii=False)}", 1)
    folder = CaseFolder.create(path, text)
    folder.journal.append("case started", {"template": "suction_fed"})
    return folder
