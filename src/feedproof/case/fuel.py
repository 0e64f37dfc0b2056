"""A fuel as the feed line sees it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Fuel:
    """
    Properties from which viscosity, density, gas and wax at any temperature follow.

    Parameters
    ----------
    name : str
        Name in the case.
    density_15c_kg_per_m3 : float
        Density at 15 degC. [kg/m3]
    expansion_per_k : float
        Linear density coefficient. [1/K]
    viscosity_cool_m2_per_s, viscosity_warm_m2_per_s : float
        Kinematic viscosity at the two temperatures below. [m2/s]
    temperature_cool_k, temperature_warm_k : float
        Temperatures of the two viscosities. [K]
    cloud_point_k, cfpp_k : float
        Cloud point and cold filter plugging point. [K]
    ostwald_air : float
        Air dissolved per volume of liquid at equilibrium. [-]
    vapour_pressure_20c_abs_pa : float
        Vapour pressure at 20 degC. [Pa]
    vapour_pressure_slope_k : float
        Slope of ln p against 1/T. [K]
    petrol_fraction : float
        Petrol by volume, where the fuel is a contaminated one; printed as a warning. [-]
    heating_value_j_per_kg : float or None
        Net heating value; None where it is not known. [J/kg]
    grade : str
        Grade or blend that the figures were resolved from; empty for figures of its own.
    """

    name: str
    density_15c_kg_per_m3: float
    expansion_per_k: float
    viscosity_cool_m2_per_s: float
    viscosity_warm_m2_per_s: float
    temperature_cool_k: float
    temperature_warm_k: float
    cloud_point_k: float
    cfpp_k: float
    ostwald_air: float
    vapour_pressure_20c_abs_pa: float
    vapour_pressure_slope_k: float = 5500.0
    petrol_fraction: float = 0.0
    heating_value_j_per_kg: float | None = None
    grade: str = ""
