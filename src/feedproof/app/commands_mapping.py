"""The verbs of learned mappings as commands."""

from feedproof.app import api_records as api
from feedproof.app.saying import say


def show(instrument: str = "", /, *, store: str | None = None, json: bool = False) -> int:
    """
    List what was learned of instruments: who, when, from what, and the block for a case.

    Parameters
    ----------
    instrument : str
        Only of this one.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.mapping_show(instrument, store=store)
    say(told, told.text(), as_json=json)
    return 0


def forget(
    instrument: str,
    /,
    *,
    who: str,
    why: str,
    which: str = "",
    store: str | None = None,
    json: bool = False,
) -> int:
    """
    Forget a mapping; feedproof record undo brings it back for 30 days.

    Parameters
    ----------
    instrument : str
        Id of the instrument.
    who : str
        Who forgets it.
    why : str
        Why; it is kept.
    which : str
        First digits of its hash, where the instrument has more than one.
    store : str
        Database; as for store reindex.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.mapping_forget(instrument, who=who, why=why, which=which, store=store)
    say(told, told.text(), as_json=json)
    return 0
