"""Water through a vehicle in words, from the figures of `feedproof.kits.water`."""

import math
from collections.abc import Sequence

from feedproof.kits.water_ranges import Range, in_words
from feedproof.kits.water_result import Bowl, WaterResult
from feedproof.kits.water_separators import SeparatorUse
from feedproof.kits.water_slug import Slug


def water_words(found: WaterResult, slugs: Sequence[Slug] = ()) -> tuple[str, ...]:
    """
    Say what becomes of the water of a vehicle.

    Parameters
    ----------
    found : WaterResult
        One configuration.
    slugs : sequence of Slug
        Slugs that were sent through the same line.

    Returns
    -------
    tuple of str
        Sentences for a report, doubts and assumptions last.
    """
    fill, year = found.fill, found.year
    lines = [
        f"One fill brings {_volume(fill.free_delivered)} of free and"
        f" {_volume(fill.dissolved_delivered)} of dissolved water, a year"
        f" {_volume(year.free_delivered)} and {_volume(year.dissolved_delivered)}.",
        *(f"{name} takes {_volume(caught)} of it a fill." for name, caught in fill.caught),
        f"Free water carried over to the pump: {_volume(fill.carried_over)} a fill,"
        f" {_volume(year.carried_over)} a year{_share(found.carried_fraction)}.",
        f"Dissolved water that passes and falls out where the fuel cools behind the filters:"
        f" {_volume(fill.falls_out)} a fill.",
        _ends(found),
    ]
    if found.without_separator:
        lines.append(
            f"No separator, so no water is taken by: {', '.join(found.without_separator)}."
        )
    lines += [_bowl(bowl) for bowl in found.bowls]
    if found.bowls:
        lines.append(
            "When its bowl is full an element takes no more water: with all bowls full"
            f" {_volume(found.with_full_bowls.carried_over)} a fill reaches the pump."
        )
    lines += [slug_words(slug) for slug in slugs]
    lines += [f"Doubt: {doubt}." for doubt in doubts(found.uses)]
    settled = f"{100 * found.drawn_fraction:.0f} % of the tank's free water is drawn (assumed)"
    lines.append(f"Assumed: {'; '.join(in_words((settled,)))}.")
    return tuple(lines)


def doubts(uses: Sequence[SeparatorUse]) -> tuple[str, ...]:
    """
    List where separators are used beyond their rating, each once.

    Parameters
    ----------
    uses : sequence of SeparatorUse
        Separators at operating points.

    Returns
    -------
    tuple of str
        Element, operating point and doubt.
    """
    return tuple(
        dict.fromkeys(
            f"{use.element} at {use.state}: {doubt}" for use in uses for doubt in use.doubts
        )
    )


def slug_words(slug: Slug) -> str:
    """
    Say what becomes of a slug.

    Parameters
    ----------
    slug : Slug
        At one operating point.

    Returns
    -------
    str
        One sentence.
    """
    water = _amount(slug.water_m3)
    if math.isinf(slug.first_s):
        return f"A slug of {water} at {slug.state} goes nowhere: there is no flow."
    held = ", ".join(f"{name} holds {_volume(each)}" for name, each in slug.held_m3)
    flood = (
        "the bowls hold out"
        if slug.flood_s is None
        else f"nothing is held after {slug.flood_s:.0f} s"
    )
    return (
        f"A slug of {water} at {slug.state}: {held or 'no bowl on its way'};"
        f" {_volume(slug.reaches_pump_m3)} reaches the pump, the first of it after about"
        f" {slug.first_s:.0f} s, and {flood}."
    )


def _amount(water_m3: float) -> str:
    """Write an amount of water."""
    if math.isinf(water_m3):
        return "no end of water"
    if water_m3 >= 0.9995e-3:
        return f"{1e3 * water_m3:.3g} L"
    return f"{1e6 * water_m3:.2g} mL" if water_m3 < 9.95e-5 else f"{1e6 * water_m3:.0f} mL"


def _volume(figure: Range) -> str:
    """Write water with its range."""
    if figure.low == figure.high:
        return _amount(figure.typical)
    return f"{_amount(figure.typical)} ({_amount(figure.low)} to {_amount(figure.high)})"


def _share(figure: Range | None) -> str:
    """Write the share that is carried over."""
    if figure is None:
        return ", for there is no free water in the line"
    low, typical, high = (f"{100 * each:.2g} %" for each in figure.levels)
    span = f" ({low} to {high})" if low != high else ""
    return f", {typical} of the free water in the line{span}"


def _ends(found: WaterResult) -> str:
    """Show both ends of what the tank may give."""
    none, all_of_it = found.by_drawn[0][1], found.by_drawn[-1][1]
    return (
        f"If the tank keeps all of its free water, {_volume(none.carried_over)} a fill is carried"
        f" over and {_volume(none.settled)} gathers in the tank, to come as a slug one day; if it"
        f" keeps none, {_volume(all_of_it.carried_over)} is carried over."
    )


def _bowl(bowl: Bowl) -> str:
    """Say when a bowl is full."""
    full = _distance(bowl.to_full_m)
    if bowl.to_sensor_m is None:
        return f"The bowl of {bowl.element} has no sensor; full after: {full}."
    return (
        f"Bowl of {bowl.element}: sensor answers after: {_distance(bowl.to_sensor_m)}; full after:"
        f" {full}."
    )


def _distance(figure: Range) -> str:
    """Write a distance with its range."""
    typical, low, high = (_far(each) for each in (figure.typical, figure.low, figure.high))
    return f"{typical} ({low} to {high})" if low != high else typical


def _far(distance_m: float) -> str:
    """Write a distance to two digits, or that it is not reached."""
    if math.isinf(distance_m):
        return "never"
    # Two digits: the water that a tank gives is not known better.
    rounded = float(f"{distance_m / 1e3:.2g}")
    return f"{rounded:,.0f} km".replace(",", " ")
