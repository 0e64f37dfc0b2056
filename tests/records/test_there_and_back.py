"""
From the document to the case.

Promised: every number arrives in SI as it was written, with its range and source in the book of
values under its path; levels in litres and altitudes are turned as the standards say.
"""

from pathlib import Path

import pytest

from feedproof.case.case import Case
from feedproof.case.line import Recirculation, Tee
from feedproof.case.margin import Measure
from feedproof.case.parts import AirHole, Cooler, Element, LiftPump, Pipe
from tests.records.documents import BRANCHED, VEHICLE, reading_of, run_text


@pytest.fixture(scope="module")
def case(tmp_path_factory: pytest.TempPathFactory) -> Case:
    text = VEHICLE.replace('fuel_level = "60 %"', 'fuel_level = "54 L"') + run_text(7)
    read = reading_of(text, tmp_path_factory.mktemp("case")).case
    assert read is not None
    return read


def test_a_value_with_range_and_source_stands_in_the_book_under_its_path(case: Case) -> None:
    bore = case.values["line[steel_line].bore"]

    assert (bore.value, bore.low, bore.high) == pytest.approx((8e-3, 7.6e-3, 8.2e-3))
    assert bore.source.startswith("tube size")
    assert bore.text == "8 mm"


@pytest.mark.parametrize(
    ("path", "value"),
    [
        ("vehicle.pump.slip", 3.2e-3 / 3600),
        ("vehicle.tank.capacity", 0.090),
        ("kit[secondary].insertion[0].part[secondary_hoses].bore", 0.010),
        ("worst[0].loading.factory_filter", 0.004),
        ("fuel.summer.density_15c", 838.0),
        ("run[7].fuel_level", 0.58),
        ("instrument.logger.span", 80e3),
    ],
)
def test_a_value_without_source_stands_in_the_book_too(path: str, value: float, case: Case) -> None:
    assert case.values[path].value == pytest.approx(value)


def test_a_default_that_nobody_wrote_is_not_in_the_book(case: Case) -> None:
    assert "line[pickup_tube].roughness" not in case.values


def test_a_level_in_litres_is_divided_by_the_tank(case: Case) -> None:
    assert case.reference.fuel_level_fraction == pytest.approx(54 / 90)


def test_an_altitude_becomes_the_pressure_of_the_standard_atmosphere(case: Case) -> None:
    # ISO 2533:1975, table of pressures: 746.917 hPa at 2500 m geometric altitude (memory);
    # the geopotential altitude of the case differs by 1 m, worth 0.1 hPa.
    assert case.worst[0].ambient_pressure_abs_pa == pytest.approx(74692, abs=15)


def test_repeatability_of_a_ratio_becomes_log_percent_and_of_a_pressure_stays(case: Case) -> None:
    assert case.repeatability[Measure.WHEEL_POWER].standard_deviation == pytest.approx(0.5)
    assert case.repeatability[Measure.INLET_DEPRESSION].standard_deviation == pytest.approx(250.0)


def test_an_element_without_loading_scale_never_loads(case: Case) -> None:
    strainer = case.vehicle.line.parts[0]

    assert isinstance(strainer, Element)
    assert strainer.loading_scale_kg == float("inf")


def test_kits_are_let_into_the_line_at_their_place(case: Case) -> None:
    ids = [part.id for part in case.line_with(("secondary",)).parts]

    assert ids[ids.index("factory_filter") + 1] == "secondary_element"


@pytest.mark.parametrize(
    ("written", "other"),
    [
        ('"8 mm"', '"0.8 cm"'),
        ('"8 mm"', '"8mm"'),
        ('"1.3 m"', '{ value = "1.3 m" }'),
        ('"600 kPa"', '"6 bar"'),
        ('"1.45 cm^3"', '"1.45 mL"'),
        ('"3300 rpm"', '"55 rps"'),
        ('"5 MPa"', '"50 bar"'),
    ],
)
def test_the_unit_in_which_a_value_is_written_changes_nothing(
    written: str, other: str, tmp_path: Path
) -> None:
    one = reading_of(VEHICLE, tmp_path).case
    two = reading_of(VEHICLE.replace(f"= {written}", f"= {other}"), tmp_path).case

    assert one is not None
    assert two is not None
    for path, value in one.values.items():
        assert two.values[path].value == pytest.approx(value.value, rel=1e-12)


def test_a_fuel_may_name_its_own_two_temperatures(tmp_path: Path) -> None:
    text = VEHICLE.replace(
        'viscosity_20c = "4.80 mm^2/s"\nviscosity_40c = "2.95 mm^2/s"',
        'viscosity_cool = "4.80 mm^2/s"\ntemperature_cool = "15 degC"\n'
        'viscosity_warm = "2.95 mm^2/s"\ntemperature_warm = "50 degC"',
    )
    read = reading_of(text, tmp_path).case

    assert read is not None
    assert read.fuels["summer"].temperature_warm_k == pytest.approx(323.15)


@pytest.fixture(scope="module")
def branched(tmp_path_factory: pytest.TempPathFactory) -> Case:
    read = reading_of(BRANCHED, tmp_path_factory.mktemp("branched")).case
    assert read is not None
    return read


