"""Length that a laminar flow needs to develop behind a square inlet."""

from feedproof.core.compiled import formula

# Handbooks print 0.05 to 0.065; where the centre line has reached 99 % of its end velocity.
_LENGTH_PER_REYNOLDS = 0.06
_LAMINAR_END_REYNOLDS = 2000.0
_LEAST_REYNOLDS = 50.0


@formula
def laminar_entrance_length(bore_m: float, reynolds: float) -> float:
    """
    Give the length behind a square inlet from which on laminar flow is developed.

    Parameters
    ----------
    bore_m : float
        Inner diameter [m].
    reynolds : float
        Reynolds number on the bore, 50 to 2000 [1].

    Returns
    -------
    float
        Length [m]; 0.06 Re bores.

    Notes
    -----
    Handbooks, from memory; they print 0.05 to 0.065 times the Reynolds number.  At 8 mm and a
    Reynolds number of 1900 it is 0.9 m, longer than most hoses of a feed line: see
    `feedproof.physics.losses.entrance_loss_ratio` for what that costs.

    Examples
    --------
    >>> round(laminar_entrance_length(8e-3, 1900.0), 2)
    0.91
    """
    return _LENGTH_PER_REYNOLDS * reynolds * bore_m


def entrance_range_faults(reynolds: float) -> list[str]:
    """
    Say in words where the entrance length leaves its range.

    Parameters
    ----------
    reynolds : float
        Reynolds number on the bore [1].

    Returns
    -------
    list of str
        One sentence, or none for developed laminar flow that is not creeping.
    """
    if reynolds > _LAMINAR_END_REYNOLDS:
        return [
            f"Reynolds number {reynolds:.0f} is above {_LAMINAR_END_REYNOLDS:.0f}: a turbulent"
            " flow develops within 20 to 60 bores, whatever its Reynolds number"
        ]
    if reynolds < _LEAST_REYNOLDS:
        return [
            f"Reynolds number {reynolds:.0f} is below {_LEAST_REYNOLDS:.0f}: a creeping flow still"
            " needs about 0.6 bores, the straight line through zero gives less"
        ]
    return []
