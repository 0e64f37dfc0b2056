"""The verbs about what a kit buys and how long it lasts, as functions."""

from pathlib import Path
from typing import Any

from feedproof.app.keeping import Call, keep_result
from feedproof.app.progress import Progress, silent
from feedproof.records.folder import CaseFolder


def protect(
    path: Path,
    *,
    kits: tuple[str, ...] | None = None,
    bad_fuel: str | None = None,
    picture: Path | None = None,
    force: bool = False,
) -> Any:
    """
    Say which particles reach the pump and the injectors, with and without kits.

    Parameters
    ----------
    path : Path
        Folder of the case.
    kits : tuple of str, optional
        Configurations; all that are no control when left out.
    bad_fuel : str, optional
        ISO 4406 code of one dirty delivery.
    picture : Path, optional
        HTML page to draw the protection bars on.
    force : bool
        Write over a page that is there.

    Returns
    -------
    Protection
        The answer; a copy is kept among the case's results.
    """
    from feedproof.app.envelope_maps import check_picture
    from feedproof.app.protecting import BAD_CODE, protect_case

    if picture is not None:
        check_picture(picture, force=force)
    folder = CaseFolder.open(path)
    loaded = folder.load()
    case = loaded.case
    told = protect_case(case, kits=kits, bad_fuel=bad_fuel or BAD_CODE)
    asked = {"kits": kits, "bad_fuel": bad_fuel, "picture": picture, "force": force}
    keep_result(folder, loaded, "protection", told, Call(verb="protect", parameters=asked))
    if picture is not None:
        from feedproof.app.protect_text import protection_html
        from feedproof.records.durable import write_whole

        write_whole(picture, protection_html(told).encode())
    return told


def service(
    path: Path,
    *,
    kits: tuple[str, ...] | None = None,
    samples: int | None = None,
    picture: Path | None = None,
    force: bool = False,
    progress: Progress = silent,
) -> Any:
    """
    Say when elements are changed, and what a gauge may read until then.

    Parameters
    ----------
    path : Path
        Folder of the case.
    kits : tuple of str, optional
        Configurations; all that are no control when left out.
    samples : int, optional
        Vehicles that are drawn.
    picture : Path, optional
        HTML page to draw the life fans on.
    force : bool
        Write over a page that is there.
    progress : Progress
        Told after each configuration.

    Returns
    -------
    ServicePlan
        The answer; a copy is kept among the case's results.
    """
    from feedproof.app.envelope_maps import check_picture
    from feedproof.app.servicing import service_case

    if picture is not None:
        check_picture(picture, force=force)
    folder = CaseFolder.open(path)
    loaded = folder.load()
    case = loaded.case
    told = service_case(case, kits=kits, samples=samples, progress=progress)
    asked = {"kits": kits, "samples": samples, "picture": picture, "force": force}
    keep_result(folder, loaded, "service", told, Call(verb="service", parameters=asked))
    if picture is not None:
        from feedproof.app.service_text import service_html
        from feedproof.records.durable import write_whole

        write_whole(picture, service_html(told).encode())
    return told
