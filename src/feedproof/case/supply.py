"""Elements as filters, the fuel as it comes, how the vehicle is driven, and its service."""

from dataclasses import dataclass

FIELD_SIZE_FACTOR, FIELD_SLOPE_FACTOR, BYPASS_FRACTION = 1.5, 0.8, 0.005
"""
What is taken for an element in a vehicle where nobody declared it: sizes 1.3 to 2 times those of
the laboratory, slopes 0.7 to 0.9 times, 0.1 to 1 % past the seals.  That vibration and pulsating
flow make a rating worse is published; these numbers are assumptions without a source. [-]
"""
SERVICE_CHANCE, CAPACITY_SPREAD = 0.9, 0.3
"""Share of vehicles that must reach an interval, and spread of capacities: assumptions. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class RatingPoint:
    """
    One published point of an element's filtration ratio.

    Parameters
    ----------
    size_m : float
        Particle size. [m]
    ratio : float
        Particles above that size ahead of the element over those behind it. [-]
    calibrated : bool
        True for sizes after ISO 11171, written um(c); False for the older scale, written um.
    """

    size_m: float
    ratio: float
    calibrated: bool = True


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """
    How an element filters: in the laboratory, and what is assumed of the vehicle.

    Parameters
    ----------
    points : tuple of RatingPoint
        At least two, sizes rising.
    source : str
        Where they come from.
    field_size_factor : float
        Size at a ratio of 2 in the vehicle over that in the laboratory, an assumption. [-]
    field_slope_factor : float
        Steepness in the vehicle over that in the laboratory, an assumption. [-]
    bypass_fraction : float
        Share of the flow that passes seals and not the media, an assumption. [-]
    assumed : tuple of str
        Which of the three nobody declared.
    """

    points: tuple[RatingPoint, ...]
    source: str
    field_size_factor: float
    field_slope_factor: float
    bypass_fraction: float
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Separator:
    """
    How an element takes out free water, as rated by a test of the kind of ISO 16332.

    Parameters
    ----------
    efficiency_fraction : float
        Share of the free water taken out at the rated point. [-]
    droplet_m : float
        Mean size of the droplets there. [m]
    flow_m3_per_s : float
        Flow there. [m3/s]
    side : str
        ``suction`` (coarse droplets) or ``pressure`` (fine ones).
    bowl_m3 : float
        Water that the bowl holds before it is carried over. [m3]
    sensor_m3 : float or None
        Water at which the sensor answers; None without one. [m3]
    source : str
        Where the rating comes from.
    """

    efficiency_fraction: float
    droplet_m: float
    flow_m3_per_s: float
    side: str
    bowl_m3: float
    sensor_m3: float | None = None
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Supply:
    """
    Fuel as it comes into the tank.

    Parameters
    ----------
    cleanliness : tuple of int
        ISO 4406 code at 4, 6 and 14 um(c). [-]
    contamination_fraction : float
        Mass of particles over mass of fuel. [-]
    contamination_spread : float
        Standard deviation of its natural logarithm among the places where such vehicles are
        filled; one vehicle keeps to its own. [-]
    soft_fraction : float
        Share of that mass that is soft matter, which test dust does not hold. [-]
    free_water_fraction : float
        Mass of free water over mass of fuel. [-]
    dissolved_saturation_fraction : float
        Dissolved water over what the fuel can dissolve at the temperature of delivery. [-]
    delivery_temperature_k : float
        That temperature. [K]
    breather_dust_kg_per_m3 : float
        Dust in the air that the tank breathes. [kg/m3]
    source : str
        Where the figures come from.
    contamination_low_fraction, contamination_high_fraction : float or None
        Range in which its median is believed to lie; None where nobody says. [-]
    assumed : tuple of str
        Keys that nobody declared.
    """

    cleanliness: tuple[int, int, int]
    contamination_fraction: float
    contamination_spread: float
    soft_fraction: float
    free_water_fraction: float
    dissolved_saturation_fraction: float
    delivery_temperature_k: float
    breather_dust_kg_per_m3: float
    source: str
    contamination_low_fraction: float | None = None
    contamination_high_fraction: float | None = None
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """
    How the vehicle is driven.

    Parameters
    ----------
    fuel_use_m2 : float
        Fuel burnt over distance. [m2]
    distance_per_year_m : float
        Distance in a year. [m]
    engine_speed_rev_per_s : float
        Mean engine speed. [rev/s]
    load_fraction : float
        Mean fuel burnt over that of full load at this speed. [-]
    running_time_per_year_s : float or None
        Running time in a year; None where it follows from fuel, speed and load. [s]
    refuel_at_fraction, refuel_to_fraction : float
        Tank level at which fuel is taken, and up to which. [-]
    source : str
        Where the figures come from.
    assumed : tuple of str
        Keys that nobody declared.
    """

    fuel_use_m2: float
    distance_per_year_m: float
    engine_speed_rev_per_s: float
    load_fraction: float
    refuel_at_fraction: float
    refuel_to_fraction: float = 1.0
    running_time_per_year_s: float | None = None
    source: str = ""
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Service:
    """
    What a service plan must keep.

    Parameters
    ----------
    longest_distance_m, longest_duration_s : float or None
        Interval that nobody wants exceeded, such as the vehicle maker's. [m], [s]
    chance_fraction : float
        Share of vehicles that must reach the interval before an element is due. [-]
    capacity_spread : float
        Standard deviation of the natural logarithm of an element's capacity. [-]
    source : str
        Where the figures come from.
    assumed : tuple of str
        Which of the figures nobody declared.
    """

    longest_distance_m: float | None = None
    longest_duration_s: float | None = None
    chance_fraction: float = SERVICE_CHANCE
    capacity_spread: float = CAPACITY_SPREAD
    source: str = ""
    assumed: tuple[str, ...] = ()
