"""How each row of fuel properties is computed by the project."""

from feedproof.physics import blends, fuel, petroleum, value_tables
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


def limits(item: str, quantity: str, scale: float) -> Runner:
    """Wait to read the limits that the value table holds beside a fuel's value."""

    def run() -> Result:
        for line in value_tables.read_table("fuels"):
            if (line["item"], line["property"]) == (item, quantity):
                return float(line["low"]) * scale, float(line["high"]) * scale
        raise AssertionError(f"no {quantity} of {item} in the table")

    return run


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
    "B057": air(333.0, 840.0),
    "B058": lambda: (
        fuel.ostwald_coefficient(0.069, 298.0, 840.0),
        fuel.ostwald_coefficient(0.16, 298.0, 840.0),
    ),
    "B059": lambda: fuel.bunsen_coefficient(0.1233, 298.15),
    "B060": limits("summer", "density_15c", 1.0),
    "B061": limits("summer", "kinematic_viscosity_40c", 1e6),
}
