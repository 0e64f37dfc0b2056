"""The answer on water: volumes of a fill, bowls, and separators, each with its range."""

from dataclasses import dataclass, fields

from feedproof.kits.water_ranges import Range
from feedproof.kits.water_separators import SeparatorUse


def scaled(figure: Range, factor: float) -> Range:
    """
    Give a range times a factor of 0 or more.

    Parameters
    ----------
    figure : Range
        A range. [any]
    factor : float
        Factor. [-]

    Returns
    -------
    Range
        In the unit of the range.
    """
    return Range(
        low=figure.low * factor, typical=figure.typical * factor, high=figure.high * factor
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterFill:
    """
    The water of one fill, as volumes of liquid water; each has its own range.

    Parameters
    ----------
    dissolved_delivered, free_delivered : Range
        As it comes. [m3]
    settled : Range
        Stays in the tank's sump, from where a slope or a bend may send it on at once. [m3]
    coarse, haze : Range
        Free at the separators: drawn as drops, and come out of solution on the way. [m3]
    caught : tuple of (str, Range)
        Taken by each separator, by element. [m3]
    carried_over : Range
        Free water that reaches the pump. [m3]
    falls_out : Range
        Passes dissolved and is free when the fuel cools behind the separators. [m3]
    stays_dissolved : Range
        Is burnt dissolved. [m3]
    """

    dissolved_delivered: Range
    free_delivered: Range
    settled: Range
    coarse: Range
    haze: Range
    caught: tuple[tuple[str, Range], ...]
    carried_over: Range
    falls_out: Range
    stays_dissolved: Range

    def times(self, number: float) -> "WaterFill":
        """
        Give the water of several fills.

        Parameters
        ----------
        number : float
            Fills, such as those of a year. [-]

        Returns
        -------
        WaterFill
            Each figure as often.
        """
        plain = {
            each.name: scaled(getattr(self, each.name), number)
            for each in fields(self)
            if each.name != "caught"
        }
        caught = tuple((name, scaled(figure, number)) for name, figure in self.caught)
        return WaterFill(**plain, caught=caught)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bowl:
    """
    When a bowl must be drained; infinite where nothing is caught.

    Parameters
    ----------
    element : str
        Id.
    to_sensor_m, to_full_m : Range or None
        Distance until its sensor answers, and until it carries all over; the ends take in every
        share of free water that the tank may give.  No sensor: None. [m]
    to_sensor_s, to_full_s : Range or None
        Calendar time for that, at the declared distance in a year. [s]
    """

    element: str
    to_sensor_m: Range | None
    to_full_m: Range
    to_sensor_s: Range | None
    to_full_s: Range


@dataclass(frozen=True, slots=True, kw_only=True)
class WaterResult:
    """
    Water through a vehicle in one configuration.

    Parameters
    ----------
    fuel_per_fill_m3 : float
        Fuel burnt from one filling to the next. [m3]
    fills_per_year : float
        Fillings. [-]
    uses : tuple of SeparatorUse
        Every separator at every operating point; its doubts are to be printed.
    fill : WaterFill
        One fill at the first operating point and the declared share that is drawn.
    by_drawn : tuple of (float, WaterFill)
        The same with none, the declared share, and all of the tank's free water drawn. [-]
    with_full_bowls : WaterFill
        The same when every bowl is full.
    carried_fraction : Range or None
        Free water that reaches the pump over free water at the separators; None where there is
        none in any combination. [-]
    bowls : tuple of Bowl
        Each separator's.
    without_separator : tuple of str
        Elements that take no water.
    drawn_fraction : float
        The declared share. [-]
    """

    fuel_per_fill_m3: float
    fills_per_year: float
    uses: tuple[SeparatorUse, ...]
    fill: WaterFill
    by_drawn: tuple[tuple[float, WaterFill], ...]
    with_full_bowls: WaterFill
    carried_fraction: Range | None
    bowls: tuple[Bowl, ...]
    without_separator: tuple[str, ...]
    drawn_fraction: float

    @property
    def year(self) -> WaterFill:
        """Give the water of a year."""
        return self.fill.times(self.fills_per_year)
