"""From a document without mistakes to the case that every room speaks of."""

from collections.abc import Iterable, Mapping
from typing import Any

from pydantic import BaseModel

from feedproof.case.case import Case, Pull
from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import (
    CheckValve,
    Element,
    Fitting,
    Insertion,
    Kit,
    Line,
    Orifice,
    Part,
    Pipe,
)
from feedproof.case.margin import Margins, Measure, Repeatability
from feedproof.case.vehicle import (
    ChargeCooling,
    Engine,
    Gearing,
    Pump,
    Tank,
    Topology,
    Vehicle,
)
from feedproof.core.values import SourcedValue
from feedproof.physics.atmosphere import standard_pressure
from feedproof.records.convert_runs import instrument_of, run_of
from feedproof.records.document import (
    CaseDocument,
    ConditionsSection,
    FuelSection,
    MarginsSection,
    PressureRepeatabilitySection,
    RatioRepeatabilitySection,
)
from feedproof.records.document_line import (
    CheckValveSection,
    ElementSection,
    FittingSection,
    KitSection,
    OrificeSection,
    PipeSection,
)
from feedproof.records.document_vehicle import EngineSection, PumpSection, VehicleSection
from feedproof.records.levels import fraction_of, si
from feedproof.records.places import Location, path_of
from feedproof.records.quantity import LevelValue

_T20_K, _T40_K = 293.15, 313.15
PartSections = PipeSection | FittingSection | ElementSection | CheckValveSection | OrificeSection


def case_of(document: CaseDocument, raw: Mapping[str, Any], excluded: Mapping[int, str]) -> Case:
    """
    Make the case.

    Parameters
    ----------
    document : CaseDocument
        A document without errors, cross checks included.
    raw : mapping
        The same as read from TOML, for the paths of values.
    excluded : mapping of int to str
        Reasons of excluded runs, by number, from the journal.

    Returns
    -------
    Case
        In SI; its margins are not dated yet.
    """
    capacity = document.vehicle.tank.capacity.value
    runs = [run_of(run, capacity, excluded.get(run.number, "")) for run in document.run]
    return Case(
        title=document.title,
        note=document.note,
        vehicle=_vehicle(document),
        fuels={name: _fuel(name, fuel) for name, fuel in document.fuel.items()},
        kits={kit.id: _kit(kit) for kit in document.kit},
        pull=Pull(
            start_m_per_s=document.pull.start.value,
            stop_m_per_s=document.pull.stop.value,
            rate_m_per_s2=document.pull.rate.value,
        ),
        reference=_conditions(document.reference, capacity),
        worst=tuple(_conditions(section, capacity) for section in document.worst),
        margins=margins_of(document.margins),
        repeatability=_repeatability(document),
        instruments={
            name: instrument_of(name, section) for name, section in document.instrument.items()
        },
        runs=tuple(sorted(runs, key=lambda run: (run.started, run.number))),
        friction_rule=document.friction_rule,
        values=book_of_values(document, raw, capacity),
    )


def margins_of(section: MarginsSection) -> Margins:
    """
    Give the margins, not dated.

    Parameters
    ----------
    section : MarginsSection
        As written.

    Returns
    -------
    Margins
        In SI.
    """
    return Margins(
        wheel_power_fraction=section.wheel_power.value,
        caught_return_fraction=section.caught_return.value,
        return_do_not_release_fraction=section.return_do_not_release.value,
        rail_deviation_pa=section.rail_deviation.value,
        rail_deviation_s=section.rail_deviation_duration.value,
        source=section.source,
    )


def book_of_values(
    document: CaseDocument, raw: Mapping[str, Any], capacity_m3: float
) -> dict[str, SourcedValue]:
    """
    Collect every quantity that the document writes, by its path.

    Parameters
    ----------
    document : CaseDocument
        As validated.
    raw : mapping
        As read from TOML; defaults that it does not write are left out.
    capacity_m3 : float
        Of the tank, for levels in litres. [m3]

    Returns
    -------
    dict of str to SourcedValue
        Paths as in the findings, such as ``line[steel_line].bore``.
    """
    book: dict[str, SourcedValue] = {}
    _collect(document, raw, (), raw, capacity_m3, book)
    return book


def _collect(
    value: object,
    written: Any,
    location: Location,
    raw: Mapping[str, Any],
    capacity_m3: float,
    book: dict[str, SourcedValue],
) -> None:
    """Walk the validated document beside the written one."""
    if isinstance(value, SourcedValue):
        book[path_of(raw, location)] = value
    elif isinstance(value, LevelValue):
        book[path_of(raw, location)] = fraction_of(value, capacity_m3)
    else:
        for step, below in _below(value):
            if isinstance(written, Mapping) and step not in written:
                continue
            _collect(below, written[step], (*location, step), raw, capacity_m3, book)


def _below(value: object) -> Iterable[tuple[Any, object]]:
    """Go one step down, by the keys that the document uses."""
    if isinstance(value, BaseModel):
        for name, field in type(value).model_fields.items():
            yield field.alias or name, getattr(value, name)
    elif isinstance(value, dict):
        yield from value.items()
    elif isinstance(value, list):
        yield from enumerate(value)


def _vehicle(document: CaseDocument) -> Vehicle:
    """Give the vehicle with its lines."""
    section: VehicleSection = document.vehicle
    gearing, tank = section.gearing, section.tank
    return Vehicle(
        name=section.name,
        engine=_engine(section.engine),
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
        ),
        pump=_pump(section.pump),
        line=Line(parts=tuple(map(part_of, document.line))),
        return_line=Line(parts=tuple(map(part_of, document.return_line))),
    )


