"""What a case declares of its instruments, as doubts; what it does not is common practice."""

import math

from feedproof.case.case import Case
from feedproof.case.fuel import Fuel
from feedproof.case.measures import AirSensors, Balance, Jug, Roller
from feedproof.case.run import Channel, Instrument
from feedproof.core.values import SourcedValue
from feedproof.evidence.budget import common_practice as usual
from feedproof.evidence.budget.catch import VolumeDoubts, WeighingDoubts
from feedproof.evidence.budget.doubt import Doubt, limit, mark, standard, step

DECLARED = "declared"
INLET_CHANNELS = frozenset(
    {Channel.INLET_DEPRESSION, Channel.INLET_PRESSURE_ABS, Channel.INLET_PRESSURE_GAUGE}
)


def gauge_step(instrument: Instrument) -> Doubt:
    """
    Give the step of a gauge's reading.

    Parameters
    ----------
    instrument : Instrument
        The gauge.

    Returns
    -------
    Doubt
        Declared where it is, common practice where it is not. [Pa]
    """
    for channel in instrument.channels:
        if channel.channel in INLET_CHANNELS and channel.resolution:
            return step(channel.resolution, f"step of {channel.resolution:g} Pa, {DECLARED}")
    return step(0.0, "no step is declared: none is counted", assumed=True)


def gauge_zero(case: Case, instrument: Instrument) -> Doubt:
    """
    Give how far the zero may be off: as declared, or as it changed over runs.

    Parameters
    ----------
    case : Case
        The case.
    instrument : Instrument
        The gauge.

    Returns
    -------
    Doubt
        Declared where it is, common practice where it is not. [Pa]
    """
    if instrument.zero_error_pa is not None:
        return limit(instrument.zero_error_pa, DECLARED)
    changes = [
        abs(run.zero_after_pa - run.zero_before_pa)
        for run in case.runs
        if run.zero_before_pa is not None and run.zero_after_pa is not None
    ]
    if changes:
        return limit(max(changes), "largest change from before to after a run")
    return usual.zero_error()


def gauge_place(instrument: Instrument) -> Doubt:
    """
    Give how far the gauge's height above the inlet may be off.

    Parameters
    ----------
    instrument : Instrument
        The gauge.

    Returns
    -------
    Doubt
        Declared where it is, common practice where it is not. [m]
    """
    if not instrument.gauge_line_filled:
        return limit(0.0, "no fuel in the gauge line: no head")
    found = instrument.gauge_place_error_m
    return usual.gauge_place() if found is None else limit(found, DECLARED)


def gauge_placed_again(instrument: Instrument) -> Doubt:
    """
    Give how far the gauge may stand otherwise in the next configuration.

    Parameters
    ----------
    instrument : Instrument
        The gauge.

    Returns
    -------
    Doubt
        Declared where it is, common practice where it is not. [m]
    """
    if not instrument.gauge_line_filled:
        return limit(0.0, "no fuel in the gauge line: no head")
    found = instrument.gauge_again_error_m
    return usual.gauge_placed_again() if found is None else limit(found, DECLARED)


def roller_of(case: Case) -> Roller | None:
    """
    Give what is declared of the roller.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Roller or None
        None when nothing is.
    """
    for instrument in case.instruments.values():
        if instrument.roller is not None:
            return instrument.roller
    return None


def torque(case: Case) -> Doubt:
    """
    Give the limit of the roller's torque.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Doubt
        Declared where it is, common practice where it is not. [-]
    """
    roller = roller_of(case)
    return usual.torque_error() if roller is None else limit(roller.torque_error_fraction, DECLARED)


def roller_speed(case: Case) -> Doubt:
    """
    Give the limit of the roller's speed.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Doubt
        Declared where it is, common practice where it is not. [-]
    """
    roller = roller_of(case)
    return usual.speed_error() if roller is None else limit(roller.speed_error_fraction, DECLARED)


def drift(case: Case) -> Doubt:
    """
    Give what the roller's torque may move by within a session.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Doubt
        Declared where it is, common practice where it is not. [-]
    """
    roller = roller_of(case)
    if roller is None or roller.drift_fraction is None:
        return usual.roller_drift()
    return limit(roller.drift_fraction, DECLARED)


