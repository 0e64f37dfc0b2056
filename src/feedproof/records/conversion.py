"""From a checked document to the frozen case that every other room speaks of."""

from collections.abc import Iterator, Mapping
from dataclasses import replace

from pydantic import BaseModel

from feedproof.case.case import Case, Pull
from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.margin import Margins, Measure, Repeatability
from feedproof.case.vehicle import ChargeCooling, Engine, Gearing, Pump, Tank, Topology, Vehicle
from feedproof.core.values import SourcedValue
from feedproof.physics.atmosphere import standard_pressure
from feedproof.physics.fuel_values import FIXED_VISCOSITY, CatalogueFuel, fuel_from_values
from feedproof.records import document as doc
from feedproof.records.conversion_line import kit_of, part_of, recirculation_of, tee_of
from feedproof.records.conversion_runs import instrument_of, measure_of, run_of
from feedproof.records.conversion_supply import duty_of, service_of, supply_of
from feedproof.records.document_rig import rig_of
from feedproof.records.document_vehicle import PumpSection, VehicleSection
from feedproof.records.fuels import KINDS, recipes_of, resolved_fuels
from feedproof.records.places import NAMING_KEYS
from feedproof.records.quantity import LevelValue

Book = dict[str, SourcedValue]
# Margins and repeatabilities of ratios are judged in log-percent; near 1 a fraction of 1 % is
# one log-percent to a few parts in a thousand, far inside the doubt about a repeatability.
_LOG_PERCENT = 100.0


def case_of(document: doc.CaseDocument, margins: Margins, excluded: Mapping[int, str]) -> Case:
    """
    Make the frozen case.

    Parameters
    ----------
    document : CaseDocument
        Without mistakes.
    margins : Margins
        As agreed, with their date from the journal.
    excluded : mapping of int to str
        Reasons from the journal, by run number.

    Returns
    -------
    Case
        In SI.
    """
    capacity = document.vehicle.tank.capacity.value
    fuels, book = _fuels(document.fuel)
    order = [kit.id for kit in document.kit]
    runs = [
        run_of(run, capacity, excluded.get(run.number, ""), order, document.measure)
        for run in document.run
    ]
    return Case(
        title=document.title,
        note=document.note,
        vehicle=_vehicle(document),
        fuels=fuels,
        kits={kit.id: kit_of(kit) for kit in document.kit},
        pull=Pull(
            start_m_per_s=document.pull.start.value,
            stop_m_per_s=document.pull.stop.value,
            rate_m_per_s2=document.pull.rate.value,
        ),
        reference=_conditions(document.reference, capacity),
        worst=tuple(_conditions(each, capacity) for each in document.worst),
        margins=margins,
        repeatability=_repeatabilities(document.repeatability),
        instruments={
            name: instrument_of(name, section) for name, section in document.instrument.items()
        },
        runs=tuple(sorted(runs, key=lambda run: (run.started, run.number))),
        supply=supply_of(document.supply),
        duty=duty_of(document.duty),
        service=service_of(document.service),
        rig=rig_of(document.rig),
        friction_rule=document.friction_rule,
        measures={name: measure_of(name, section) for name, section in document.measure.items()},
        values={**book, **dict(_values(document, capacity))},
    )


def margins_of(section: doc.MarginsSection) -> Margins:
    """
    Make the margins, not yet dated.

    Parameters
    ----------
    section : MarginsSection
        Of the document.

    Returns
    -------
    Margins
        Their date comes from the journal.
    """
    return Margins(
        wheel_power_fraction=section.wheel_power.value,
        caught_return_fraction=section.caught_return.value,
        return_do_not_release_fraction=section.return_do_not_release.value,
        rail_deviation_pa=section.rail_deviation.value,
        rail_deviation_s=section.rail_deviation_duration.value,
        source=section.source,
        looks=tuple(section.looks),
        primary=Measure(section.primary),
    )


def _vehicle(document: doc.CaseDocument) -> Vehicle:
    """Make the vehicle."""
    section: VehicleSection = document.vehicle
    engine, gearing, tank = section.engine, section.gearing, section.tank
    return Vehicle(
        name=section.name,
        engine=Engine(
            displacement_m3=engine.displacement.value,
            charge=ChargeCooling(engine.charge),
            boost_ratio=engine.boost_ratio.value,
            speed_rev_per_s=engine.full_load.speed,
            torque_nm=engine.full_load.torque,
            specific_consumption_kg_per_j=engine.full_load.specific_consumption,
            rated_speed_rev_per_s=engine.rated_speed.value,
        ),
        gearing=Gearing(
            gear_ratio=gearing.gear_ratio.value,
            final_drive_ratio=gearing.final_drive_ratio.value,
            rolling_radius_m=gearing.rolling_radius.value,
            tyre_slip_fraction=gearing.tyre_slip.value,
            driveline_loss_fraction=gearing.driveline_loss.value,
            engine_side_inertia_kg_m2=gearing.engine_side_inertia.value,
            wheel_inertia_kg_m2=gearing.wheel_inertia.value,
        ),
        tank=Tank(
            capacity_m3=tank.capacity.value,
            inlet_above_full_m=tank.inlet_above_full.value,
            inlet_above_empty_m=tank.inlet_above_empty.value,
            distance_to_pump_m=tank.distance_to_pump.value,
            cap_valve_pa=tank.cap_valve.value,
        ),
        pump=_pump(section.pump),
        line=Line(parts=tuple(part_of(part) for part in document.line)),
        return_line=Line(parts=tuple(part_of(part) for part in document.return_line)),
        recirculation=recirculation_of(document.recirculation),
        tees=tuple(tee_of(tee) for tee in document.tee),
    )