def _engine(section: EngineSection) -> Engine:
    """Give the engine."""
    curve = section.full_load
    return Engine(
        displacement_m3=section.displacement.value,
        charge=ChargeCooling(section.charge),
        boost_ratio=section.boost_ratio.value,
        speed_rev_per_s=curve.speed,
        torque_nm=curve.torque,
        specific_consumption_kg_per_j=curve.specific_consumption,
        rated_speed_rev_per_s=section.rated_speed.value,
    )


def _pump(section: PumpSection) -> Pump:
    """Give the pump."""
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
        backleak_rated_m3_per_s=section.backleak_rated.value,
        lubrication_m3_per_s=section.lubrication.value,
        maker_limit_abs_pa=si(limit),
        maker_limit_source="" if limit is None else limit.source,
    )


def part_of(section: PartSections) -> Part:
    """
    Give a part of a line.

    Parameters
    ----------
    section : one of the part sections
        As written.

    Returns
    -------
    Part
        In SI.
    """
    common: dict[str, Any] = {
        "id": section.id,
        "title": section.title,
        "from_node": section.from_node,
        "to_node": section.to_node,
    }
    match section:
        case PipeSection():
            return Pipe(
                length_m=section.length.value,
                bore_m=section.bore.value,
                roughness_m=section.roughness.value,
                **common,
            )
        case FittingSection():
            return Fitting(
                count=section.count,
                bore_m=section.bore.value,
                laminar_coefficient=section.laminar_coefficient.value,
                turbulent_coefficient=section.turbulent_coefficient.value,
                **common,
            )
        case ElementSection():
            scale = section.loading_scale
            return Element(
                role=section.role,
                media_resistance_per_m=section.media_resistance.value,
                face_area_m2=section.face_area.value,
                housing_inertial_per_m4=section.housing_inertial.value,
                housing_viscous_per_m3=section.housing_viscous.value,
                **common,
                **({} if scale is None else {"loading_scale_kg": scale.value}),
            )
        case CheckValveSection():
            return CheckValve(
                cracking_pressure_pa=section.cracking_pressure.value,
                inertial_per_m4=section.housing_inertial.value,
                **common,
            )
        case OrificeSection():
            return Orifice(
                bore_m=section.bore.value,
                pipe_bore_m=section.pipe_bore.value,
                discharge_coefficient=section.discharge_coefficient.value,
                **common,
            )


def _kit(section: KitSection) -> Kit:
    """Give a kit."""
    return Kit(
        id=section.id,
        title=section.title,
        control=section.control,
        insertions=tuple(
            Insertion(
                place=insertion.before or insertion.after or "",
                side="before" if insertion.before else "after",
                parts=tuple(map(part_of, insertion.part)),
            )
            for insertion in section.insertion
        ),
    )


def _fuel(name: str, section: FuelSection) -> Fuel:
    """Give a fuel from either way of writing its viscosities."""
    cool = section.viscosity_20c or section.viscosity_cool
    warm = section.viscosity_40c or section.viscosity_warm
    assert cool is not None
    assert warm is not None
    cool_k, warm_k = section.temperature_cool, section.temperature_warm
    return Fuel(
        name=name,
        density_15c_kg_per_m3=section.density_15c.value,
        expansion_per_k=section.expansion.value,
        viscosity_cool_m2_per_s=cool.value,
        viscosity_warm_m2_per_s=warm.value,
        temperature_cool_k=_T20_K if cool_k is None else cool_k.value,
        temperature_warm_k=_T40_K if warm_k is None else warm_k.value,
        cloud_point_k=section.cloud_point.value,
        cfpp_k=section.cfpp.value,
        ostwald_air=section.ostwald_air.value,
        vapour_pressure_20c_abs_pa=section.vapour_pressure_20c_abs.value,
        vapour_pressure_slope_k=section.vapour_pressure_slope.value,
        petrol_fraction=section.petrol.value,
    )


def _conditions(section: ConditionsSection, capacity_m3: float) -> Conditions:
    """Give conditions, with air pressure by ISO 2533 where an altitude is written."""
    ambient = si(section.ambient_pressure_abs)
    if ambient is None:
        assert section.altitude is not None
        ambient = float(standard_pressure(section.altitude.value))
    return Conditions(
        name=section.name,
        fuel=section.fuel,
        fuel_temperature_k=section.fuel_temperature.value,
        ambient_pressure_abs_pa=ambient,
        fuel_level_fraction=fraction_of(section.fuel_level, capacity_m3).value,
        road_pitch_rad=section.road_pitch.value,
        tank_depression_pa=section.tank_depression.value,
        captured_mass_kg={name: mass.value for name, mass in section.loading.items()},
    )


def _repeatability(document: CaseDocument) -> dict[Measure, Repeatability]:
    """Give the declared repeatability, ratios as log-percent."""
    declared: dict[Measure, Repeatability] = {}
    for measure in Measure:
        section: RatioRepeatabilitySection | PressureRepeatabilitySection | None = getattr(
            document.repeatability, measure.value
        )
        if section is None:
            continue
        scale = 100.0 if isinstance(section, RatioRepeatabilitySection) else 1.0
        declared[measure] = Repeatability(
            measure=measure,
            standard_deviation=section.standard_deviation.value * scale,
            degrees_of_freedom=section.degrees_of_freedom.value,
            source=section.source,
            setup_standard_deviation=section.setup_standard_deviation.value * scale,
            drift_per_run=section.drift_per_run.value * scale,
        )
    return declared
