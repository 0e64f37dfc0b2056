"""The verb ``service``: when elements are changed, and what a gauge may read until then."""

import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from feedproof import __version__
from feedproof.app.case_budgets import gauge_budgets
from feedproof.app.predicting import BASELINE
from feedproof.app.progress import Progress, silent
from feedproof.app.rated import (
    candidate_sets,
    declared_fuels,
    duty_point,
    filling_of,
    mass_shares,
    penetrations_of,
    rated_elements,
    rating_findings,
    supply_and_duty,
    workshop_of,
)
from feedproof.app.service_dirt import (
    dirt_by_band,
    dirt_shares_of,
    dust_by_band,
    service_findings,
    with_soft,
)
from feedproof.app.service_guard import guarded
from feedproof.app.service_result import ServicedConfiguration, ServicePlan
from feedproof.app.supply_told import SOURCE
from feedproof.case.case import Case
from feedproof.case.parts import Element
from feedproof.case.supply import Duty, Service, Supply
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, note
from feedproof.feedline.assess import LEAST_FEED_MARGIN
from feedproof.feedline.envelope import MOST_FREE_GAS
from feedproof.feedline.grid import GridLimits
from feedproof.feedline.pull import engine_speeds
from feedproof.kits.check_values import (
    CheckBand,
    CheckValues,
    check_values,
    choose_check_point,
)
from feedproof.kits.life import (
    AllowedMedia,
    Followed,
    allowed_media,
    follow,
    summed_chain,
    with_media,
)
from feedproof.kits.loading import Loader
from feedproof.kits.passage import Passage, passage
from feedproof.kits.service import (
    GRID_POINTS,
    SAMPLES,
    Fan,
    fan_of,
    interval_of,
    life_of,
    sample_vehicles,
)

FloatArray = NDArray[np.float64]

SPEEDS = 15
FOLLOWED_M = 3e8
"""Distance over which samples are followed where no longest interval says less. [m]"""
FEWEST, MOST = 100, 100_000
READING_POINTS = 60
ASSUMED_GAUGE_PA = 1200.0
"""Expanded uncertainty of a gauge that nobody declared: class 1.6 on 60 kPa, read to 0.5 kPa, its
height known to 10 mm (common practice, no source). [Pa]"""


def service_case(
    case: Case,
    *,
    kits: tuple[str, ...] | None = None,
    samples: int | None = None,
    progress: Progress = silent,
) -> ServicePlan:
    """
    Work service out for every configuration.

    Parameters
    ----------
    case : Case
        With supply, duty, worst conditions and, if anything shall bound it, service.
    kits : tuple of str, optional
        Configurations; all that are no control when left out.
    samples : int, optional
        Vehicles that are drawn.
    progress : Progress
        Told after each configuration.

    Returns
    -------
    ServicePlan
        The answer.

    Raises
    ------
    MissingError
        No supply or duty; no such kit.
    InputError
        No worst conditions; no limit known; samples out of range; every configuration refused.
    """
    supply, duty = supply_and_duty(case, "service")
    count = SAMPLES if samples is None else samples
    chance = case.service.chance_fraction if case.service else Service().chance_fraction
    least = max(FEWEST, math.ceil(10.0 / (1.0 - chance) - 1e-6))
    if not least <= count <= MOST:
        raise InputError.at("--samples", f"{count} samples; allowed is {least} to {MOST}.")
    if case.vehicle.pump.maker_limit_abs_pa is None:
        raise InputError.at(
            "vehicle.pump.maker_limit_abs",
            "no limit known: without one from the pump's maker no check value can be computed back"
            " from it.",
            "Compare with the clean line's own reading (a rise of 10 to 12 kPa is a screening"
            " figure of common practice), or ask the maker.",
        )
    sets = candidate_sets(case, kits)
    found = []
    refusals: list[Finding] = []
    for done, each in enumerate(sets):
        progress(done, len(sets), "following samples")
        found.append(_answered(case, each, supply, duty, count, refusals))
    progress(len(sets), len(sets), "following samples")
    if len(refusals) == len(sets):
        raise InputError(list(dict.fromkeys(refusals)))
    return ServicePlan(
        format="feedproof-service",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        limit_abs_pa=case.vehicle.pump.maker_limit_abs_pa,
        worst=tuple(each.name or each.fuel for each in case.worst),
        configurations=tuple(found),
        findings=(
            *rating_findings(case, sets),
            *service_findings(case, supply),
            *_gauge_findings(case),
        ),
    )


