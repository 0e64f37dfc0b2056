"""The two questions of every customer, answered for one vehicle."""

import math

from feedproof.app.choice_result import Answer, Choice, RatedKit
from feedproof.app.choice_words import Told, broken_words, exposure_words, km
from feedproof.app.text import kpa
from feedproof.kits.candidates import Kind
from feedproof.kits.front import Order
from feedproof.report.words import upper_first


def which_words(told: Told) -> str:
    """
    Answer whether a primary or a secondary is right.

    Parameters
    ----------
    told : Told
        What the answer is made from.

    Returns
    -------
    str
        For this vehicle, with numbers.
    """
    choice = told.choice
    primary, secondary = choice.best_of(Kind.PRIMARY), choice.best_of(Kind.SECONDARY)
    order = told.secondary_first
    if choice.baseline_slack < 0.0:
        return "Neither: the line without a kit cannot be shown to keep its limits."
    if primary is None and secondary is None:
        return "Neither alone: each of them breaks a limit or a wish."
    if order is None or primary is None or secondary is None:
        return _only_one(choice, primary, secondary)
    first, word = (
        (order, "secondary")
        if order.probability >= 0.5
        else (Order(probability=1 - order.probability, standard_error=0, draws=1), "primary")
    )
    lead = f"{upper_first(word)}" if first.told else "Cannot tell"
    return (
        f"{lead}: the {word} has the better score in {100 * first.probability:.0f} of 100 drawn"
        f" vehicles. With {secondary.title} {exposure_words(secondary)}, and its elements last"
        f" {km(secondary.interval_m)} km; with {primary.title} {exposure_words(primary)}, and they"
        f" last {km(primary.interval_m)} km. A primary is for free water and coarse dirt, a"
        " secondary for hard dirt of the size of the clearances; neither does the other's work."
    )


def _only_one(choice: Choice, primary: RatedKit | None, secondary: RatedKit | None) -> str:
    """Answer which one where only one of the two breaks nothing."""
    left = primary or secondary
    assert left is not None
    other = Kind.SECONDARY if left is primary else Kind.PRIMARY
    shown = next((each for each in choice.kits if each.kind is other), None)
    broken = "is not in the catalogue" if shown is None else f"breaks {broken_words(shown)}"
    best = choice.kit(choice.best)
    both = " The answer above is both." if best is not None and best.kind is Kind.BOTH else ""
    return (
        f"{upper_first(left.kind.value)}, if it is to be one: a {other.value} alone {broken}. With"
        f" {left.title} {exposure_words(left)}.{both}"
    )


def starving_words(told: Told) -> str:
    """
    Answer whether a fine secondary starves the engine.

    Parameters
    ----------
    told : Told
        What the answer is made from.

    Returns
    -------
    str
        For this vehicle, with numbers.
    """
    choice = told.choice
    if choice.baseline_slack < 0.0:
        if choice.baseline_guard_pa > 0.0:
            return (
                "Cannot tell: already without one the line comes nearer to its limit than the"
                " prediction can tell, under the worst declared conditions."
            )
        return "The line starves it already without one, under the worst declared conditions."
    secondaries = [each for each in choice.kits if each.kind in (Kind.SECONDARY, Kind.BOTH)]
    good = choice.best_of(Kind.SECONDARY) or choice.best_of(Kind.BOTH)
    if good is None:
        if not secondaries:
            return "No fine secondary is in the catalogue."
        return (
            "Every fine secondary of the catalogue breaks a limit or a wish here; the nearest,"
            f" {secondaries[0].title}, breaks {broken_words(secondaries[0])}."
        )
    keeps = choice.keeps_fraction.get(good.id, math.nan)
    room = (
        ""
        if choice.limit_abs_pa is None
        else f", {kpa(max(good.end_pressure_abs_pa - choice.limit_abs_pa, 0.0))} kPa above its"
        f" limit, of which {kpa(good.guard_pa)} kPa are kept because the prediction may be off"
    )
    lead = "No,"
    if choice.limit_abs_pa is None:
        lead = "Cannot tell for sure, no limit is known: but"
    elif choice.answer is Answer.TOO_RESTRICTED:
        lead = "Not by the numbers, but this line has too little left to add to it:"
    bad = min(secondaries, key=lambda each: (each.clean_slack, each.id))
    short = min(secondaries, key=lambda each: (each.interval_m, each.id))
    warned = ""
    if bad.clean_slack < 0.0:
        warned = f" A badly chosen one would: {bad.title} breaks a limit even clean."
    elif short.interval_m < 0.7 * good.interval_m:
        warned = f" A small one is due soon: {short.title} after {km(short.interval_m)} km."
    return (
        f"{lead} with {good.title}, changed in time. At {good.end_place!r}, loaded as far as its"
        f" interval of {km(good.interval_m)} km says, the pump still has"
        f" {kpa(good.end_pressure_abs_pa)} kPa at its inlet{room}, and delivers"
        f" {good.end_feed_margin:.1f} times what the engine needs. {100 * keeps:.0f} of 100 drawn"
        f" vehicles keep every limit that far; the others are caught by the gauge.{warned}"
    )
