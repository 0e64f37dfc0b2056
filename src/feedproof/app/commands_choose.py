"""The verb that chooses a kit, as a command."""

from pathlib import Path

from feedproof.app import api_choose as api
from feedproof.app.progress import bar
from feedproof.app.saying import say


def choose(
    case: Path,
    /,
    *,
    catalogue: Path | None = None,
    at_least: str | None = None,
    water: bool = False,
    space: str | None = None,
    most_cost: float | None = None,
    joint_cost: float | None = None,
    change_cost: float | None = None,
    halving_worth: float | None = None,
    baseline_share: str | None = None,
    currency: str | None = None,
    leave_out: list[str] | None = None,
    picture: Path | None = None,
    force: bool = False,
    json: bool = False,
) -> int:
    """
    Say which kit is right for a vehicle: a primary, a secondary, both or none.

    Parameters
    ----------
    case : Path
        Folder of the case.
    catalogue : Path
        CSV of a workshop's own parts; its items stand beside the packaged generic ones and replace
        those of the same name.
    at_least : str
        Interval that it must reach, such as 30000km; that of the line without a kit when left out.
    water : bool
        It must take out free water.
    space : str
        Room that there is for it, such as 3L.
    most_cost : float
        Cost over 100000 km that is borne.
    joint_cost : float
        What the risk of air at one added joint costs; 5 when left out, an assumption.
    change_cost : float
        What a visit for the change of elements costs; 30 when left out, an assumption.
    halving_worth : float
        What each halving of the exposure is worth; 150 when left out, an assumption.
    baseline_share : str
        Share of the allowed depression that the clean line without a kit may take under the worst
        conditions; 60% when left out.
    currency : str
        Word behind costs; "cost" when left out.
    leave_out : list of str
        Item of the catalogue that is not to be used; give the option again for more.
    picture : Path
        HTML page to draw the trade-off front on.
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
        told = api.choose(
            case,
            catalogue=catalogue,
            at_least=at_least,
            water=water,
            space=space,
            most_cost=most_cost,
            joint_cost=joint_cost,
            change_cost=change_cost,
            halving_worth=halving_worth,
            baseline_share=baseline_share,
            currency=currency,
            leave_out=tuple(leave_out or ()),
            picture=picture,
            force=force,
            progress=progress,
        )
    from feedproof.app.choose_text import choice_text

    say(told, "" if json else choice_text(told), as_json=json)
    return 0
