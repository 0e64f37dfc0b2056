"""The verbs that look ahead, as functions: what the line will do, where it holds, what ails it."""

from pathlib import Path
from typing import Any

from feedproof.app.keeping import Call, keep_result
from feedproof.app.predicting import Prediction, predict_case
from feedproof.app.progress import Progress, silent
from feedproof.records.folder import CaseFolder


def predict(path: Path, *, kits: tuple[str, ...] | None = None, **asked: Any) -> Prediction:
    """
    Predict what each kit does to the feed line.

    Parameters
    ----------
    path : Path
        Folder of the case.
    kits : tuple of str, optional
        Configurations; all when left out.
    **asked
        Options of `feedproof.app.asking.conditions_asked`.

    Returns
    -------
    Prediction
        The answer; a copy is kept among the case's results.
    """
    from feedproof.app.asking import conditions_asked

    folder = CaseFolder.open(path)
    loaded = folder.load()
    case = loaded.case
    prediction = predict_case(case, kits=kits, changes=conditions_asked(case, **asked))
    call = Call(verb="predict", parameters={"kits": kits, **asked})
    keep_result(folder, loaded, "prediction", prediction, call)
    return prediction


def envelope(
    path: Path,
    *,
    kits: tuple[str, ...] | None = None,
    fuel: str | None = None,
    picture: Path | None = None,
    force: bool = False,
) -> Any:
    """
    Say where each kit holds, what binds where it does not, and what would mend it.

    Parameters
    ----------
    path : Path
        Folder of the case.
    kits : tuple of str, optional
        Configurations; all when left out.
    fuel : str, optional
        Fuel of the case; the reference fuel when left out.
    picture : Path, optional
        HTML page to draw the maps on.
    force : bool
        Write over a page that is there.

    Returns
    -------
    Survey
        The answer; a copy is kept among the case's results.

    Raises
    ------
    InputError
        No such kit or fuel; a page that cannot be written.
    """
    from feedproof.app.envelope_maps import check_picture
    from feedproof.app.surveying import survey_case

    if picture is not None:
        check_picture(picture, force=force)
    folder = CaseFolder.open(path)
    loaded = folder.load()
    case = loaded.case
    survey = survey_case(case, kits=kits, fuel=fuel)
    asked = {"kits": kits, "fuel": fuel, "picture": picture, "force": force}
    keep_result(folder, loaded, "envelope", survey, Call(verb="envelope", parameters=asked))
    if picture is not None:
        from feedproof.app.envelope_page import envelope_page
        from feedproof.records.durable import write_whole

        write_whole(picture, envelope_page(case, survey, kits).encode())
    return survey


def faults(path: Path, *, kits: tuple[str, ...] = (), **asked: Any) -> Any:
    """
    Say how faults of the line would read on this vehicle, and which of them can be told apart.

    Parameters
    ----------
    path : Path
        Folder of the case.
    kits : tuple of str
        Kits in the line; none for the factory line.
    **asked
        Options of `feedproof.app.asking.conditions_asked`.

    Returns
    -------
    FaultTable
        The answer; a copy is kept among the case's results.
    """
    from feedproof.app.asking import conditions_asked
    from feedproof.app.faulting import fault_table

    folder = CaseFolder.open(path)
    loaded = folder.load()
    case = loaded.case
    found = fault_table(case, kits=kits, changes=conditions_asked(case, **asked))
    call = Call(verb="faults", parameters={"kits": kits, **asked})
    keep_result(folder, loaded, "faults", found, call)
    return found


def sensitivity(
    path: Path,
    *,
    kits: tuple[str, ...] | None = None,
    samples: int | None = None,
    seed: int | None = None,
    progress: Progress = silent,
    **asked: Any,
) -> Any:
    """
    Say what the room at the top of the pull hangs on, and how far its prediction can be off.

    Parameters
    ----------
    path : Path
        Folder of the case.
    kits : tuple of str, optional
        Configurations; all when left out.
    samples, seed : int, optional
        Base samples, a power of 2, and the seed of the sampling; 1024 and 1 when left out.
    progress : Progress
        Told how far the work is.
    **asked
        Options of `feedproof.app.asking.conditions_asked`.

    Returns
    -------
    Sensitivity
        The answer; a copy is kept among the case's results.
    """
    from feedproof.app.asking import conditions_asked
    from feedproof.app.sensitivity import BASE_SAMPLES, SEED, sensitivity_case

    folder = CaseFolder.open(path)
    loaded = folder.load()
    case = loaded.case
    found = sensitivity_case(
        case,
        kits=kits,
        changes=conditions_asked(case, **asked),
        samples=BASE_SAMPLES if samples is None else samples,
        seed=SEED if seed is None else seed,
        progress=progress,
    )
    given = {"kits": kits, "samples": samples, "seed": seed, **asked}
    keep_result(folder, loaded, "sensitivity", found, Call(verb="sensitivity", parameters=given))
    return found


def cold_start(path: Path, *, kits: tuple[str, ...] | None = None, **asked: Any) -> Any:
    """
    Start and drive each kit from cold: is it fed, and from when on does a full load hold.

    Parameters
    ----------
    path : Path
        Folder of the case.
    kits : tuple of str, optional
        Configurations; all when left out.
    **asked
        Options of `feedproof.app.cold_starting.cold_report`.

    Returns
    -------
    ColdReport
        The answer; a copy is kept among the case's results.
    """
    from feedproof.app.cold_starting import cold_report

    folder = CaseFolder.open(path)
    loaded = folder.load()
    found = cold_report(loaded.case, kits=kits, **asked)
    call = Call(verb="cold_start", parameters={"kits": kits, **asked})
    keep_result(folder, loaded, "cold-start", found, call)
    return found
