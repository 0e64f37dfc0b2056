"""The verb ``look`` as a command."""

from pathlib import Path

from feedproof.app import api_look as api
from feedproof.app.progress import bar
from feedproof.app.saying import say


def look(
    files: list[Path],
    /,
    *,
    instrument: str = "",
    case: Path | None = None,
    encoding: str = "",
    delimiter: str = "",
    decimal: str = "",
    time_form: str = "",
    sheet: str = "",
    dbc: str = "",
    remember: str = "",
    json: bool = False,
) -> int:
    """
    Say what is concluded about log files before anything of them is used.

    Parameters
    ----------
    files : list of Path
        Logs as instruments write them: text (CSV and the like), XLSX workbooks, Parquet.
    instrument : str
        Id for the block that is printed; with --case one of its instruments to compare with.
    case : Path
        Folder of a case.
    encoding : str
        Encoding in the place of the concluded one, such as cp1250.
    delimiter : str
        Delimiter: comma, semicolon, tab, bar or blanks.
    decimal : str
        Decimal mark: point or comma.
    time_form : str
        Form of times: number, h:mm:ss, h:mm, mm:ss or date-time.
    sheet : str
        Sheet of a workbook, where several hold a table.
    dbc : str
        DBC of the vehicle for a bus log, before our own; a case names one in its folder.
    remember : str
        Who confirms that the instrument of --case reads these files rightly; its mapping is then
        remembered and shown for files with the same header.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        0 when every file can be read as it stands, 2 when something must be stated first.
    """
    hints = {
        "encoding": encoding,
        "delimiter": delimiter,
        "decimal": decimal,
        "time_form": time_form,
        "sheet": sheet,
        "dbc": dbc,
    }
    with bar() as progress:
        told = api.look(
            files,
            instrument=instrument,
            case=case,
            hints={name: value for name, value in hints.items() if value},
            confirmed_by=remember,
            progress=progress,
        )
    from feedproof.app.look_text import look_text

    say(told, "" if json else look_text(told), as_json=json)
    return 0 if told.usable else 2
