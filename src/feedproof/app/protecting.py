"""The verb ``protect``: which particles reach the pump and the injectors, with and without kits."""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof import __version__
from feedproof.app.predicting import BASELINE
from feedproof.app.protect_water import (
    WaterTold,
    unstopped_for,
    water_findings,
    water_told,
)
from feedproof.app.rated import (
    EDGES_M,
    STRAINER,
    DutyPoint,
    candidate_sets,
    duty_point,
    filling_of,
    mass_shares,
    penetrations_of,
    rated_elements,
    rating_findings,
    supply_and_duty,
)
from feedproof.app.supply_told import FOR_PROTECTION, assumed_findings, dirt_findings
from feedproof.case.case import Case
from feedproof.case.supply import Duty, Rating
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, note
from feedproof.kits.filters import HARSH, MILD, taken_as, torn
from feedproof.kits.passage import Passage, passage
from feedproof.kits.protection import (
    Exposure,
    Filling,
    after_bad_fuel,
    code_of_bands,
    delivered,
    distance_worth_of_dirt,
    in_the_long_run,
)
from feedproof.physics.cleanliness import code_text, distribution_of_codes, read_code
from feedproof.physics.size_bins import bin_middles
from feedproof.physics.wear_exposure import exposure, relative_exposure

FloatArray = NDArray[np.float64]

