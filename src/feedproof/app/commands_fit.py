"""The verb ``fit`` as a command."""

from pathlib import Path

from feedproof.app import api_fit as api
from feedproof.app.progress import bar
from feedproof.app.saying import say


def fit(
    case: Path,
    /,
    *,
    fuel: str | None = None,
    fuel_temp: str | None = None,
    altitude: str | None = None,
    ambient_pressure: str | None = None,
    level: str | None = None,
    pitch: str | None = None,
    loading: list[str] | None = None,
    keep: bool = False,
    json: bool = False,
) -> int:
    """
    Fit line, pump and kits to all runs: what they teach, what not, and what follows elsewhere.

    Conditions given here are predicted beside the reference and the declared worst ones.

    Parameters
    ----------
    case : Path
        Folder of the case.
    fuel : str
        Fuel of the case.
    fuel_temp : str
        Fuel temperature at the pump inlet, such as 10degC.
    altitude : str
        Altitude, such as 2000m.
    ambient_pressure : str
        Air pressure in place of an altitude, such as 91kPa.
    level : str
        Fuel in the tank, such as 25%.
    pitch : str
        Climb of the road, such as 6deg.
    loading : list of str
        Dirt held by an element, such as factory_filter=4g; give the option again for more.
    keep : bool
        Keep draws of the parameters in the result.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        0 whatever was found; runs that contradict the case are no failure of the program.
    """
    with bar() as progress:
        told = api.fit(
            case,
            keep=keep,
            progress=progress,
            fuel=fuel,
            fuel_temp=fuel_temp,
            altitude=altitude,
            ambient_pressure=ambient_pressure,
            level=level,
            pitch=pitch,
            loading=tuple(loading or ()),
        )
    from feedproof.app.fit_text import fit_text

    say(told, "" if json else fit_text(told), as_json=json)
    return 0
