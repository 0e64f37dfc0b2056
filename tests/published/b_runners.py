"""How each row of fuel properties is computed by the project."""

import math
from collections.abc import Iterable

from feedproof.physics import atmosphere, blends, fuel, fuel_blend, fuel_catalogue, petroleum
from tests.published.rows import Result, Runner

MM2 = 1e-6
NIST_OFFSET = 273.15
SHEET_OFFSET = 273.0


def diesel_like(celsius: float) -> Runner:
    """Wait to give the viscosity of the diesel-like liquid in mm2/s."""

    def run() -> Result:
        a, b = fuel.walther_constants(40 + NIST_OFFSET, 2.8 * MM2, 100 + NIST_OFFSET, 1.15 * MM2)
        return fuel.walther_kinematic_viscosity(celsius + NIST_OFFSET, a, b) / MM2

    return run


def worked_sheet() -> tuple[float, float]:
    """Give the constants of the published worked sheet."""
    return fuel.walther_constants(40 + SHEET_OFFSET, 32 * MM2, 100 + SHEET_OFFSET, 5.4 * MM2)


def hexadecane() -> Result:
    """Predict hexadecane at 40 C from 20 and 60 C, in mm2/s."""
    a, b = fuel.walther_constants(
        20 + NIST_OFFSET, 4.499636 * MM2, 60 + NIST_OFFSET, 2.081353 * MM2
    )
    return fuel.walther_kinematic_viscosity(40 + NIST_OFFSET, a, b) / MM2


def vcf(density: float, celsius: float) -> Runner:
    """Wait to give a volume correction factor."""
    return lambda: petroleum.volume_correction_factor(density, celsius + NIST_OFFSET)


def air(temperature_k: float, density: float) -> Runner:
    """Wait to give the Ostwald coefficient of air."""
    return lambda: fuel.ostwald_air_coefficient(temperature_k, density)


# Published points: kinematic viscosity [mm2/s], density [kg/m3], vapour pressure [Pa], by degC.
# A fuel has no row for what is not used.
POINTS: dict[str, dict[int, tuple[float, float, float]]] = {
    "dodecane": {15: (2.176047502, 753.149, 7.497585), 40: (1.444213448, 734.6421, 57.94546)},
    "hexadecane": {40: (2.934464, 759.7731, 0.9451105), 60: (2.081353, 745.7944, 5.667595)},
    "decane": {
        15: (1.344381, 734.2955, 0.0),
        40: (0.9660505, 714.868, 0.0),
        80: (0.6427192, 683.4915, 0.0),
    },
    "oleate": {15: (8.484537, 877.4978, 0.0), 40: (4.561493, 859.3302, 0.0)},
    "octane": {0: (0.9948833, 718.6092, 390.8048), 80: (0.4465226, 652.6797, 23349.31)},
    "iso-octane": {
        15: (0.772917, 696.2483, 3996.83),
        20: (0.730846, 692.1503, 5156.17),
        60: (0.5001094, 658.4989, 28620.08),
    },
}


def straight(name: str, cool: int, warm: int, celsius: int) -> Runner:
    """Wait to give the density by the straight line through two points."""

    def run() -> Result:
        one, other = POINTS[name][cool][1], POINTS[name][warm][1]
        fall = (one - other) / (warm - cool)
        at_15 = one + fall * (cool - 15)
        return fuel.linear_density(at_15, fall / at_15, celsius + NIST_OFFSET)

    return run


def one_slope(name: str, cool: int, warm: int, celsius: int) -> Runner:
    """Wait to give the vapour pressure by the slope between two points."""

    def run() -> Result:
        one, other = POINTS[name][cool][2], POINTS[name][warm][2]
        t_cool, t_warm = cool + NIST_OFFSET, warm + NIST_OFFSET
        slope = math.log(other / one) / (1.0 / t_cool - 1.0 / t_warm)
        at_20 = one * math.exp(slope * (1.0 / t_cool - 1.0 / 293.15))
        return fuel.vapour_pressure(at_20, slope, celsius + NIST_OFFSET)

    return run


def thickness(name: str) -> dict[int, float]:
    """Give the published viscosities of a liquid in mm2/s."""
    return {celsius: values[0] for celsius, values in POINTS[name].items()}


CLASSES = tuple(f"en590_class_{letter}" for letter in "abcdef")
ARCTIC = tuple(f"en590_arctic_{number}" for number in range(5))
DODECANE = {0: 2.96902548, 40: 1.44421345, 80: 0.89137567}
OLEATE = {15: 8.484537, 60: 3.108314}


def through(points: dict[int, float], cool: int, warm: int, celsius: int) -> Runner:
    """Wait to give the viscosity in mm2/s by the full form of D341 through two points."""

    def run() -> Result:
        a, b = fuel.d341_constants(
            cool + NIST_OFFSET, points[cool] * MM2, warm + NIST_OFFSET, points[warm] * MM2
        )
        return fuel.d341_kinematic_viscosity(celsius + NIST_OFFSET, a, b) / MM2

    return run


