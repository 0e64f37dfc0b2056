"""The verbs that look ahead, as commands."""

from pathlib import Path

from feedproof.app import api_ahead as api
from feedproof.app.progress import bar
from feedproof.app.saying import say


def predict(
    case: Path,
    /,
    *,
    kit: list[str] | None = None,
    fuel: str | None = None,
    fuel_temp: str | None = None,
    altitude: str | None = None,
    ambient_pressure: str | None = None,
    level: str | None = None,
    pitch: str | None = None,
    loading: list[str] | None = None,
    json: bool = False,
) -> int:
    """
    Predict what each kit does to the feed line, before any hose is cut.

    Parameters
    ----------
    case : Path
        Folder of the case.
    kit : list of str
        Kit to predict, several joined by +; give the option again for more. All when left out.
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
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.predict(
        case,
        kits=tuple(kit) if kit else None,
        fuel=fuel,
        fuel_temp=fuel_temp,
        altitude=altitude,
        ambient_pressure=ambient_pressure,
        level=level,
        pitch=pitch,
        loading=tuple(loading or ()),
    )
    from feedproof.app.text import prediction_text

    say(told, prediction_text(told), as_json=json)
    return 0


def envelope(
    case: Path,
    /,
    *,
    kit: list[str] | None = None,
    fuel: str | None = None,
    picture: Path | None = None,
    force: bool = False,
    json: bool = False,
) -> int:
    """
    Say where each kit holds over temperature, altitude and loading, and what binds.

    Parameters
    ----------
    case : Path
        Folder of the case.
    kit : list of str
        Kit to ask about, several joined by +; give the option again for more. All when left out.
    fuel : str
        Fuel of the case; its reference fuel when left out.
    picture : Path
        HTML page to draw the maps on.
    force : bool
        Write over a page that is there.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    kits = tuple(kit) if kit else None
    told = api.envelope(case, kits=kits, fuel=fuel, picture=picture, force=force)
    from feedproof.app.survey_text import survey_text

    say(told, "" if json else survey_text(told), as_json=json)
    return 0


def faults(
    case: Path,
    /,
    *,
    kit: str | None = None,
    fuel: str | None = None,
    fuel_temp: str | None = None,
    altitude: str | None = None,
    json: bool = False,
) -> int:
    """
    Say how faults of the line would read on this vehicle, and which can be told apart.

    Parameters
    ----------
    case : Path
        Folder of the case.
    kit : str
        Kit in the line, several joined by +; the factory line when left out.
    fuel : str
        Fuel of the case.
    fuel_temp : str
        Fuel temperature at the pump inlet, such as 10degC.
    altitude : str
        Altitude, such as 2000m.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    kits = tuple(kit.split("+")) if kit else ()
    told = api.faults(case, kits=kits, fuel=fuel, fuel_temp=fuel_temp, altitude=altitude)
    from feedproof.app.fault_text import fault_text

    say(told, "" if json else fault_text(told), as_json=json)
    return 0


def sensitivity(
    case: Path,
    /,
    *,
    kit: list[str] | None = None,
    fuel: str | None = None,
    fuel_temp: str | None = None,
    altitude: str | None = None,
    samples: int | None = None,
    seed: int | None = None,
    json: bool = False,
) -> int:
    """
    Say what the room to the limit hangs on: parts, uncertain inputs, and how far it can be off.

    Parameters
    ----------
    case : Path
        Folder of the case.
    kit : list of str
        Kit to ask about, several joined by +; give the option again for more. All when left out.
    fuel : str
        Fuel of the case.
    fuel_temp : str
        Fuel temperature at the pump inlet, such as 10degC.
    altitude : str
        Altitude, such as 2000m.
    samples : int
        Base samples, a power of 2; 1024 when left out.
    seed : int
        Seed of the sampling; 1 when left out.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    with bar() as progress:
        told = api.sensitivity(
            case,
            kits=tuple(kit) if kit else None,
            fuel=fuel,
            fuel_temp=fuel_temp,
            altitude=altitude,
            samples=samples,
            seed=seed,
            progress=progress,
        )
    from feedproof.app.sensitivity_text import sensitivity_text

    say(told, "" if json else sensitivity_text(told), as_json=json)
    return 0


def cold_start(
    case: Path,
    /,
    *,
    kit: list[str] | None = None,
    fuel: str | None = None,
    soak: str | None = None,
    ambient: str | None = None,
    altitude: str | None = None,
    ambient_pressure: str | None = None,
    sea_level_pressure: str | None = None,
    level: str | None = None,
    json: bool = False,
) -> int:
    """
    Say whether a soaked vehicle is fed at the start, and from when on a full load holds.

    Parameters
    ----------
    case : Path
        Folder of the case.
    kit : list of str
        Kit to ask about, several joined by +; give the option again for more. All when left out.
    fuel : str
        Fuel of the case; that of the coldest declared conditions when left out.
    soak : str
        Temperature of everything at the start, such as -10degC; that of the coldest declared
        conditions when left out.
    ambient : str
        Air temperature, such as -5degC; the soak's when left out.
    altitude : str
        Altitude, such as 700m.
    ambient_pressure : str
        Air pressure in place of an altitude, such as 91kPa.
    sea_level_pressure : str
        Pressure at sea level by the weather map, such as 980hPa, with --altitude.
    level : str
        Fuel in the tank, such as 25%.
    json : bool
        Print one JSON document instead of text.

    Returns
    -------
    int
        Exit code.
    """
    told = api.cold_start(
        case,
        kits=tuple(kit) if kit else None,
        fuel=fuel,
        soak=soak,
        ambient=ambient,
        altitude=altitude,
        ambient_pressure=ambient_pressure,
        sea_level_pressure=sea_level_pressure,
        level=level,
    )
    from feedproof.app.cold_text import cold_text

    say(told, "" if json else cold_text(told), as_json=json)
    return 0
