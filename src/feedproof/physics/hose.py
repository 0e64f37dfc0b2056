"""A soft hose that narrows under depression: model of this project, to be fitted to the hose."""

from feedproof.core.compiled import formula


@formula
def narrowed_bore(
    bore_m: float,
    depression_pa: float,
    start_pa: float,
    span_pa: float,
    left_fraction: float,
) -> float:
    """
    Give the bore that a depression leaves of a hose.

    Parameters
    ----------
    bore_m : float
        Bore without depression [m].
    depression_pa : float
        Local depression [Pa].
    start_pa : float
        Depression from which it narrows; infinite for a firm hose [Pa].
    span_pa : float
        Further depression over which it narrows; 0 is a step [Pa].
    left_fraction : float
        Bore left then, over the bore [1].

    Returns
    -------
    float
        Bore of a round pipe that costs as much [m].

    Notes
    -----
    A straight fall between two depressions, invented: a hose's own curve must be measured.  It
    has no memory, though a real hose opens later than it closed.
    """
    beyond_pa = depression_pa - start_pa
    if beyond_pa <= 0.0:
        return bore_m
    share = 1.0 if beyond_pa >= span_pa else beyond_pa / span_pa
    return bore_m * (1.0 - share * (1.0 - left_fraction))