def air_pressure(case: Case) -> Doubt:
    """
    Give the limit of the cell's barometer.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Doubt
        Declared where it is, common practice where it is not. [Pa]
    """
    sensors = _air_sensors(case)
    if sensors is None:
        return usual.air_pressure_error()
    return limit(sensors.pressure_error_pa, DECLARED)


def air_temperature(case: Case) -> Doubt:
    """
    Give the limit of the intake air's temperature.

    Parameters
    ----------
    case : Case
        The case.

    Returns
    -------
    Doubt
        Declared where it is, common practice where it is not. [K]
    """
    sensors = _air_sensors(case)
    if sensors is None:
        return usual.air_temperature_error()
    return limit(sensors.temperature_error_k, DECLARED)


def volume_doubts(case: Case, measure: str, fuel: Fuel) -> VolumeDoubts:
    """
    Give what is known of a jug.

    Parameters
    ----------
    case : Case
        With its measures.
    measure : str
        Id of the jug; of none when the case declares none.
    fuel : Fuel
        Caught.

    Returns
    -------
    VolumeDoubts
        Declared where it is, common practice where it is not.
    """
    jug = case.measures.get(measure)
    expansion = _of_fuel(case, fuel, "expansion") or usual.fuel_expansion(fuel.expansion_per_k)
    if not isinstance(jug, Jug):
        return VolumeDoubts(
            measure=usual.jug_error(),
            reading=usual.jug_reading(),
            left_over=usual.volume_left_over(),
            reaction=usual.reaction(),
            temperature=usual.thermometer(),
            expansion=expansion,
        )
    left, reaction, warmth = jug.left_over_m3, jug.reaction_s, jug.temperature_error_k
    return VolumeDoubts(
        measure=limit(jug.error_m3, DECLARED),
        reading=mark(jug.step_m3, f"{DECLARED}, read by eye")
        if jug.by_eye
        else step(jug.step_m3, DECLARED),
        left_over=usual.volume_left_over() if left is None else limit(left, DECLARED),
        reaction=usual.reaction() if reaction is None else standard(reaction, DECLARED),
        temperature=usual.thermometer() if warmth is None else limit(warmth, DECLARED),
        expansion=expansion,
    )


def weighing_doubts(case: Case, measure: str, fuel: Fuel) -> WeighingDoubts:
    """
    Give what is known of a balance.

    Parameters
    ----------
    case : Case
        With its measures.
    measure : str
        Id of the balance.
    fuel : Fuel
        Caught.

    Returns
    -------
    WeighingDoubts
        Declared where it is, common practice where it is not.

    Raises
    ------
    ValueError
        The case has no such balance: the reader refuses such a catch.
    """
    balance = case.measures.get(measure)
    if not isinstance(balance, Balance):
        raise ValueError(f"the case has no balance {measure!r}")
    density = fuel.density_15c_kg_per_m3
    left, reaction = balance.left_over_kg, balance.reaction_s
    return WeighingDoubts(
        balance=limit(balance.error_kg, DECLARED),
        reading=step(balance.step_kg, DECLARED),
        left_over=usual.mass_left_over() if left is None else limit(left, DECLARED),
        buoyancy=usual.buoyancy(density),
        reaction=usual.reaction() if reaction is None else standard(reaction, DECLARED),
        density=_of_fuel(case, fuel, "density_15c") or usual.fuel_density(density),
    )


def _air_sensors(case: Case) -> AirSensors | None:
    """Give the case's air sensors."""
    found = (each for each in case.measures.values() if isinstance(each, AirSensors))
    return next(found, None)


def _of_fuel(case: Case, fuel: Fuel, key: str) -> Doubt | None:
    """Give the declared range of a fuel's figure as a limit, or nothing."""
    value: SourcedValue | None = case.values.get(f"fuel.{fuel.name}.{key}")
    if value is None or value.low is None or value.high is None:
        return None
    half = max(value.high - value.value, value.value - value.low)
    return limit(half, f"range {DECLARED}") if math.isfinite(half) else None
