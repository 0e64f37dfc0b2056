"""From a survey of the envelope to what the report room draws of it."""

from pathlib import Path

from feedproof.app.surveying import Survey, survey_case
from feedproof.case.case import Case
from feedproof.core.errors import InputError
from feedproof.report.model import EnvelopeMap

BASELINE = "baseline"


def maps_of(case: Case, survey: Survey) -> tuple[EnvelopeMap, ...]:
    """
    Give the maps of a survey.

    Parameters
    ----------
    case : Case
        For the fuel's cloud point.
    survey : Survey
        From `survey_case`.

    Returns
    -------
    tuple of EnvelopeMap
        One for each configuration.
    """
    return tuple(
        EnvelopeMap(
            configuration=each.configuration,
            fuel_temperature_k=survey.fuel_temperature_k,
            altitude_m=survey.altitude_m,
            loadings=each.loadings,
            room_pa=each.room_pa,
            slack=each.slack,
            binding=tuple(tuple(tuple(row) for row in loading) for loading in each.binding),
            cloud_point_k=case.fuels[survey.fuel].cloud_point_k,
        )
        for each in survey.configurations
    )


def envelope_maps(case: Case, configurations: tuple[str, ...]) -> tuple[EnvelopeMap, ...]:
    """
    Survey the configurations that a report speaks of; positive controls and states are no kits.

    Parameters
    ----------
    case : Case
        The case.
    configurations : tuple of str
        As the report names them.

    Returns
    -------
    tuple of EnvelopeMap
        The baseline first.
    """
    kits = tuple(
        name
        for name in configurations
        if name != BASELINE
        and "@" not in name
        and not any(case.kits[kit_id].control for kit_id in name.split("+"))
    )
    return maps_of(case, survey_case(case, kits=kits, mends=False))


def check_picture(target: Path, *, force: bool) -> None:
    """
    Make sure that a page of maps may be written, before any work is done for it.

    Parameters
    ----------
    target : Path
        File to write, ``.html``.
    force : bool
        Write over a file that is there.

    Raises
    ------
    InputError
        Another kind of file, a folder that is not there, a file that is there already.
    """
    if target.suffix.lower() not in (".html", ".htm"):
        raise InputError.at(
            "--picture", f"{target.name!r} ends in neither .html nor .htm.", "Name a page."
        )
    if not target.parent.is_dir():
        raise InputError.at("--picture", f"there is no folder {target.parent}.", "Make it first.")
    if target.exists() and not force:
        raise InputError.at("--picture", f"{target} exists.", "Give --force to write over it.")
