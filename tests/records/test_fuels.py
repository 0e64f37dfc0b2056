"""
Fuels of a grade and blended fuels in a document.

Promised: a grade or a blend is resolved when the case is read, what is written beside it goes
before it, every figure stands in the book of values with its source, and a name that cannot be
resolved is told with what was meant.
"""

from pathlib import Path

import jsonschema
import pytest

from feedproof.app.spread import with_value
from feedproof.case.case import Case
from feedproof.physics.fuel_catalogue import fuel_catalogue, fuel_of_grade
from feedproof.records.schema import case_schema
from tests.records.documents import VEHICLE, errors_of, reading_of

HEAD, REST = VEHICLE.split("[fuel.winter]")
AFTER = REST[REST.index("[pull]") :]


def document(fuels: str) -> str:
    """Write the vehicle with other fuels beside its summer diesel."""
    return f"{HEAD}\n{fuels}\n\n{AFTER}".replace('fuel = "winter"', 'fuel = "summer"')


def case_with(fuels: str, folder: Path) -> Case:
    """Read the vehicle with other fuels."""
    reading = reading_of(document(fuels), folder)
    assert errors_of(reading) == []
    assert reading.case is not None
    return reading.case


def told(fuels: str, folder: Path) -> list[str]:
    """Give the findings about fuels."""
    reading = reading_of(document(fuels), folder)
    return [str(finding) for finding in reading.findings if ": fuel" in str(finding)]


def test_a_grade_becomes_the_fuel_of_the_catalogue(tmp_path: Path) -> None:
    case = case_with('[fuel.cold]\ngrade = "en590_class_f"', tmp_path)

    assert case.fuels["cold"] == fuel_of_grade("en590_class_f", "cold")


def test_values_of_a_grade_stand_in_the_book_with_range_and_source(tmp_path: Path) -> None:
    case = case_with('[fuel.cold]\ngrade = "en590_class_b"', tmp_path)
    density = case.values["fuel.cold.density_15c"]

    assert (density.low, density.high) == (820.0, 845.0)
    assert "en590_class_b" in density.source
    assert "EN 590" in density.source
    assert "flash_point" not in {path.split(".")[-1] for path in case.values}


def test_what_is_written_beside_a_grade_goes_before_it(tmp_path: Path) -> None:
    text = (
        '[fuel.cold]\ngrade = "en590_class_b"\n'
        'density_15c = { value = "841 kg/m^3", source = "certificate 12" }\n'
        'heating_value = "42.6 MJ/kg"'
    )
    case = case_with(text, tmp_path)

    assert case.fuels["cold"].density_15c_kg_per_m3 == 841.0
    assert case.fuels["cold"].heating_value_j_per_kg == pytest.approx(42.6e6)
    assert case.values["fuel.cold.density_15c"].source == "certificate 12"
    assert case.values["fuel.cold.density_15c"].high is None


def test_one_written_viscosity_takes_the_other_with_it_and_says_so(tmp_path: Path) -> None:
    text = '[fuel.cold]\ngrade = "en590_class_b"\nviscosity_40c = "4.2 mm^2/s"'
    cool = case_with(text, tmp_path).fuels["cold"].viscosity_cool_m2_per_s

    assert cool > 6e-6
    assert any("follows viscosity_40c" in line for line in told(text, tmp_path))


def test_a_measured_pair_at_other_temperatures_replaces_that_of_the_grade(tmp_path: Path) -> None:
    text = (
        '[fuel.cold]\ngrade = "en590_class_b"\n'
        'viscosity_cool = "5 mm^2/s"\ntemperature_cool = "15 degC"\n'
        'viscosity_warm = "2 mm^2/s"\ntemperature_warm = "60 degC"'
    )
    case = case_with(text, tmp_path)

    assert case.fuels["cold"].temperature_cool_k == pytest.approx(288.15)
    assert case.fuels["cold"].viscosity_warm_m2_per_s == pytest.approx(2e-6)
    assert "fuel.cold.viscosity_40c" not in case.values


