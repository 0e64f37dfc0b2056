"""The choice in words: which kit, why not the others, what decides it, and how sure."""

import math
from dataclasses import dataclass

from feedproof.app.choice_result import Answer, Choice, RatedKit, Wishes
from feedproof.app.text import kpa
from feedproof.kits.candidates import Kind
from feedproof.kits.front import CANNOT_TELL, HORIZON_M, Order
from feedproof.report.words import upper_first

KIND_WORDS = {
    Kind.NONE: "no kit",
    Kind.PRIMARY: "a coarse primary alone",
    Kind.SECONDARY: "a fine secondary alone",
    Kind.BOTH: "both",
}
NO_FEWER = 0.95
"""Exposure above which a kit is said to change nothing there. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """
    What the words are made from.

    Parameters
    ----------
    choice : Choice
        Its numbers.
    largest_losses : tuple of (str, float)
        Parts of the line without a kit that lose most. [Pa]
    secondary_first : Order or None
        Probability that the best secondary is better than the best primary.
    """

    choice: Choice
    largest_losses: tuple[tuple[str, float], ...]
    secondary_first: Order | None


def rule_words(wishes: Wishes) -> str:
    """
    Say how the best is picked.

    Parameters
    ----------
    wishes : Wishes
        With the declared worths.

    Returns
    -------
    str
        The rule.
    """
    return (
        "Of all candidates that break no limit and no wish, the one with the least score: parts"
        f" + {wishes.joint_cost:g} for each joint under depression"
        f" + changes over {HORIZON_M / 1e3:.0f} km (added elements and {wishes.change_cost:g} for"
        f" the visit) - {wishes.halving_worth:g} for each halving of the exposure, in"
        f" {wishes.currency}. Scores in the same tenth of a halving count as equal: then the one"
        " with most restriction left at the end of its interval."
    )


def km(distance_m: float) -> str:
    """
    Write a distance to 100 km, downwards.

    Parameters
    ----------
    distance_m : float
        Distance. [m]

    Returns
    -------
    str
        Thousands apart.
    """
    return f"{math.floor(distance_m / 1e5 + 1e-9) * 100:,}".replace(",", "\u202f")


def money(value: float, wishes: Wishes) -> str:
    """
    Write a cost.

    Parameters
    ----------
    value : float
        Cost. [-]
    wishes : Wishes
        With the word behind it.

    Returns
    -------
    str
        Whole numbers.
    """
    return f"{value:.0f} {wishes.currency}"


def exposure_words(kit: RatedKit) -> str:
    """
    Say what still reaches the pump.

    Parameters
    ----------
    kit : RatedKit
        A kit.

    Returns
    -------
    str
        Particles in a hundred, with their range.
    """
    if kit.exposure > NO_FEWER:
        return "no fewer particles of the size of the clearances reach the pump"
    return (
        f"about {100 * kit.exposure:.0f} in 100 particles of the size of the clearances still reach"
        f" the pump ({100 * kit.exposure_low:.0f} to {100 * kit.exposure_high:.0f}, as a vehicle is"
        " mild or harsh to ratings)"
    )


def broken_words(kit: RatedKit) -> str:
    """
    Say what a kit breaks.

    Parameters
    ----------
    kit : RatedKit
        One that breaks something.

    Returns
    -------
    str
        Limits and wishes.
    """
    return " and ".join(f"the {each}" for each in kit.why_not)


def order_words(order: Order) -> str:
    """
    Say how sure an order is.

    Parameters
    ----------
    order : Order
        Of two.

    Returns
    -------
    str
        The share of drawn vehicles.
    """
    share = f"{100 * order.probability:.0f} of 100 drawn vehicles"
    if not order.told:
        low, high = CANNOT_TELL
        return f"cannot tell which is better: {share}, between {low:g} and {high:g}"
    return f"in {share} it is the better one"


def answer_sentences(told: Told) -> tuple[str, ...]:
    """
    Write the answer.

    Parameters
    ----------
    told : Told
        What it is made from.

    Returns
    -------
    tuple of str
        The answer first.
    """
    choice = told.choice
    best = choice.kit(choice.best)
    sentences = [_first(told, best)]
    if choice.limit_abs_pa is None:
        sentences.append(
            "Not released: no limit is known from the pump's maker, so this is a ranking by gas and"
            " feed margin only, and no choice."
        )
    if best is not None and choice.answer is not Answer.NOTHING_FITS:
        if best.kind is not Kind.NONE:
            sentences.append(_what_it_does(best, choice))
        sentences += _why_not(choice, best)
        sentences += _what_decides(choice, best)
        sentences += _how_sure(choice)
    return tuple(sentences)


def _first(told: Told, best: RatedKit | None) -> str:
    """Write the answer's first sentence."""
    choice = told.choice
    if choice.answer is Answer.TOO_RESTRICTED:
        lost = " and ".join(f"{name} ({kpa(loss)} kPa)" for name, loss in told.largest_losses)
        if choice.baseline_slack < 0.0:
            breaks = (
                f"breaks a limit at {choice.baseline_place!r}"
                if choice.baseline_guard_pa <= 0.0
                else f"cannot be shown to keep its limits at {choice.baseline_place!r}, where the"
                f" prediction may be off by {kpa(choice.baseline_guard_pa)} kPa"
            )
            return (
                "This vehicle is already too restricted: without a kit and with clean elements it"
                f" {breaks}. No kit is chosen. Mend the line first; most is lost in {lost}."
            )
        share = 100 * (choice.baseline_share or math.nan)
        would = "" if best is None else f" Were it accepted, the answer would be: {best.title}."
        return (
            "This vehicle is already too restricted: without a kit and with clean elements it takes"
            f" {share:.0f} % of the allowed depression at {choice.baseline_place}, and the rule"
            f" is at most {100 * choice.wishes.baseline_share:.0f} %. Mend the line first; most is"
            f" lost in {lost}.{would}"
        )
    if choice.answer is Answer.NOTHING_FITS or best is None:
        return (
            f"Nothing fits: of {choice.looked_at} candidates, no kit among them, each breaks a"
            f" limit or a wish. Without a kit it is {broken_words(_bare(choice))}."
        )
    released = "" if choice.limit_abs_pa is not None else " in the ranking"
    if best.kind is Kind.NONE:
        return f"No kit{released}: what one would buy is not worth what it costs on this vehicle."
    return f"{upper_first(KIND_WORDS[best.kind])}{released}: {best.title}."