def short_through(points: dict[int, float], cool: int, warm: int, celsius: int) -> Runner:
    """Wait to give the viscosity in mm2/s by the short form of D341 through two points."""

    def run() -> Result:
        a, b = fuel.walther_constants(
            cool + NIST_OFFSET, points[cool] * MM2, warm + NIST_OFFSET, points[warm] * MM2
        )
        return fuel.walther_kinematic_viscosity(celsius + NIST_OFFSET, a, b) / MM2

    return run


def of_grades(
    grades: Iterable[str], quantity: str, ends: str, scale: float = 1.0, offset: float = 0.0
) -> Runner:
    """Wait to read values or limits of grades from the catalogue, grade by grade."""

    def run() -> Result:
        found = fuel_catalogue.fuel_catalogue()
        read = [getattr(found[g].values[quantity], end) for g in grades for end in ends.split()]
        return tuple(value * scale + offset for value in read)

    return run


def of_all(grades: Iterable[str], quantity: str, ends: str, **change: float) -> Runner:
    """Wait to read what grades have in common; none where they differ."""

    def run() -> Result:
        found = {of_grades([grade], quantity, ends, **change)() for grade in grades}
        return found.pop() if len(found) == 1 else ()

    return run


def petrol_blend() -> Result:
    """Give the vapour pressure of summer diesel with 5 % petrol in kPa."""
    found = fuel_catalogue.fuel_catalogue()
    mixed = fuel_blend.blend(found["reference_summer"], found["en228_petrol"], 0.05)
    return mixed.values["vapour_pressure_20c_abs"].value / 1e3


def petrol_over_temperature() -> Result:
    """Give the vapour pressure of the grade with 5 % petrol at 20, 38 and 70 C in kPa."""
    spoilt = fuel_catalogue.fuel_of_grade("petrol_5_percent")
    return tuple(
        fuel.vapour_pressure(
            spoilt.vapour_pressure_20c_abs_pa,
            spoilt.vapour_pressure_slope_k,
            celsius + NIST_OFFSET,
        )
        / 1e3
        for celsius in (20, 38, 70)
    )


CELSIUS = {"offset": -NIST_OFFSET}