def test_a_fuel_is_blended_of_a_fuel_of_the_case_and_a_grade(tmp_path: Path) -> None:
    text = '[fuel.mix]\nblend = { of = ["summer", "en14214"], fraction = "20 %" }'
    case = case_with(text, tmp_path)

    # 80 % of 838 and 20 % of 883 kg/m3.
    assert case.fuels["mix"].density_15c_kg_per_m3 == pytest.approx(847.0)
    assert "Refutas" in case.values["fuel.mix.viscosity_40c"].source
    assert case.values["fuel.mix.blend.fraction"].value == pytest.approx(0.2)
    assert case.fuels["mix"].grade == "blend of summer and en14214"
    assert any("do not follow its fractions" in line for line in told(text, tmp_path))


def test_a_measured_cloud_point_silences_the_warning_about_it(tmp_path: Path) -> None:
    text = (
        '[fuel.mix]\nblend = { of = ["summer", "en14214"], fraction = "20 %" }\n'
        'cloud_point = "-2 degC"\ncfpp = "-9 degC"'
    )

    assert not any("do not follow its fractions" in line for line in told(text, tmp_path))


@pytest.mark.parametrize("rule", ["refutas", "kendall_monroe", "arrhenius"])
def test_a_blend_may_be_blended_again_by_any_rule(rule: str, tmp_path: Path) -> None:
    text = (
        '[fuel.one]\nblend = { of = ["two", "summer"], fraction = 0.5, viscosity_rule = "RULE" }\n'
        '[fuel.two]\nblend = { of = ["summer", "en15940_class_a"], fraction = "30 %" }'
    ).replace("RULE", rule)
    case = case_with(text, tmp_path)

    assert case.fuels["one"].density_15c_kg_per_m3 == pytest.approx(838 - 0.15 * 58)


def test_petrol_blended_into_diesel_is_warned_of_before_anything_is_asked(tmp_path: Path) -> None:
    text = '[fuel.mix]\nblend = { of = ["summer", "en228_petrol"], fraction = "5 %" }'
    case = case_with(text, tmp_path)

    assert case.fuels["mix"].petrol_fraction == pytest.approx(0.05)
    assert any("Do not start the engine" in line for line in told(text, tmp_path))


def test_petrol_written_beside_a_grade_is_warned_of_too(tmp_path: Path) -> None:
    text = (
        '[fuel.mix]\ngrade = "en590_class_c"\npetrol = "4 %"\n'
        'vapour_pressure_20c_abs = "2.4 kPa"\nvapour_pressure_slope = "3500 K"'
    )

    assert any("Do not start the engine" in line for line in told(text, tmp_path))


@pytest.mark.parametrize(
    ("fuels", "words"),
    [
        ('[fuel.x]\ngrade = "en590_clas_b"', 'Did you mean "en590_class_b"'),
        ('[fuel.x]\ngrade = "b7"\nblend = { of = ["b7", "b20"], fraction = 0.1 }', "found both"),
        ('[fuel.x]\nblend = { of = ["sumer", "b20"], fraction = 0.1 }', 'Did you mean "summer"'),
        ('[fuel.x]\nblend = { of = ["x", "b20"], fraction = 0.1 }', "is made of this fuel itself"),
        (
            '[fuel.x]\nblend = { of = ["y", "b20"], fraction = 0.1 }\n'
            '[fuel.y]\nblend = { of = ["b7", "x"], fraction = 0.1 }',
            "is made of this fuel itself",
        ),
        ('[fuel.x]\nblend = { of = ["b7"], fraction = 0.1 }', "2 items"),
        ('[fuel.x]\nblend = { of = ["b7", "b20"], fraction = "120 %" }', "outside the allowed"),
        ('[fuel.x]\nblend = { of = ["b7", "b20"] }', "key is missing"),
        (
            '[fuel.x]\nblend = { of = ["b7", "b20"], fraction = 0.1, viscosity_rule = "linear" }',
            "kendall_monroe",
        ),
        ('[fuel.x]\ngrade = "b7"\nviscosity_cool = "5 mm^2/s"', "viscosity at two temperatures"),
        ('[fuel.x]\ngrade = "b7"\ncloud_point = "-30 degC"', "Wax shows before it plugs"),
        ('[fuel.x]\ndensity_15c = "838 kg/m^3"', "key is missing"),
        ('[fuel.x]\ngrade = "b7"\npetrol = "5 %"', "Blend it in"),
    ],
)
def test_a_fuel_that_cannot_be_resolved_is_an_error_that_says_why(
    fuels: str, words: str, tmp_path: Path
) -> None:
    reading = reading_of(document(fuels), tmp_path)

    assert reading.case is None
    assert any(words in str(finding) for finding in errors_of(reading)), errors_of(reading)


