"""The verb that chooses a kit, as a function."""

from pathlib import Path
from typing import Any

from feedproof.app.keeping import Call, keep_result
from feedproof.app.progress import Progress, silent
from feedproof.records.folder import CaseFolder


def choose(
    path: Path,
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
    leave_out: tuple[str, ...] = (),
    picture: Path | None = None,
    force: bool = False,
    progress: Progress = silent,
) -> Any:
    """
    Say which kit is right for a vehicle: a primary, a secondary, both or none.

    Parameters
    ----------
    path : Path
        Folder of the case.
    catalogue : Path, optional
        CSV of a workshop's own parts, beside the packaged generic ones.
    at_least : str, optional
        Interval that it must reach, such as ``"30000 km"``; that of the line without a kit when
        left out.
    water : bool
        True when it must take out free water.
    space : str, optional
        Room that there is for it, such as ``"3 L"``.
    most_cost : float, optional
        Cost over 100 000 km that is borne.
    joint_cost, change_cost, halving_worth : float, optional
        Worths of the rule; assumptions when left out.
    baseline_share : str, optional
        Share of the allowed depression above which the vehicle is too restricted already.
    currency : str, optional
        Word behind costs.
    leave_out : tuple of str
        Items of the catalogue that are not to be used.
    picture : Path, optional
        HTML page to draw the trade-off front on.
    force : bool
        Write over a page that is there.
    progress : Progress
        Told as the work goes on.

    Returns
    -------
    Choice
        The answer; a copy is kept among the case's results.
    """
    from feedproof.app.choosing import choose_case
    from feedproof.app.envelope_maps import check_picture
    from feedproof.app.wishing import wishes_of
    from feedproof.records.catalogue import generic_catalogue, read_catalogue

    asked: dict[str, Any] = {
        "at_least": at_least,
        "water": water,
        "space": space,
        "most_cost": most_cost,
        "joint_cost": joint_cost,
        "change_cost": change_cost,
        "halving_worth": halving_worth,
        "baseline_share": baseline_share,
        "currency": currency,
        "leave_out": leave_out,
    }
    wishes = wishes_of(**asked)
    if picture is not None:
        check_picture(picture, force=force)
    known = generic_catalogue() if catalogue is None else read_catalogue(catalogue)
    folder = CaseFolder.open(path)
    loaded = folder.load()
    told = choose_case(loaded.case, known, wishes, progress=progress)
    call = Call(
        verb="choose",
        parameters={**asked, "picture": picture, "force": force},
        files={"catalogue": catalogue},
    )
    keep_result(folder, loaded, "choice", told, call)
    if picture is not None:
        from feedproof.app.choose_text import choice_html
        from feedproof.records.durable import write_whole

        write_whole(picture, choice_html(told).encode())
    return told