BAD_CODE = "24/22/19"
"""One dirty delivery, sixteen times as many particles as 20/18/15: invented. [-]"""
BAD_FUEL_DISTANCE_M = 500e3
OPENING_DIRT_KG = 1e-6
"""Dirt that falls into the clean side when an element is changed, 1 mg: an assumption, no source.
[kg]"""
TORN_SEAL_FRACTION = 0.05
"""Share of the flow past a torn seal: an assumption, no source. [-]"""
PER_ML = 1e-6
"""From a cubic metre to a millilitre. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class BadFuel:
    """
    One dirty filling and what follows.

    Parameters
    ----------
    code : str
        ISO 4406 code of the delivery.
    distance_m : tuple of float
        Distance since it, at the end of each fill. [m]
    over_baseline : tuple of float
        Exposure of the clearance band in each fill over that of the long run of the line without
        a kit. [-]
    """

    code: str
    distance_m: tuple[float, ...]
    over_baseline: tuple[float, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TornSeal:
    """
    A configuration with one torn seal.

    Parameters
    ----------
    pump_code : str
        ISO 4406 code of the fuel that reaches the pump.
    exposure : float
        Exposure of the clearance band over that of the sound line without a kit. [-]
    """

    pump_code: str
    exposure: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ProtectedConfiguration:
    """
    One configuration as a filter.

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    pump_code : str
        ISO 4406 code of the fuel that reaches the pump, in the long run.
    pump_per_ml : array, shape (n_b,)
        Particles in each band of size. [1/mL]
    injected_per_l : array, shape (n_b,)
        Particles injected with each litre burnt. [1/L]
    relative : array, shape (n_b,)
        Particles that reach the pump over those without a kit. [-]
    relative_low, relative_high : array, shape (n_b,)
        The same if vehicles are mild or harsh to ratings that nobody declared. [-]
    exposure, exposure_low, exposure_high : float
        Exposure of the clearance band over that without a kit. [-]
    caught_mass : mapping of str to float
        Share of the weighed dirt that each element holds in the end. [-]
    torn_seal : mapping of str to TornSeal
        What a torn seal of each element would do.
    bad_fuel : BadFuel
        After one dirty filling.
    unrated : tuple of str
        Elements other than strainers that say nothing of how they filter, the baseline's
        included: with such an answer is a bound, or none.
    opened_m : float
        Distance that an element change is worth in exposure, if it lets `OPENING_DIRT_KG` fall
        into the clean side. [m]
    water : WaterTold
        What becomes of the water.
    """

    configuration: str
    pump_code: str
    pump_per_ml: FloatArray
    injected_per_l: FloatArray
    relative: FloatArray
    relative_low: FloatArray
    relative_high: FloatArray
    exposure: float
    exposure_low: float
    exposure_high: float
    caught_mass: dict[str, float]
    torn_seal: dict[str, TornSeal]
    bad_fuel: BadFuel
    unrated: tuple[str, ...]
    opened_m: float
    water: WaterTold


@dataclass(frozen=True, slots=True, kw_only=True)
class Protection:
    """
    What ``protect`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-protection``, its version, and the version of the program.
    title, note, vehicle : str
        From the case.
    delivered_code : str
        ISO 4406 code of the fuel as it comes.
    edges_m : tuple of float
        Edges of the bands of size. [m]
    feed_m3_per_s, injected_m3_per_s : float
        Mean flows of the duty, without a kit. [m3/s]
    configurations : tuple of ProtectedConfiguration
        The baseline first.
    water_assumed : tuple of str
        What the water's figures rest on.
    unstopped, unstopped_card, unstopped_names : tuple of str
        What no filter stops: for a report, for a card, in a few words each.
    findings : tuple of Finding
        What is assumed, and what must be known.
    """

    format: str
    version: int
    program: str
    title: str
    note: str
    vehicle: str
    delivered_code: str
    edges_m: tuple[float, ...]
    feed_m3_per_s: float
    injected_m3_per_s: float
    configurations: tuple[ProtectedConfiguration, ...]
    water_assumed: tuple[str, ...]
    unstopped: tuple[str, ...]
    unstopped_card: tuple[str, ...]
    unstopped_names: tuple[str, ...]
    findings: tuple[Finding, ...]


def protect_case(
    case: Case, *, kits: tuple[str, ...] | None = None, bad_fuel: str = BAD_CODE
) -> Protection:
    """
    Follow particles through every configuration.

    Parameters
    ----------
    case : Case
        With supply and duty.
    kits : tuple of str, optional
        Configurations; all that are no control when left out.
    bad_fuel : str
        ISO 4406 code of one dirty delivery.

    Returns
    -------
    Protection
        The answer.

    Raises
    ------
    MissingError
        No supply or duty; no such kit.
    InputError
        No such code; a rating through which no curve can be laid.
    """
    supply, duty = supply_and_duty(case, "protect")
    bad = delivered(distribution_of_codes(_falling(bad_fuel)), EDGES_M)
    sets = candidate_sets(case, kits)
    filling = filling_of(case, supply, duty)
    shares = mass_shares(supply)
    base = _seen(case, (), duty, filling)
    stays = unstopped_for(case)
    found = tuple(
        _configuration(
            each,
            base,
            bad,
            bad_fuel,
            shares,
            water_told(case, supply, duty, each.point),
        )
        for each in (_seen(case, kits_of, duty, filling) for kits_of in sets)
    )
    return Protection(
        format="feedproof-protection",
        version=1,
        program=__version__,
        title=case.title,
        note=case.note,
        vehicle=case.vehicle.name,
        delivered_code=code_text(supply.cleanliness),
        edges_m=EDGES_M,
        feed_m3_per_s=base.point.state.feed_m3_per_s,
        injected_m3_per_s=base.point.state.injected_m3_per_s,
        configurations=found,
        water_assumed=tuple(dict.fromkeys(line for each in found for line in each.water.assumed)),
        unstopped=stays.report,
        unstopped_card=stays.card,
        unstopped_names=stays.names,
        findings=(
            *rating_findings(case, sets),
            *water_findings(case),
            *assumed_findings(case, FOR_PROTECTION),
            *dirt_findings(case),
            *_limits_of_the_model(),
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Seen:
    """A configuration at its duty point, with its elements' ratings."""

    name: str
    duty: Duty
    filling: Filling
    point: DutyPoint
    ratings: dict[str, Rating]
    unrated: tuple[str, ...]

    def way(self, ratings: dict[str, Rating]) -> Passage:
        """Give one pass of the feed, were the elements rated so."""
        let_pass = penetrations_of(ratings)
        bands = self.filling.delivered_per_m3.size
        # Without a rated element all passes, and the bands must still be known.
        return passage(self.point.circuit, self.point.state, let_pass or {"": np.ones(bands)})

    def long_run(self, ratings: dict[str, Rating]) -> Exposure:
        """Follow the fill that repeats itself."""
        return in_the_long_run(self.way(ratings), self.filling)

    def taken(self, factors: tuple[float, float, float]) -> Exposure:
        """Follow it with other assumptions where nobody declared any."""
        return self.long_run({n: taken_as(rating, factors) for n, rating in self.ratings.items()})


def _seen(case: Case, kits: tuple[str, ...], duty: Duty, filling: Filling) -> _Seen:
    """Solve a configuration at its duty point."""
    return _Seen(
        name="+".join(kits) if kits else BASELINE,
        duty=duty,
        filling=filling,
        point=duty_point(case, kits, duty),
        ratings=rated_elements(case, kits),
        unrated=tuple(
            each.id
            for each in case.line_with(kits).elements
            if each.rating is None and each.role != STRAINER
        ),
    )


def _configuration(
    seen: _Seen,
    base: _Seen,
    bad_per_m3: FloatArray,
    bad_code: str,
    shares: FloatArray,
    water: WaterTold,
) -> ProtectedConfiguration:
    """Follow one configuration beside the baseline."""
    middles = bin_middles(EDGES_M)
    found, bare = seen.long_run(seen.ratings), base.long_run(base.ratings)

    def over(one: Exposure, other: Exposure) -> float:
        return relative_exposure(middles, list(one.pump_per_m3), list(other.pump_per_m3))

    # Mild and harsh vehicles treat the baseline's elements alike.
    mild, harsh = ((seen.taken(each), base.taken(each)) for each in (MILD, HARSH))
    ratios = [one.pump_per_m3 / other.pump_per_m3 for one, other in (mild, harsh)]
    typical = found.pump_per_m3 / bare.pump_per_m3
    exposures = [over(found, bare), over(*mild), over(*harsh)]
    elements = seen.way(seen.ratings).elements
    return ProtectedConfiguration(
        configuration=seen.name,
        pump_code=code_text(code_of_bands(EDGES_M, found.pump_per_m3)),
        pump_per_ml=found.pump_per_m3 * PER_ML,
        injected_per_l=found.injected_per_m3 * 1e-3,
        relative=typical,
        relative_low=np.minimum.reduce([typical, *ratios]),
        relative_high=np.maximum.reduce([typical, *ratios]),
        exposure=exposures[0],
        exposure_low=min(exposures),
        exposure_high=max(exposures),
        caught_mass={
            name: float(np.sum(found.caught[row] * shares)) for row, name in enumerate(elements)
        },
        torn_seal={name: _torn(seen, bare, name) for name in seen.ratings},
        bad_fuel=_bad_fuel(seen, bare, bad_per_m3, bad_code),
        unrated=tuple(dict.fromkeys((*base.unrated, *seen.unrated))),
        opened_m=_opened_m(seen, found),
        water=water,
    )


def _opened_m(seen: _Seen, found: Exposure) -> float:
    """Give what dirt that falls in at an element change is worth in distance."""
    filling, state = seen.filling, seen.point.state
    middles = bin_middles(EDGES_M)
    return distance_worth_of_dirt(
        OPENING_DIRT_KG,
        filling.delivered_kg_per_m3,
        exposure(middles, list(filling.delivered_per_m3)),
        exposure(middles, list(found.pump_per_m3)),
        seen.duty.fuel_use_m2 * state.feed_m3_per_s / state.injected_m3_per_s,
    )


def _falling(code: str) -> tuple[int, ...]:
    """Read the code of a dirty delivery."""
    try:
        numbers = read_code(code)
    except ValueError as fault:
        raise InputError.at("--bad-fuel", f"{fault}.") from fault
    if len(set(numbers)) < len(numbers):
        raise InputError.at(
            "--bad-fuel",
            f"code {code!r} counts no fewer large particles than small ones.",
            "The numbers fall from 4 um(c) to 14 um(c), as in 24/22/19.",
        )
    return numbers


def _torn(seen: _Seen, bare: Exposure, element: str) -> TornSeal:
    """Follow a configuration whose element has a torn seal."""
    rating = torn(seen.ratings[element], TORN_SEAL_FRACTION)
    found = seen.long_run({**seen.ratings, element: rating})
    return TornSeal(
        pump_code=code_text(code_of_bands(EDGES_M, found.pump_per_m3)),
        exposure=relative_exposure(
            bin_middles(EDGES_M), list(found.pump_per_m3), list(bare.pump_per_m3)
        ),
    )


def _bad_fuel(seen: _Seen, bare: Exposure, bad_per_m3: FloatArray, bad_code: str) -> BadFuel:
    """Follow one dirty filling for the distance that is asked."""
    filling = seen.filling
    step_m = (filling.high_m3 - filling.low_m3) / seen.duty.fuel_use_m2
    fills = max(math.ceil(BAD_FUEL_DISTANCE_M / step_m), 2)
    middles = bin_middles(EDGES_M)
    followed = after_bad_fuel(seen.way(seen.ratings), filling, bad_per_m3, fills)
    return BadFuel(
        code=bad_code,
        distance_m=tuple(step_m * (number + 1) for number in range(fills)),
        over_baseline=tuple(
            relative_exposure(middles, list(fill.pump_per_m3), list(bare.pump_per_m3))
            for fill in followed
        ),
    )


def _limits_of_the_model() -> tuple[Finding, ...]:
    """Say what the figures are not."""
    return (
        note(
            "exposure",
            "is a ratio of particles of the size of the clearances, weighted by a bell around"
            " 3 um(c): what an injector's life does with it, nobody knows.",
        ),
        note(
            "bands below 4 um(c)",
            "rest on extrapolation: no test with ISO medium dust rates an element there, and no"
            " code counts there.",
        ),
        note(
            "an element change",
            f"opens the line: {1e6 * OPENING_DIRT_KG:g} mg of dirt in the clean side is an"
            " assumption without a source; it goes straight to the pump, like cuttings in a new"
            " hose behind the last element. Flush new hoses, never fill an element through its"
            " clean side, and do not open the line without need.",
        ),
    )