def loader_of(case: Case, kits: tuple[str, ...], shares: dict[str, float]) -> Loader:
    """
    Give a configuration as a line that loads.

    Parameters
    ----------
    case : Case
        The case.
    kits : tuple of str
        Kit ids.
    shares : dict of str to float
        Of the dirt, by element; they add up to 1. [-]

    Returns
    -------
    Loader
        Asked over the speeds of the pull, for absolute pressure, gas and feed margin.
    """
    line = case.line_with(kits)
    limit = case.vehicle.pump.maker_limit_abs_pa
    draft = Loader(
        vehicle=case.vehicle,
        line=line,
        fuels=case.fuels,
        rule=case.friction_rule,
        shares=shares,
        engine_speed_rev_per_s=np.array([1.0]),
        limits=GridLimits(
            math.nan if limit is None else limit, math.nan, MOST_FREE_GAS, LEAST_FEED_MARGIN
        ),
    )
    speeds = engine_speeds(
        draft.circuit(case.reference, 0.0),
        np.linspace(case.pull.start_m_per_s, case.pull.stop_m_per_s, SPEEDS),
    )
    return replace(draft, engine_speed_rev_per_s=speeds)


def _answered(
    case: Case,
    kits: tuple[str, ...],
    supply: Supply,
    duty: Duty,
    count: int,
    refusals: list[Finding],
) -> ServicedConfiguration:
    """Follow one configuration, or say why it is refused: the others are answered all the same."""
    if not case.line_with(kits).elements:
        return _without_check(
            case,
            kits,
            "No element is in this line: nothing fills, so there is nothing to change and no check"
            " value.",
        )
    try:
        return _configuration(case, kits, supply, duty, count)
    except InputError as fault:
        refusals.append(fault.findings[0])
        told = " ".join(
            f"{each.place}: {each.message} {each.remedy}".strip() for each in fault.findings
        )
        return _without_check(case, kits, f"Refused: {told}")


def _without_check(case: Case, kits: tuple[str, ...], why_not: str) -> ServicedConfiguration:
    """Give a configuration of which nothing can be said but why."""
    return ServicedConfiguration(
        configuration="+".join(kits) if kits else BASELINE,
        guard_pa=0.0,
        too_restricted=False,
        check=None,
        life=None,
        interval=None,
        reached_fraction=None,
        fan=None,
        fan_temperature_k=case.reference.fuel_temperature_k,
        fan_band=None,
        dirt_shares={},
        why_not=why_not,
    )


def _gauge_findings(case: Case) -> tuple[Finding, ...]:
    """Name the gauge that was assumed, where nobody declared one."""
    if gauge_budgets(case, 0.0, 1):
        return ()
    return (
        note(
            "gauge",
            f"± {ASSUMED_GAUGE_PA / 1e3:g} kPa, class 1.6 on 60 kPa ({SOURCE}).",
            "Declare the instrument that reads the pump inlet.",
        ),
    )


def _configuration(
    case: Case, kits: tuple[str, ...], supply: Supply, duty: Duty, count: int
) -> ServicedConfiguration:
    """Follow one configuration over its life."""
    point = duty_point(case, kits, duty)
    ratings = rated_elements(case, kits)
    loading = {
        element.id: element
        for element in case.line_with(kits).elements
        if element.id in ratings and not math.isinf(element.loading_scale_kg)
    }
    way = passage(
        point.circuit,
        point.state,
        penetrations_of(ratings) or {"": np.ones(mass_shares(supply).size)},
    )
    shares = dirt_shares_of(way, loading, supply)
    loader = loader_of(case, kits, shares or _all_in_one(case, kits))
    loader, guard_pa = guarded(case, kits, loader)
    budgets = gauge_budgets(case, 0.0, 1)
    check = check_values(
        loader,
        case.worst,
        replace(choose_check_point(loader, workshop_of(case)), fuels=declared_fuels(case)),
        gauge_uncertainty_pa=2.0 * budgets[0].standard_uncertainty if budgets else ASSUMED_GAUGE_PA,
    )
    known = replace(
        _without_check(case, kits, ""),
        guard_pa=guard_pa,
        too_restricted=check.allowed.dirt_kg is None,
        check=check,
        dirt_shares=shares,
    )
    if check.allowed.unlimited:
        return replace(
            known,
            why_not="No dirt that was tried brings the line to a limit: "
            + (
                "though elements load, look for a bypass or a branch without one."
                if loading
                else "no element that loads is described."
            ),
        )
    if known.too_restricted:
        return replace(known, why_not="The clean line cannot be shown to keep its limits.")
    if not loading:
        return replace(known, why_not="No element of this line says how it filters and fills.")
    try:
        bears = allowed_media(loader, case.worst)
    except InputError as fault:
        return replace(known, why_not=fault.findings[0].message)
    return _followed(case, known, check, loader, bears, way, loading, supply, duty, count)


