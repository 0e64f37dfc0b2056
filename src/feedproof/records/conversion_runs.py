"""From the instruments and runs of a document to those of the frozen case."""

from collections.abc import Mapping, Sequence

from feedproof.case.measures import AirSensors, Balance, HandMeasure, Jug, Roller
from feedproof.case.run import (
    CaughtReturn,
    Channel,
    ChannelMap,
    Instrument,
    LogFile,
    Role,
    Run,
)
from feedproof.core.values import SourcedValue
from feedproof.records.document_measures import (
    AirSensorsSection,
    AnyMeasure,
    BalanceSection,
    JugSection,
    RollerSection,
)
from feedproof.records.document_runs import (
    CaughtReturnSection,
    ChannelSection,
    InstrumentSection,
    RunSection,
)
from feedproof.records.logs.channels import kind_of
from feedproof.records.quantity import read_number


def instrument_of(name: str, section: InstrumentSection) -> Instrument:
    """
    Make an instrument.

    Parameters
    ----------
    name : str
        Its id.
    section : InstrumentSection
        Of the document.

    Returns
    -------
    Instrument
        In SI.
    """
    return Instrument(
        id=name,
        title=section.title,
        channels=tuple(
            _channel(Channel(key), channel) for key, channel in section.channels.items()
        ),
        gauge_above_inlet_m=section.gauge_above_inlet.value,
        gauge_line_filled=section.gauge_line_filled,
        span_pa=_value(section.span),
        class_percent=_value(section.accuracy_class),
        gauge_place_error_m=_value(section.gauge_place_error),
        gauge_again_error_m=_value(section.gauge_again_error),
        zero_error_pa=_value(section.zero_error),
        roller=None if section.roller is None else _roller(section.roller),
        dialect=section.dialect,
    )


def _roller(section: RollerSection) -> Roller:
    """Make what is known of a roller."""
    return Roller(
        torque_error_fraction=section.torque_error.value,
        speed_error_fraction=section.speed_error.value,
        drift_fraction=_value(section.drift),
    )


def measure_of(name: str, section: AnyMeasure) -> HandMeasure:
    """
    Make what is read by hand.

    Parameters
    ----------
    name : str
        Its id.
    section : JugSection, BalanceSection or AirSensorsSection
        Of the document.

    Returns
    -------
    Jug, Balance or AirSensors
        In SI.
    """
    match section:
        case JugSection():
            return Jug(
                id=name,
                title=section.title,
                error_m3=section.error.value,
                step_m3=section.step.value,
                by_eye=section.by_eye,
                left_over_m3=_value(section.left_over),
                reaction_s=_value(section.reaction),
                temperature_error_k=_value(section.temperature_error),
            )
        case BalanceSection():
            return Balance(
                id=name,
                title=section.title,
                error_kg=section.error.value,
                step_kg=section.step.value,
                left_over_kg=_value(section.left_over),
                reaction_s=_value(section.reaction),
            )
        case AirSensorsSection():
            return AirSensors(
                id=name,
                title=section.title,
                pressure_error_pa=section.pressure_error.value,
                temperature_error_k=section.temperature_error.value,
            )


def _channel(channel: Channel, section: ChannelSection) -> ChannelMap:
    """Make one channel's map; its ends are of the channel's kind."""
    kind = kind_of(channel)
    # A step of a temperature is a difference: 0.1 degC is not 273.25 K.
    step = "temperature_difference" if kind == "temperature" else kind
    ends = {
        key: None if found is None else read_number(found, step if key == "resolution" else kind)
        for key, found in (
            ("ceiling", section.ceiling),
            ("floor", section.floor),
            ("resolution", section.resolution),
        )
    }
    return ChannelMap(
        channel=channel,
        column=section.column,
        unit=section.unit,
        ceiling=ends["ceiling"],
        floor=ends["floor"],
        resolution=ends["resolution"],
    )


def run_of(
    section: RunSection,
    capacity_m3: float,
    excluded: str,
    kit_order: Sequence[str],
    measures: Mapping[str, AnyMeasure],
) -> Run:
    """
    Make a run.

    Parameters
    ----------
    section : RunSection
        Of the document.
    capacity_m3 : float
        Of the tank, for levels given as volumes. [m3]
    excluded : str
        Reason from the journal, empty when the run counts.
    kit_order : sequence of str
        Kits as the case declares them: the same set of kits is one configuration, in
        whatever order a run lists them.
    measures : mapping of str to section
        What is read by hand: a catch that names no measure was made in the only one that fits.

    Returns
    -------
    Run
        In SI.
    """
    level = section.fuel_level
    return Run(
        number=section.number,
        kits=tuple(sorted(section.kits, key=kit_order.index)),
        session=section.session,
        started=section.started,
        role=Role(section.role),
        setup=section.setup,
        logs=tuple(
            LogFile(name=log.file, sha256=log.sha256, instrument=log.instrument)
            for log in section.logs
        ),
        ambient_pressure_abs_pa=section.ambient.pressure_abs.value,
        air_temperature_k=section.ambient.temperature.value,
        relative_humidity_fraction=section.ambient.humidity.value,
        fuel_level_fraction=level.sourced.value / (capacity_m3 if level.is_volume else 1.0),
        fuel=section.fuel,
        zero_before_pa=_value(section.zero.before),
        zero_after_pa=_value(section.zero.after),
        elements=section.elements,
        captured_mass_kg={name: mass.value for name, mass in section.loading.items()},
        caught_return=None
        if section.caught_return is None
        else _caught(section.caught_return, measures),
        excluded=excluded,
        note=section.note,
    )


def _caught(section: CaughtReturnSection, measures: Mapping[str, AnyMeasure]) -> CaughtReturn:
    """Make a caught return."""
    kind = "volume" if section.mass is None else "weighing"
    fitting = [name for name, measure in measures.items() if measure.kind == kind]
    return CaughtReturn(
        volume_m3=_value(section.volume),
        mass_kg=_value(section.mass),
        duration_s=section.duration.value,
        temperature_k=_value(section.temperature),
        hold=section.hold,
        engine_speed_rev_per_s=_value(section.engine_speed),
        # The cross checks made sure that no two fit where none is named.
        measure=section.measure or next(iter(fitting), ""),
    )


def _value(sourced: SourcedValue | None) -> float | None:
    """Give the number of an optional quantity."""
    return None if sourced is None else sourced.value