def _bare(choice: Choice) -> RatedKit:
    """Give the line without a kit, which is always shown."""
    return next(each for each in choice.kits if each.kind is Kind.NONE)


def _what_it_does(best: RatedKit, choice: Choice) -> str:
    """Say what the best kit does."""
    water = ""
    if best.takes_water:
        water = " It takes out free water in coarse drops."
        if best.sensor_distance_m is not None:
            water = (
                f" It takes out free water, which fills its bowl to the sensor in about"
                f" {km(best.sensor_distance_m)} km with the fuel as declared."
            )
    return (
        f"With it {exposure_words(best)}. Of the nearest limit{_kept(best)}"
        f" {100 * best.clean_slack:.0f} % is"
        f" left under the worst conditions when clean, {100 * abs(best.end_slack):.0f} % at the end"
        f" of an interval of {km(best.interval_m)} km ({best.interval_rule.replace('_', ' ')} sets"
        f" it; {km(_bare(choice).interval_m)} km without a kit). It costs"
        f" {money(best.bought_cost, choice.wishes)} and adds {best.joints} joints that can draw"
        f" air.{water}"
    )


def _kept(kit: RatedKit) -> str:
    """Say what is kept from the limit, as in `service`."""
    if kit.guard_pa <= 0.0:
        return ""
    return f", with {kpa(kit.guard_pa)} kPa kept because the prediction may be off by as much,"


def _why_not(choice: Choice, best: RatedKit) -> list[str]:
    """Say why each other kind is not the answer."""
    found = []
    for kind in Kind:
        if kind is best.kind:
            continue
        other = choice.best_of(kind)
        name = upper_first(KIND_WORDS[kind])
        if other is None:
            shown = next((each for each in choice.kits if each.kind is kind), None)
            why = "there is none in the catalogue"
            if shown is not None:
                which = "it" if kind is Kind.NONE else f"the nearest ({shown.title})"
                why = f"{which} breaks {broken_words(shown)}"
            found.append(f"{name}: {why}.")
            continue
        found.append(
            f"{name}: {_difference(best, other, choice.wishes)}"
            + (f" ({other.title})" if other.kind is not Kind.NONE else "")
            + "."
        )
    return found


def _difference(best: RatedKit, other: RatedKit, wishes: Wishes) -> str:
    """Say by what another kit falls behind."""
    halvings = math.log2(other.exposure / best.exposure)
    cost = other.whole_cost - best.whole_cost
    parts = []
    if abs(halvings) >= 0.05:
        more = "more" if halvings > 0.0 else "less"
        ratio = 2.0 ** abs(halvings)
        parts.append(f"{ratio:.3g} times {more} exposure")
    if abs(cost) >= 0.5:
        parts.append(f"{money(abs(cost), wishes)} {'dearer' if cost > 0.0 else 'cheaper'}")
    parts.append(f"{100 * other.clean_slack:.0f} % of the limit left when clean")
    return ", ".join(parts)


def _what_decides(choice: Choice, best: RatedKit) -> list[str]:
    """Say what the answer hangs on."""
    bare = _bare(choice)
    found = []
    halvings = -math.log2(best.exposure)
    if best.kind is not Kind.NONE and halvings > 0.05 and not bare.why_not:
        needed = (best.whole_cost - bare.whole_cost) / halvings
        at = (
            f"above {money(needed, choice.wishes)} a halving"
            if needed > 0.0
            else "at any worth of a halving, since it costs no more over the distance"
        )
        found.append(
            f"What decides it: it is better than no kit {at}; declared are"
            f" {choice.wishes.halving_worth:g}."
        )
    elif best.kind is not Kind.NONE and bare.why_not:
        found.append(f"What decides it: no kit is no answer here, it breaks {broken_words(bare)}.")
    if choice.rivals:
        second = choice.kit(choice.rivals[0].id)
        if second is not None:
            protection = choice.wishes.halving_worth * math.log2(second.exposure / best.exposure)
            cost = second.whole_cost - best.whole_cost
            found.append(
                f"The next one ({second.title}) is behind by"
                f" {money(second.score - best.score, choice.wishes)}: {protection:+.0f} from the"
                f" exposure, {cost:+.0f} from cost, life and joints."
            )
    return found


def _how_sure(choice: Choice) -> list[str]:
    """Say how sure the order of the best two is."""
    if not choice.rivals:
        return ["How sure: nothing else fits, so there is no order to doubt."]
    order = choice.rivals[0].order
    bare = next((each.order for each in choice.rivals if each.id == Kind.NONE.value), None)
    against = "" if bare is None or bare is order else f"; against no kit, {order_words(bare)}"
    return [
        f"How sure: against the next one, {order_words(order)}{against} ({order.draws} draws over"
        " contamination, capacity, resistances and what a vehicle does to ratings; the declared"
        " worths are not drawn)."
    ]