RUNNERS: dict[str, Runner] = {
    "B025": worked_sheet,
    "B026": lambda: fuel.walther_kinematic_viscosity(80 + SHEET_OFFSET, *worked_sheet()) / MM2,
    "B027": hexadecane,
    "B028": diesel_like(-10.0),
    "B029": diesel_like(0.0),
    "B030": diesel_like(15.0),
    "B032": diesel_like(60.0),
    "B033": lambda: fuel.d341_z(1.0 * MM2),
    "B035": vcf(835.0, 25.0),
    "B036": vcf(835.0, 40.0),
    "B037": vcf(835.0, -10.0),
    "B039": vcf(845.0, 25.0),
    "B040": vcf(845.0, 40.0),
    "B042": lambda: petroleum.petroleum_density(835.0, 40 + NIST_OFFSET),
    "B044": lambda: petroleum.product_group_constants(835.0),
    "B045": lambda: petroleum.product_group_constants(845.0),
    "B046": lambda: petroleum.product_group_constants(740.0),
    "B047": lambda: blends.refutas_number(2.234 * MM2),
    "B048": lambda: blends.refutas_blend(5 * MM2, 20 * MM2, 0.4) / MM2,
    "B050": lambda: blends.kendall_monroe_blend(5 * MM2, 20 * MM2, 0.4) / MM2,
    "B051": lambda: blends.arrhenius_blend(5 * MM2, 20 * MM2, 0.4) / MM2,
    "B052": lambda: blends.kendall_monroe_blend(3 * MM2, 0.6 * MM2, 0.2) / MM2,
    "B053": air(273.0, 850.0),
    "B054": air(298.0, 840.0),
    "B055": air(313.0, 840.0),
    "B055T": lambda: fuel.ostwald_at_temperature(
        fuel.ostwald_air_coefficient(293.15, 840.0), 313.0
    ),
    "B057": air(333.0, 840.0),
    "B058": lambda: (
        fuel.ostwald_coefficient(0.069, 298.0, 840.0),
        fuel.ostwald_coefficient(0.16, 298.0, 840.0),
    ),
    "B059": lambda: fuel.bunsen_coefficient(0.1233, 298.15),
    "B002": through(DODECANE, 0, 40, 15),
    "B003": through(DODECANE, 0, 80, 20),
    "B004": through(DODECANE, 0, 80, 40),
    "B006": through(DODECANE, 0, 40, 80),
    "B007": short_through({20: 4.499636, 60: 2.081353}, 20, 60, 15),
    "B015": short_through(OLEATE, 15, 60, 40),
    "B013": of_grades(["en14214"], "expansion", "value"),
    "B009": of_grades(["en15940_class_a"], "expansion", "value"),
    "B023": of_grades(["en14214", "en15940_class_a"], "heating_value", "value", 1e-6),
    "B024": of_all(CLASSES, "heating_value", "value", scale=1e-6),
    "B025S": lambda: fuel.walther_constant_by_slope(40 + SHEET_OFFSET, 32 * MM2, 3.7449),
    "B060": of_all(CLASSES, "density_15c", "low high"),
    "B061": of_all(CLASSES, "viscosity_40c", "low high", scale=1e6),
    "B062": of_all(CLASSES + ARCTIC, "flash_point", "low", **CELSIUS),
    "B064": of_all(CLASSES + ARCTIC, "total_contamination", "high", scale=1e6),
    "B065": of_all(CLASSES + ARCTIC, "fame", "high", scale=100.0),
    "B066": of_grades(CLASSES, "cfpp", "high", **CELSIUS),
    "B067": of_grades(ARCTIC[1:], "cloud_point", "high", **CELSIUS),
    "B067M": of_grades(ARCTIC[:1], "cloud_point", "high", **CELSIUS),
    "B068": of_grades(ARCTIC, "cfpp", "high", **CELSIUS),
    "B069": of_grades(ARCTIC, "viscosity_40c", "low high", 1e6),
    "B070": of_grades(ARCTIC, "density_15c", "low high"),
    "B071": of_grades(["astm_d975_2d"], "viscosity_40c", "low high", 1e6),
    "B073": of_grades(["astm_d975_1d", "astm_d975_2d"], "flash_point", "low", **CELSIUS),
    "B074": of_grades(["astm_d975_1d", "astm_d975_2d"], "water_and_sediment", "high", 100.0),
    "B075": of_grades(["en14214"], "density_15c", "low high"),
    "B076": of_grades(["en14214"], "viscosity_40c", "low high", 1e6),
    "B077": of_grades(["en14214"], "flash_point", "low", **CELSIUS),
    "B079": of_grades(["astm_d6751"], "viscosity_40c", "low high", 1e6),
    "B081": of_grades(["astm_d6751"], "water_and_sediment", "high", 100.0),
    "B082": of_grades(["en15940_class_a"], "density_15c", "low high"),
    "B083": of_grades(["en15940_class_a"], "viscosity_40c", "low high", 1e6),
    "B084": of_grades(["en15940_class_a"], "water", "high", 1e6),
    "B084M": of_grades(["en15940_class_a"], "total_contamination", "high", 1e6),
    "B085": of_grades(["en228_petrol"], "density_15c", "low high"),
    "B086": of_grades(["en228_petrol"], "vapour_pressure_37_8c_abs", "low high", 1e-3),
    "B090": lambda: blends.mass_fraction(0.2, 800.0, 900.0),
    "B091": lambda: blends.mole_fraction(0.2, 800.0, 900.0, 0.2, 0.3),
    "B092": lambda: 100.0 * blends.mole_fraction(0.05, 838.0, 745.0, 0.21, 0.10),
    "B093": petrol_blend,
    "B094": petrol_over_temperature,
    "B001": through(thickness("dodecane"), 15, 40, 0),
    "B001D": straight("dodecane", 15, 40, 0),
    "B001P": one_slope("dodecane", 15, 40, 0),
    "B003D": straight("dodecane", 15, 40, 20),
    "B003P": one_slope("dodecane", 15, 40, 20),
    "B006D": straight("dodecane", 15, 40, 80),
    "B006P": one_slope("dodecane", 15, 40, 80),
    "B008": short_through(thickness("hexadecane"), 40, 60, 20),
    "B008D": straight("hexadecane", 40, 60, 20),
    "B008P": one_slope("hexadecane", 40, 60, 20),
    "B011": through(thickness("decane"), 40, 80, 15),
    "B011D": straight("decane", 40, 80, 15),
    "B012": through(thickness("decane"), 15, 80, 40),
    "B012D": straight("decane", 15, 80, 40),
    "B016": short_through(thickness("oleate"), 15, 40, 60),
    "B016D": straight("oleate", 15, 40, 60),
    "B017": through(thickness("iso-octane"), 20, 60, 15),
    "B017D": straight("iso-octane", 20, 60, 15),
    "B017P": one_slope("iso-octane", 20, 60, 15),
    "B018": through(thickness("iso-octane"), 15, 60, 20),
    "B018D": straight("iso-octane", 15, 60, 20),
    "B018P": one_slope("iso-octane", 15, 60, 20),
    "B020": through(thickness("octane"), 0, 80, 20),
    "B020D": straight("octane", 0, 80, 20),
    "B020P": one_slope("octane", 0, 80, 20),
    "B021": lambda: atmosphere.water_saturation_pressure(25 + NIST_OFFSET),
}
