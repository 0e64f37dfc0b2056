"""The verbs about what a kit buys and how long it lasts, as commands."""

from pathlib import Path

from feedproof.app import api_kits as api
from feedproof.app.progress import bar
from feedproof.app.saying import say


def protect(
    case: Path,
    /,
    *,
    kit: list[str] | None = None,
    bad_fuel: str | None = None,
    picture: Path | None = None,
    force: bool = False,
    json: bool = False,
) -> int:
    """
    Say which particles reach the pump and the injectors, with and without kits.

    Parameters
    ----------
    case : Path
        Folder of the case.
    kit : list of str
        Kit to ask about, several joined by +; give the option again for more. All when left out.
    bad_fuel : str
        ISO 4406 code of one dirty delivery, such as 24/22/19.
    picture : Path
        HTML page to draw the protection bars on.
    force : bool
        Write over a page that is there.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.protect(
        case,
        kits=tuple(kit) if kit else None,
        bad_fuel=bad_fuel,
        picture=picture,
        force=force,
    )
    from feedproof.app.protect_text import protection_text

    say(told, "" if json else protection_text(told), as_json=json)
    return 0


def service(
    case: Path,
    /,
    *,
    kit: list[str] | None = None,
    samples: int | None = None,
    picture: Path | None = None,
    force: bool = False,
    json: bool = False,
) -> int:
    """
    Say when elements are changed, and what a gauge may read until then.

    Parameters
    ----------
    case : Path
        Folder of the case.
    kit : list of str
        Kit to ask about, several joined by +; give the option again for more. All when left out.
    samples : int
        Vehicles that are drawn, 100 to 100000; 10000 when left out.
    picture : Path
        HTML page to draw the life fans on.
    force : bool
        Write over a page that is there.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    with bar() as progress:
        told = api.service(
            case,
            kits=tuple(kit) if kit else None,
            samples=samples,
            picture=picture,
            force=force,
            progress=progress,
        )
    from feedproof.app.service_text import service_text

    say(told, "" if json else service_text(told), as_json=json)
    return 0
