"""How a reader likes quantities written: one unit for each kind, handed down to what draws."""

from dataclasses import dataclass

from feedproof.core.units import from_si, to_si
from feedproof.report import digits, svg

# By the digits behind the point of the kPa figure. One inHg is 3.4 kPa and one psi 6.9 kPa: two
# digits tell as much as a gauge does; a bar needs all that a part's loss needs.
DECIMALS = {
    "kPa": (0, 1, 2),
    "inHg": (1, 2, 2),
    "mbar": (0, 0, 1),
    "bar": (2, 3, 4),
    "psi": (1, 2, 2),
}
"""Digits behind the point of a pressure, by unit and by the digits that kPa would have."""
FLOW_DECIMALS = {"L/h": 1, "L/min": 2, "mL/min": 0}
NAMES = {"degC": "°C", "degF": "°F"}
"""Units that a reader knows by another spelling."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Notation:
    """
    Unit of each kind of quantity in words and pictures.

    Pictures keep their shapes: only ticks, labels and sentences follow the units.  Decimal commas
    are none of its business: they are put into finished words, which moves nothing in a picture.

    Parameters
    ----------
    pressure, temperature, flow, length, speed, power : str
        Units of `feedproof.core.units`.
    beside : str
        Second unit of a pressure, in brackets; empty where one is enough.
    """

    pressure: str = "kPa"
    beside: str = "inHg"
    temperature: str = "degC"
    flow: str = "L/h"
    length: str = "m"
    speed: str = "km/h"
    power: str = "kW"

    def unit(self, kind: str) -> str:
        """
        Give the unit of a kind.

        Parameters
        ----------
        kind : str
            One of the fields.

        Returns
        -------
        str
            As `feedproof.core.units` knows it.
        """
        unit: str = getattr(self, kind)
        return unit

    def name(self, kind: str) -> str:
        """
        Give the unit of a kind as it is written beside a number.

        Parameters
        ----------
        kind : str
            One of the fields.

        Returns
        -------
        str
            Such as ``°F``.
        """
        return NAMES.get(self.unit(kind), self.unit(kind))

    def value(self, value_si: float, kind: str) -> float:
        """
        Bring a quantity to its unit.

        Parameters
        ----------
        value_si : float
            In SI.
        kind : str
            One of the fields.

        Returns
        -------
        float
            In the unit of the kind.
        """
        return from_si(value_si, self.unit(kind), kind)

    def ticks(self, low_si: float, high_si: float, most: int, kind: str) -> list[tuple[float, str]]:
        """
        Give round numbers along an axis.

        Parameters
        ----------
        low_si, high_si : float
            Ends of the axis, in SI.
        most : int
            Most ticks wanted.
        kind : str
            One of the fields.

        Returns
        -------
        list of (float, str)
            Place in SI, and the round number in the unit of the kind.
        """
        unit = self.unit(kind)
        found = svg.ticks(self.value(low_si, kind), self.value(high_si, kind), most)
        return [(to_si(each, unit, kind), f"{each:g}") for each in found]

    def decimals(self, of_kpa: int) -> int:
        """
        Give the digits of a pressure that would have so many in kPa.

        Parameters
        ----------
        of_kpa : int
            Digits of the kPa figure behind the point, at most two.

        Returns
        -------
        int
            In the unit of pressures.
        """
        return DECIMALS[self.pressure][of_kpa]

    def bare(self, value_pa: float, of_kpa: int = 2) -> str:
        """
        Write a pressure without its unit, for a column or an axis that names it.

        Parameters
        ----------
        value_pa : float
            Pressure or difference. [Pa]
        of_kpa : int
            Digits of the kPa figure behind the point.

        Returns
        -------
        str
            A bare number.
        """
        return digits.decimal(self.value(value_pa, "pressure"), self.decimals(of_kpa))

    def brief(self, value_pa: float, beside_pa: float | None = None, of_kpa: int = 2) -> str:
        """
        Write a pressure in its unit only.

        Parameters
        ----------
        value_pa : float
            Pressure or difference. [Pa]
        beside_pa : float, optional
            Limit that it is compared with. [Pa]
        of_kpa : int
            Digits of the kPa figure behind the point.

        Returns
        -------
        str
            Such as ``8.18 inHg``.

        Examples
        --------
        >>> Notation(pressure="inHg", beside="").brief(27700.0).replace(digits.NO_BREAK, " ")
        '8.18 inHg'
        """
        return digits.pressure(value_pa, self.pressure, beside_pa, self.decimals(of_kpa))

    def full(self, value_pa: float, beside_pa: float | None = None, of_kpa: int = 2) -> str:
        """
        Write a pressure with the second unit beside it, where there is one.

        Parameters
        ----------
        value_pa : float
            Pressure or difference. [Pa]
        beside_pa : float, optional
            Limit that it is compared with. [Pa]
        of_kpa : int
            Digits of the kPa figure behind the point.

        Returns
        -------
        str
            Such as ``50.80 kPa (15.00 inHg)``.
        """
        first = self.brief(value_pa, beside_pa, of_kpa)
        return f"{first} ({self.second(value_pa, of_kpa)})" if self.beside else first

    def second(self, value_pa: float, decimals: int) -> str:
        """
        Write a pressure in the second unit.

        Parameters
        ----------
        value_pa : float
            Pressure or difference. [Pa]
        decimals : int
            Digits behind the point.

        Returns
        -------
        str
            Empty where there is no second unit.
        """
        return digits.pressure(value_pa, self.beside, None, decimals) if self.beside else ""

    def flow_words(self, value_m3_per_s: float) -> str:
        """
        Write a flow.

        Parameters
        ----------
        value_m3_per_s : float
            Volume flow. [m3/s]

        Returns
        -------
        str
            With its unit.
        """
        number = digits.decimal(self.value(value_m3_per_s, "flow"), FLOW_DECIMALS[self.flow])
        return f"{number}{digits.NO_BREAK}{self.flow}"

    def speed_words(self, value_m_per_s: float) -> str:
        """
        Write a road speed.

        Parameters
        ----------
        value_m_per_s : float
            Road speed. [m/s]

        Returns
        -------
        str
            No decimals.
        """
        number = digits.decimal(self.value(value_m_per_s, "speed"), 0)
        return f"{number}{digits.NO_BREAK}{self.speed}"

    def temperature_words(self, value_k: float) -> str:
        """
        Write a temperature.

        Parameters
        ----------
        value_k : float
            Temperature. [K]

        Returns
        -------
        str
            One decimal at most.
        """
        text = digits.decimal(self.value(value_k, "temperature"), 1).removesuffix(".0")
        return f"{text}{digits.NO_BREAK}{self.name('temperature')}"


REPORT = Notation()
"""As every report is written, whoever prints it: it goes to people with other habits."""
