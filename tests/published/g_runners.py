"""How each row of units is computed by the project."""

from feedproof.core import units
from tests.published.rows import Runner


def si(unit: str, scale: float = 1.0) -> Runner:
    """Wait to turn one unit into SI, times a decimal power where the row is not in SI."""
    return lambda: units.to_si(1.0, unit) * scale


RUNNERS: dict[str, Runner] = {
    "G001": si("inHg"),
    "G002": lambda: 25.4 * units.to_si(1.0, "mmHg"),
    "G003": si("mmHg"),
    "G005": si("psi"),
    "G006": si("bar"),
    "G007": si("atm"),
    "G009": si("inH2O"),
    "G011": si("PS"),
    "G012": si("hp"),
    "G013": si("US_gallon", 1e3),
    "G015": si("L/h"),
    "G016": si("oil_barrel", 1e3),
    "G017": si("lbf ft"),
    "G018": si("cSt"),
    "G019": si("cP"),
    "G020": si("inch", 1e3),
    "G021": lambda: (units.to_si(95.0, "kPa") - units.to_si(8.0, "inHg")) / 1e3,
    "G022": lambda: units.from_si(units.to_si(200.0, "L/h"), "US_gallon/h"),
}