def test_each_new_kind_of_part_arrives_in_si(branched: Case) -> None:
    # Exact: 1 L/h is 1e-3 m3 in 3600 s, 1 bar is 1e5 Pa.
    line = {part.id: part for part in branched.vehicle.line.parts}
    back = {part.id: part for part in branched.vehicle.return_line.parts}

    assert line["lift"] == LiftPump(
        id="lift",
        title="electric pump at the tank",
        shut_off_pressure_pa=25e3,
        free_flow_m3_per_s=pytest.approx(180e-3 / 3600.0),
        curve_exponent=1.5,
        stopped_inertial_per_m4=2e9,
    )
    assert back["cooler"] == Cooler(
        id="cooler",
        title="fuel cooler under the floor",
        viscous_per_m3=1e10,
        inertial_per_m4=2e9,
        effectiveness_fraction=0.3,
    )
    assert line["loose_clip"] == AirHole(
        id="loose_clip", title="clip that draws air", hole_diameter_m=pytest.approx(5e-5)
    )
    assert line["soft_hose"] == Pipe(
        id="soft_hose",
        title="soft hose to the pump",
        length_m=0.8,
        bore_m=0.008,
        collapse_depression_pa=15e3,
        collapse_span_pa=pytest.approx(8e3),
        collapsed_bore_fraction=pytest.approx(0.7),
    )
    assert isinstance(line["factory_filter"], Element)
    assert line["factory_filter"].volume_m3 == pytest.approx(0.35e-3)
    assert (line["bypass"].from_node, line["bypass"].to_node) == ("filter_in", "filter_out")


def test_what_stands_beside_the_parts_arrives_in_si(branched: Case) -> None:
    # Exact: 104 degF = 40 degC, 86 degF = 30 degC, 0 degC = 273.15 K.
    vehicle, reference = branched.vehicle, branched.reference

    assert vehicle.tees == (Tee(node="filter_in", bore_m=pytest.approx(7e-3), branch="bypass"),)
    assert vehicle.recirculation == Recirculation(
        to_node="mixing",
        cold_fraction=pytest.approx(0.8),
        warm_fraction=0.1,
        cold_temperature_k=pytest.approx(283.15),
        warm_temperature_k=pytest.approx(313.15),
    )
    assert vehicle.tank.cap_valve_pa == 2e3
    assert vehicle.pump.gas_release_time_s == pytest.approx(1.5)
    assert reference.tank_fuel_temperature_k == pytest.approx(303.15)
    assert reference.return_fuel_temperature_k == pytest.approx(333.15)


def test_what_is_left_out_is_what_the_case_has_without_it(case: Case) -> None:
    hose = case.vehicle.line.parts[1]

    assert hose == Pipe(id="pickup_tube", title="pick-up tube", length_m=0.5, bore_m=0.008)
    assert (case.vehicle.recirculation, case.vehicle.tees) == (None, ())
    assert (case.vehicle.tank.cap_valve_pa, case.vehicle.pump.gas_release_time_s) == (0.0, None)
    assert case.reference.tank_fuel_temperature_k is None
    assert case.reference.return_fuel_temperature_k is None


@pytest.mark.parametrize(
    ("written", "other"),
    [
        ('"25 kPa", low = "22 kPa"', '"0.25 bar", low = "220 mbar"'),
        ('"180 L/h"', '"3 L/min"'),
        ('"180 L/h"', '"3000 mL/min"'),
        ('"350 mL", low = "300 mL"', '"0.35 L", low = "0.3 L"'),
        ('"80 mbar", low = "60 mbar"', '"8 kPa", low = "0.06 bar"'),
        ('"70 %", low = "60 %"', '"0.7", low = 0.6'),
        ('"0.05 mm", low', '"50 um", low'),
        ('effectiveness = "0.3"', 'effectiveness = "30 %"'),
        ('warm_fraction = 0.1', 'warm_fraction = "10 %"'),
        ('"104 degF"', '"40 degC"'),
        ('"10 degC"', '"283.15 K"'),
        ('{ value = "2 kPa", low = "10 mbar"', '{ value = "20 mbar", low = "1 kPa"'),
        ('"1500 ms"', '"1.5 s"'),
        ('"86 degF"', '"30 degC"'),
        ('"333.15 K"', '"60 degC"'),
    ],
)  # fmt: skip
def test_the_unit_of_a_new_key_changes_nothing(
    written: str, other: str, branched: Case, tmp_path: Path
) -> None:
    assert written in BRANCHED
    read = reading_of(BRANCHED.replace(written, other), tmp_path).case

    assert read is not None
    assert set(read.values) == set(branched.values)
    for path, value in branched.values.items():
        found = read.values[path]
        ends = [(value.value, found.value), (value.low, found.low), (value.high, found.high)]
        for one, two in ends:
            assert two == (None if one is None else pytest.approx(one, rel=1e-12)), path


@pytest.mark.parametrize(
    ("path", "low", "high"),
    [
        ("line[lift].shut_off_pressure", 22e3, 28e3),
        ("line[soft_hose].collapsed_bore", 0.6, 0.8),
        ("line[loose_clip].hole_diameter", 0.0, 1e-4),
        ("return[cooler].inertial", 1e9, 3e9),
        ("tee[filter_in].bore", 6.5e-3, 7.5e-3),
        ("recirculation.cold_fraction", 0.7, 0.9),
        ("vehicle.tank.cap_valve", 1e3, 3e3),
    ],
)
def test_the_range_of_a_new_key_stands_in_the_book_under_its_path(
    path: str, low: float, high: float, branched: Case
) -> None:
    value = branched.values[path]

    assert (value.low, value.high) == pytest.approx((low, high))
    assert value.source == "invented"


def test_a_lift_pump_that_is_switched_off_is_read_so(tmp_path: Path) -> None:
    text = BRANCHED.replace("curve_exponent = 1.5", "running = false")
    read = reading_of(text, tmp_path).case

    assert read is not None
    lift = read.vehicle.line.parts[1]
    assert isinstance(lift, LiftPump)
    assert (lift.running, lift.curve_exponent) == (False, 2.0)