def _followed(
    case: Case,
    known: ServicedConfiguration,
    check: CheckValues,
    loader: Loader,
    bears: AllowedMedia,
    way: Passage,
    loading: dict[str, Element],
    supply: Supply,
    duty: Duty,
    count: int,
) -> ServicedConfiguration:
    """Draw vehicles and follow them."""
    service = case.service or Service(source="assumed")
    rows = [way.elements.index(name) for name in loading]
    catch = Passage(
        through=with_soft(way.through, way.through[:1]),
        elements=tuple(loading),
        catch=with_soft(way.catch[rows], way.catch[rows][:, :1]),
        drawn_m3_per_s=way.drawn_m3_per_s,
        injected_m3_per_s=way.injected_m3_per_s,
    )
    elements = list(loading.values())
    media = np.array([each.media_resistance_per_m / each.face_area_m2 for each in elements])
    still = bears.clean_per_m3 - float(media.sum())
    filling = filling_of(case, supply, duty)
    shares = mass_shares(supply)
    grid = np.linspace(0.0, min(FOLLOWED_M, 4.0 * (service.longest_distance_m or 1e9)), GRID_POINTS)
    followed = follow(
        sample_vehicles(
            supply,
            duty,
            fuel_density_kg_per_m3=loader.circuit(case.reference, 0.0).fluid.density_kg_per_m3,
            feed_m3_per_s=way.drawn_m3_per_s,
            injected_m3_per_s=way.injected_m3_per_s,
            elements=len(elements),
            capacity_spread=service.capacity_spread,
            count=count,
        ),
        mass_share=dirt_by_band(supply, shares),
        entering_kg_per_m3=dust_by_band(supply, shares),
        passage=catch,
        media_per_m3=media,
        scale_kg=np.array([each.loading_scale_kg for each in elements]),
        laws=[each.loading_law for each in elements],
        volume_m3=(filling.low_m3, filling.high_m3),
        allowed_per_m3=bears.per_m3 - still,
        grid_m=grid,
    )
    life = life_of(followed, grid, service.chance_fraction)
    try:
        interval = interval_of(life, service, duty, way.injected_m3_per_s)
        why_not = ""
    except InputError as fault:
        interval, why_not = None, fault.findings[0].message
    return replace(
        known,
        life=life,
        dirt_shares=_held(followed, loading),
        interval=interval,
        reached_fraction=None
        if interval is None
        else float(np.mean(followed.reached_m >= interval.distance_m)),
        fan=_fan(loader, check, followed, grid, bears, still, case),
        fan_band=_band_of(check, case),
        why_not=why_not,
    )


def _held(followed: Followed, loading: dict[str, Element]) -> dict[str, float]:
    """Give the share of the dirt, soft matter as what it blocks like, that each element held."""
    held = followed.captured_kg.sum(axis=0)
    return {name: float(mass / held.sum()) for name, mass in zip(loading, held, strict=True)}


def _band_of(check: CheckValues, case: Case) -> CheckBand | None:
    """Find the row of the table that the reference temperature falls into."""
    kelvin, fuel = case.reference.fuel_temperature_k, case.reference.fuel
    return next(
        (band for band in check.bands if band.fuel == fuel and band.low_k <= kelvin <= band.high_k),
        None,
    )


def _fan(
    loader: Loader,
    check: CheckValues,
    followed: Followed,
    grid: FloatArray,
    bears: AllowedMedia,
    still_per_m3: float,
    case: Case,
) -> Fan:
    """Read the samples at the check point, with fuel at the reference temperature."""
    at = replace(check.point.conditions, fuel_temperature_k=case.reference.fuel_temperature_k)
    circuit = summed_chain(loader, at)
    most = 3.0 * (bears.per_m3 if math.isfinite(bears.per_m3) else bears.clean_per_m3)
    media = np.geomspace(bears.clean_per_m3, max(most, 1.01 * bears.clean_per_m3), READING_POINTS)
    speed = check.point.engine_speed_rev_per_s
    readings = []
    for each in media:
        loaded = with_media(circuit, float(each))
        if check.point.loaded:
            _, injected = loaded.full_load(np.array([speed]))
            readings.append(loaded.at(speed, float(injected[0])).depression_pa)
        else:
            readings.append(loaded.held_without_load(speed).depression_pa)
    return fan_of(followed, grid, media - still_per_m3, np.array(readings))


def _all_in_one(case: Case, kits: tuple[str, ...]) -> dict[str, float]:
    """Put all dirt into the last filter element, where nothing says which one holds it."""
    names = [
        each.id for each in case.line_with(kits).elements if not math.isinf(each.loading_scale_kg)
    ] or [each.id for each in case.line_with(kits).elements]
    return {names[-1]: 1.0} if names else {}
