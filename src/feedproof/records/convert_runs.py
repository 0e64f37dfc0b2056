"""Instruments and runs of a document without mistakes, in SI."""

from feedproof.case.run import (
    CaughtReturn,
    Channel,
    ChannelMap,
    Instrument,
    LogFile,
    Role,
    Run,
)
from feedproof.records.document_runs import (
    CaughtReturnSection,
    ChannelSection,
    InstrumentSection,
    RunSection,
)
from feedproof.records.levels import fraction_of, si
from feedproof.records.logs.channels import kind_of
from feedproof.records.quantity import read_number


def instrument_of(name: str, section: InstrumentSection) -> Instrument:
    """
    Give an instrument.

    Parameters
    ----------
    name : str
        Its id.
    section : InstrumentSection
        As written.

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
        span_pa=si(section.span),
        class_percent=si(section.accuracy_class),
        dialect=dict(section.dialect),
    )


def _channel(channel: Channel, section: ChannelSection) -> ChannelMap:
    """Give one channel with the ends of its sensor."""
    kind = kind_of(channel)
    step = "temperature_difference" if kind == "temperature" else kind
    return ChannelMap(
        channel=channel,
        column=section.column,
        unit=section.unit,
        ceiling=None if section.ceiling is None else read_number(section.ceiling, kind),
        floor=None if section.floor is None else read_number(section.floor, kind),
        resolution=None if section.resolution is None else read_number(section.resolution, step),
    )


def run_of(section: RunSection, capacity_m3: float, excluded: str) -> Run:
    """
    Give a run.

    Parameters
    ----------
    section : RunSection
        As written.
    capacity_m3 : float
        Of the tank, for levels in litres. [m3]
    excluded : str
        Reason for leaving it out, from the journal.

    Returns
    -------
    Run
        In SI.
    """
    return Run(
        number=section.number,
        kits=tuple(section.kits),
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
        fuel_level_fraction=fraction_of(section.fuel_level, capacity_m3).value,
        fuel=section.fuel,
        zero_before_pa=si(section.zero.before),
        zero_after_pa=si(section.zero.after),
        elements=dict(section.elements),
        captured_mass_kg={name: mass.value for name, mass in section.loading.items()},
        caught_return=None if section.caught_return is None else _caught(section.caught_return),
        excluded=excluded,
        note=section.note,
    )


def _caught(section: CaughtReturnSection) -> CaughtReturn:
    """Give what was caught."""
    return CaughtReturn(
        volume_m3=section.volume.value,
        duration_s=section.duration.value,
        temperature_k=section.temperature.value,
        hold=section.hold,
        engine_speed_rev_per_s=si(section.engine_speed),
    )