def test_a_fuel_of_its_own_lists_every_key_that_it_lacks_with_an_example(tmp_path: Path) -> None:
    lines = told("[fuel.x]", tmp_path)

    for key in ("density_15c", "expansion", "cloud_point", "cfpp", "ostwald_air"):
        assert any(f"fuel.x.{key}: key is missing. Add it, such as" in line for line in lines)


def test_conditions_below_the_cfpp_of_a_grade_are_warned_of(tmp_path: Path) -> None:
    text = document('[fuel.hot]\ngrade = "en590_class_a"').replace(
        '[reference]\nfuel = "summer"', '[reference]\nfuel = "hot"'
    )
    assert 'fuel = "hot"' in text
    cold = text.replace('fuel_temperature = "35 degC"', 'fuel_temperature = "-1 degC"')
    findings = [str(finding) for finding in reading_of(cold, tmp_path).findings]

    assert cold != text
    assert any("below the fuel's CFPP, 3.0 degC" in line for line in findings)


def test_the_range_of_a_grade_s_viscosity_moves_both_of_its_points(tmp_path: Path) -> None:
    case = case_with('[fuel.cold]\ngrade = "en590_class_b"', tmp_path)
    path = "fuel.cold.viscosity_40c"
    value = case.values[path]
    assert value.high is not None

    thick = with_value(case, path, value, value.high)

    assert thick is not None
    assert thick.fuels["cold"].viscosity_warm_m2_per_s == value.high
    # EN 590 ends at 4.5 mm2/s warm; such a fuel has about 8 at 20 degC (common practice).
    assert thick.fuels["cold"].viscosity_cool_m2_per_s == pytest.approx(8e-6, rel=0.03)
    assert case.values["fuel.cold.viscosity_20c"].high is None


def test_the_range_of_a_measured_viscosity_moves_only_its_own_point(tmp_path: Path) -> None:
    text = (
        '[fuel.cold]\ngrade = "en590_class_b"\n'
        'viscosity_20c = { value = "4.7 mm^2/s", low = "4.5 mm^2/s", high = "4.9 mm^2/s" }\n'
        'viscosity_40c = { value = "2.9 mm^2/s", low = "2.8 mm^2/s", high = "3.0 mm^2/s" }'
    )
    case = case_with(text, tmp_path)
    path = "fuel.cold.viscosity_40c"

    thick = with_value(case, path, case.values[path], 3.0e-6)

    assert thick is not None
    assert thick.fuels["cold"].viscosity_cool_m2_per_s == 4.7e-6


def test_every_grade_can_stand_in_a_document(tmp_path: Path) -> None:
    names = list(fuel_catalogue())
    case = case_with("".join(f'[fuel.{n}]\ngrade = "{n}"\n' for n in names), tmp_path)

    assert set(names) <= set(case.fuels)


@pytest.mark.parametrize("fuel", [{}, {"density_15c": "838 kg/m^3"}, {"grade": 3}])
def test_the_schema_asks_a_fuel_for_a_grade_a_blend_or_its_figures(fuel: dict[str, object]) -> None:
    schema = case_schema()
    validator = jsonschema.Draft202012Validator(
        {"$ref": "#/$defs/FuelSection", "$defs": schema["$defs"]}
    )

    assert not validator.is_valid(fuel)
    assert validator.is_valid({"grade": "b7"})
    assert validator.is_valid({"blend": {"of": ["b7", "b20"], "fraction": "10 %"}})
