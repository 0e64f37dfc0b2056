"""The verb ``plan`` as a command."""

from pathlib import Path

from feedproof.app import api_plan as api
from feedproof.app.naming import named_archive
from feedproof.app.progress import bar
from feedproof.app.saying import say


def plan(
    case: Path,
    /,
    *,
    kit: list[str] | None = None,
    chance: float = 90.0,
    runs_each: int | None = None,
    replumbed: bool | None = None,
    sheet: Path | None = None,
    force: bool = False,
    archive: Path | None = None,
    json: bool = False,
) -> int:
    """
    Plan the test: which order, how many runs, what they can exclude, what to improve first.

    Parameters
    ----------
    case : Path
        Folder of the case.
    kit : list of str
        Kit to test, several joined by +; give the option again for more. Every kit that is no
        positive control when left out.
    chance : float
        Wanted chance, in percent, of excluding each margin when there is no loss: 50 to 99.
    runs_each : int
        Runs with and without the kit; the least that reach the chance when left out.
    replumbed : bool
        Every change-over opens the line. When left out, taken so where a scatter of opening it
        is declared.
    sheet : Path
        Run sheet to write, ending in .html or .pdf.
    force : bool
        Write over a run sheet that is there.
    archive : Path
        Archive of repeatability, or store for the one in the database; FEEDPROOF_ARCHIVE when
        left out. Used as by prove.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        0 when there is a plan, whatever it promises.
    """
    with bar() as progress:
        told = api.plan(
            case,
            kits=tuple(kit) if kit else None,
            chance=chance,
            runs_each=runs_each,
            replumbed=replumbed,
            sheet=sheet,
            force=force,
            archive=named_archive(archive),
            progress=progress,
        )
    from feedproof.app.plan_text import plan_text

    say(told, "" if json else plan_text(told), as_json=json)
    return 0
