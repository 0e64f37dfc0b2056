"""Ranges of the fuel formulas: what lies outside its source, in words for a finding."""


def viscosity_point_faults(
    t1_k: float, nu1_m2_per_s: float, t2_k: float, nu2_m2_per_s: float
) -> list[str]:
    """
    Say in words why two viscosities do not make a Walther line.

    Parameters
    ----------
    t1_k : float
        First temperature [K].
    nu1_m2_per_s : float
        Kinematic viscosity there [m2/s].
    t2_k : float
        Second temperature [K].
    nu2_m2_per_s : float
        Kinematic viscosity there [m2/s].

    Returns
    -------
    list of str
        One sentence per fault; empty when the line stands.
    """
    faults = []
    if abs(t1_k - t2_k) < 5.0:
        faults.append(
            f"viscosities at {t1_k:g} K and {t2_k:g} K are less than 5 K apart:"
            " give a second point further away"
        )
    for t_k, nu in ((t1_k, nu1_m2_per_s), (t2_k, nu2_m2_per_s)):
        if nu <= 0.3e-6:
            faults.append(
                f"viscosity {nu * 1e6:g} mm2/s at {t_k:g} K is not above 0.3 mm2/s,"
                " the end of the Walther equation"
            )
        elif nu < 2e-6:
            faults.append(
                f"viscosity {nu * 1e6:g} mm2/s at {t_k:g} K is below 2 mm2/s:"
                " ASTM D341 asks for its full form there"
            )
    if (t1_k - t2_k) * (nu1_m2_per_s - nu2_m2_per_s) >= 0.0:
        faults.append("the viscosity does not fall with temperature: exchange or check the points")
    return faults


def dissolved_air_range_faults(temperature_k: float, density_15c: float) -> list[str]:
    """
    Say in words where dissolved air leaves the scope of ASTM D2779.

    Parameters
    ----------
    temperature_k : float
        Temperature [K].
    density_15c : float
        Density at 15 degrees Celsius [kg/m3].

    Returns
    -------
    list of str
        One sentence per departure; empty inside the scope.
    """
    faults = []
    if not 228.0 <= temperature_k <= 423.0:
        faults.append(f"temperature {temperature_k:g} K lies outside 228 to 423 K (ASTM D2779)")
    if not 630.0 <= density_15c <= 900.0:
        faults.append(f"density {density_15c:g} kg/m3 lies outside 630 to 900 kg/m3 (ASTM D2779)")
    return faults


def density_range_faults(density_15c: float) -> list[str]:
    """
    Say in words where a density leaves ASTM D1250 table 54B.

    Parameters
    ----------
    density_15c : float
        Density at 15 degrees Celsius [kg/m3].

    Returns
    -------
    list of str
        One sentence, or none inside the table (limits from memory).
    """
    if 653.0 <= density_15c <= 1075.0:
        return []
    return [f"density {density_15c:g} kg/m3 lies outside 653 to 1075 kg/m3 (ASTM D1250 table 54B)"]