def _pump(section: PumpSection) -> Pump:
    """Make the pump."""
    limit = section.maker_limit_abs
    return Pump(
        topology=Topology(section.topology),
        displacement_m3_per_rev=section.displacement.value,
        speed_ratio=section.speed_ratio.value,
        filling_fraction=section.filling.value,
        slip_m3_per_s=section.slip.value,
        slip_viscosity_pa_s=section.slip_viscosity.value,
        feed_pressure_regulated_pa=section.feed_pressure_regulated.value,
        inlet_half_pressure_abs_pa=section.inlet_half_pressure_abs.value,
        inlet_softness_pa=section.inlet_softness.value,
        port_loss_pa=section.port_loss.value,
        port_loss_speed_rev_per_s=section.port_loss_speed.value,
        gas_release_fraction=section.gas_release.value,
        gas_release_time_s=_value(section.gas_release_time),
        backleak_rated_m3_per_s=section.backleak_rated.value,
        lubrication_m3_per_s=section.lubrication.value,
        maker_limit_abs_pa=_value(limit),
        maker_limit_source="" if limit is None else limit.source,
    )


def _value(found: SourcedValue | None) -> float | None:
    """Give the number of a value that may be left out."""
    return None if found is None else found.value


def _fuels(sections: Mapping[str, doc.FuelSection]) -> tuple[dict[str, Fuel], Book]:
    """Make the fuels, and the part of the book that grades and blends bring."""
    recipes = recipes_of(sections)
    fuels: dict[str, Fuel] = {}
    book: Book = {}
    for name, found in resolved_fuels(recipes).items():
        origin = recipes[name].origin
        fuels[name] = fuel_from_values(found, name, origin)
        if origin:
            book.update(fuel_book(name, found))
    return fuels, book


def fuel_book(name: str, found: CatalogueFuel) -> Book:
    """
    Give the part of the book of values that a grade or a blend brings.

    Parameters
    ----------
    name : str
        Of the fuel in the case.
    found : CatalogueFuel
        The grade or blend.

    Returns
    -------
    dict of str to SourcedValue
        By path.
    """
    book: Book = {}
    for key, value in found.values.items():
        if key not in KINDS:
            continue
        # The viscosities of a grade move together: their range stands with the warm one.
        alone = key in FIXED_VISCOSITY[:1] and FIXED_VISCOSITY[1] in found.values
        book[f"fuel.{name}.{key}"] = replace(value, low=None, high=None) if alone else value
    return book


def _conditions(section: doc.ConditionsSection, capacity_m3: float) -> Conditions:
    """Make conditions; an altitude becomes the pressure of ISO 2533."""
    if section.ambient_pressure_abs is not None:
        ambient = section.ambient_pressure_abs.value
    else:
        assert section.altitude is not None  # the cross checks made sure
        ambient = float(standard_pressure(section.altitude.value))
    level = section.fuel_level
    share = level.sourced.value / (capacity_m3 if level.is_volume else 1.0)
    return Conditions(
        name=section.name,
        fuel=section.fuel,
        fuel_temperature_k=section.fuel_temperature.value,
        ambient_pressure_abs_pa=ambient,
        fuel_level_fraction=share,
        road_pitch_rad=section.road_pitch.value,
        tank_depression_pa=section.tank_depression.value,
        captured_mass_kg={name: mass.value for name, mass in section.loading.items()},
        tank_fuel_temperature_k=_value(section.tank_fuel_temperature),
        return_fuel_temperature_k=_value(section.return_fuel_temperature),
    )


def _repeatabilities(section: doc.RepeatabilitySection) -> dict[Measure, Repeatability]:
    """Make the declared repeatabilities, ratios in log-percent."""
    found: dict[Measure, Repeatability] = {}
    for measure in Measure:
        declared = getattr(section, measure.value)
        if declared is None:
            continue
        ratio = isinstance(declared, doc.RatioRepeatabilitySection)
        scale = _LOG_PERCENT if ratio else 1.0
        found[measure] = Repeatability(
            measure=measure,
            standard_deviation=declared.standard_deviation.value * scale,
            degrees_of_freedom=declared.degrees_of_freedom.value,
            source=declared.source,
            setup_standard_deviation=declared.setup_standard_deviation.value * scale,
            drift_per_run=declared.drift_per_run.value * scale,
            drift_bound_per_run=declared.drift_bound_per_run.value * scale,
        )
    return found


def _values(
    section: object, capacity_m3: float, path: str = ""
) -> Iterator[tuple[str, SourcedValue]]:
    """Go through every quantity of the document that was written, by its path."""
    match section:
        case SourcedValue():
            yield path, section
        case LevelValue():
            yield path, _share(section, capacity_m3)
        case BaseModel():
            for name, field in type(section).model_fields.items():
                # Defaults were not written: they stand in the schema, not in the case.
                if name in section.model_fields_set:
                    key = field.alias or name
                    below = f"{path}.{key}" if path else key
                    yield from _values(getattr(section, name), capacity_m3, below)
        case Mapping():
            for name, entry in section.items():
                yield from _values(entry, capacity_m3, f"{path}.{name}")
        case list():
            for position, entry in enumerate(section):
                names = (getattr(entry, key, None) for key in NAMING_KEYS)
                known = next((name for name in names if name), position)
                below = f"{path}[{known}]"
                yield from _values(entry, capacity_m3, below)


def _share(level: LevelValue, capacity_m3: float) -> SourcedValue:
    """Give a level as a share of the tank, however it was written."""
    if not level.is_volume:
        return level.sourced
    value = level.sourced
    low, high = (None if end is None else end / capacity_m3 for end in (value.low, value.high))
    return replace(value, value=value.value / capacity_m3, low=low, high=high)
