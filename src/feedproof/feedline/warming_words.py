"""A warm-up in words: from when on a pull holds the limit, and what must be known of it."""

import numpy as np
from numpy.typing import NDArray

from feedproof.case.fuel import Fuel
from feedproof.core.findings import Finding, note, warning
from feedproof.core.units import from_si
from feedproof.feedline.warming_result import WarmUp

FloatArray = NDArray[np.float64]


def holding(
    time_s: FloatArray, room_pa: FloatArray, feed_margin: FloatArray, limit_abs_pa: float | None
) -> tuple[float | None, str]:
    """
    Find the earliest moment at which a full-load pull holds the limit and is fed.

    Parameters
    ----------
    time_s : array, shape (n,)
        Moments. [s]
    room_pa, feed_margin : array, shape (n,)
        Least room and least margin of the pull; not a number where no state exists. [Pa], [-]
    limit_abs_pa : float or None
        The maker's limit. [Pa]

    Returns
    -------
    tuple of float or None and str
        The moment, and why then or why never. [s]
    """
    fed = feed_margin >= 1.0
    if limit_abs_pa is None:
        since = (
            f"The pull is fed from {_minutes(time_s[fed][0])} on."
            if fed.any()
            else "The pull is not fed at any moment."
        )
        return None, (
            "No limit known: the pump's maker states none here, so no moment can be called safe. "
            + since
        )
    held = fed & (room_pa >= 0.0)
    if held.all():
        return 0.0, f"Holds from the start, by {_kpa(room_pa.min())} at the least."
    if held.any():
        first = int(np.argmax(held))
        if first == 0:
            lost = int(np.argmin(held))
            return 0.0, (
                f"Holds at the start, no more from {_minutes(time_s[lost])} on:"
                f" {_lack(room_pa[lost], feed_margin[lost])}."
            )
        return float(time_s[first]), (
            f"Not before: at the start {_lack(room_pa[0], feed_margin[0])}."
        )
    return None, (
        f"Never within {_minutes(time_s[-1])}: at the start"
        f" {_lack(room_pa[0], feed_margin[0])}, at the end {_lack(room_pa[-1], feed_margin[-1])}."
    )


def warming_findings(
    found: WarmUp, fuel: Fuel, feed_pressure_ratio: FloatArray, duration_s: float
) -> tuple[Finding, ...]:
    """
    Say what must be known of a warm-up.

    Parameters
    ----------
    found : WarmUp
        The warm-up.
    fuel : Fuel
        For cloud point and plugging point.
    feed_pressure_ratio : array, shape (n,)
        Of the drive. [-]
    duration_s : float
        That was asked for. [s]

    Returns
    -------
    tuple of Finding
        Wax, elements ahead of the warm return, a starved drive, an empty tank.
    """
    told = []
    coldest = float(min(found.filter_k.min(), found.tank_k.min()))
    if coldest < fuel.cloud_point_k:
        told.append(
            warning(
                f"fuel.{fuel.name}",
                f"at {_celsius(coldest)} the fuel is below its cloud point of"
                f" {_celsius(fuel.cloud_point_k)}: wax is a screening figure only, and fine"
                " elements plug nearer the cloud point than the CFPP says. Wax that has settled"
                " in the tank or on the pick-up is not in it.",
                "Use a fuel for the season, and do not rely on this figure.",
            )
        )
        told.extend(_ahead(found, fuel))
    if coldest < fuel.cfpp_k:
        told.append(
            warning(
                f"fuel.{fuel.name}",
                f"at {_celsius(coldest)} the fuel is below its plugging point of"
                f" {_celsius(fuel.cfpp_k)} too, beyond the end of the screening law for wax: expect"
                " the element to plug, whatever is said here.",
                "Do not start on this fuel.",
            )
        )
    short = found.time_s[feed_pressure_ratio <= 0.0]
    if short.size:
        told.append(
            warning(
                "warm-up",
                f"the drive itself is starved at {short.size} of {found.time_s.size} moments, the"
                f" last one at {_minutes(short[-1])}: the engine would not pull as it is asked to"
                " here.",
                "Wait, drive with less load, or mend the line.",
            )
        )
    if found.time_s[-1] < duration_s * (1.0 - 1e-9):
        told.append(
            warning(
                "warm-up",
                f"the tank is empty after {_minutes(found.time_s[-1])}.",
                "Begin with more fuel.",
            )
        )
    told.append(
        note(
            "warm-up",
            "the engine bay is taken to stay as cold as the air: a filter under the bonnet warms"
            " sooner, one on the frame does not.",
        )
    )
    return tuple(told)


def _ahead(found: WarmUp, fuel: Fuel) -> tuple[Finding, ...]:
    """Say what stands ahead of the warm return."""
    if not found.ahead:
        return ()
    clear = found.time_s[found.tank_k >= fuel.cloud_point_k]
    until = f"from {_minutes(clear[0])} on" if clear.size else "at no moment of this drive"
    return (
        warning(
            "line",
            f"{', '.join(found.ahead)}: ahead of the place where warm return is led back, so the"
            f" wax there melts with the tank only, {until}; less fuel flows there meanwhile.",
            "Set an add-on element behind that place, or heat it.",
        ),
    )


def _lack(room_pa: float, feed_margin: float) -> str:
    """Say what is missing at a moment."""
    if np.isnan(feed_margin):
        return "the line has no state"
    if room_pa < 0.0:
        return f"the inlet stands {_kpa(-room_pa)} below the limit"
    return f"the pump is not fed (margin {feed_margin:.2f})"


def _kpa(pressure_pa: float) -> str:
    """Write a pressure."""
    return f"{from_si(float(pressure_pa), 'kPa', 'pressure'):.1f} kPa"


def _celsius(temperature_k: float) -> str:
    """Write a temperature."""
    return f"{from_si(temperature_k, 'degC', 'temperature'):.0f} °C"


def _minutes(time_s: float) -> str:
    """Write a time."""
    return f"{from_si(float(time_s), 'min', 'duration'):.1f} min"
