"""What the room hangs on, as text for a console: intervals, inputs, parts, one sentence each."""

import math

from feedproof.app.sensitivity import HIGH_PROBABILITY, LOW_PROBABILITY
from feedproof.app.sensitivity_inputs import TRANSITION
from feedproof.app.sensitivity_parts import (
    LESS_LENGTH,
    LESS_PRESSURE,
    MORE_AREA,
    MORE_BORE,
    MORE_RESISTANCE,
    PartChange,
    PartSensitivity,
)
from feedproof.app.sensitivity_result import (
    InputSensitivity,
    PredictionInterval,
    RoomVerdict,
    SensitiveConfiguration,
    Sensitivity,
)
from feedproof.app.text import findings_text, kpa, litres_per_hour, table
from feedproof.core.units import from_si

CHANGES = {
    MORE_BORE: "+10 % bore",
    LESS_LENGTH: "-10 % length",
    MORE_AREA: "+10 % media",
    MORE_RESISTANCE: "+10 % resistance",
    LESS_PRESSURE: "-10 % pressure",
}
SHOWN_FROM = 0.005
"""Least total index of an input that gets a line of its own; smaller ones are only named."""
LITTLE_TOGETHER = 0.1
"""Share of the variance below which acting together is called little: the project's own rule."""


def sensitivity_text(found: Sensitivity) -> str:
    """
    Write what the room hangs on for a console.

    Parameters
    ----------
    found : Sensitivity
        The answer.

    Returns
    -------
    str
        For each configuration its intervals, inputs and parts, largest first.
    """
    conditions = found.conditions
    known = found.limit_abs_pa is not None
    parts = [found.title, found.note, found.vehicle]
    parts = [part for part in parts if part]
    parts.append(
        f"\nAt the top of the pull: {conditions.fuel} fuel at"
        f" {from_si(conditions.fuel_temperature_k, 'degC', 'temperature'):.0f} °C, air"
        f" {kpa(conditions.ambient_pressure_abs_pa)} kPa, tank"
        f" {100 * conditions.fuel_level_fraction:.0f} % full."
    )
    parts.append(
        "Room is the absolute inlet pressure above the pump maker's limit."
        if known
        else "No limit is known: room stands for the absolute inlet pressure itself."
    )
    for each in found.configurations:
        parts += _configuration(each)
    parts.append(
        "\nEach range is taken as even (a triangle where its source says triangular), all as"
        f" independent; the transition of the friction\nas even between the outcomes of its two"
        f" edge rules. {found.base_samples} base samples, seed {found.seed}; shares with 95 %"
        " intervals. A value without\na range is taken as exact, so what has no range yet is in no"
        " interval here. A prediction is not a test."
    )
    if found.findings:
        parts.append(findings_text(found.findings))
    return "\n".join(parts)


def _configuration(each: SensitiveConfiguration) -> list[str]:
    """Write one configuration."""
    parts = [f"\n{each.configuration}", _intervals(each.intervals), verdict_sentence(each)]
    parts += ["", _inputs(each.inputs), deciding_sentence(each.inputs)]
    parts.append(together_sentence(each.intervals[0]))
    if each.elsewhere:
        parts.append(f"Not in this line or fuel: {', '.join(short(p) for p in each.elsewhere)}.")
    parts += ["", _parts(each.parts), parts_sentence(each.parts)]
    return parts


def _intervals(intervals: tuple[PredictionInterval, ...]) -> str:
    """Lay out the intervals of all quantities."""
    percents = f"{100 * LOW_PROBABILITY:.0f} to {100 * HIGH_PROBABILITY:.0f} %"
    head = ("", "as given", "median", percents, f"inputs alone, {percents}")
    units = {"room": "room kPa", "depression": "depression kPa", "return": "return L/h"}
    rows = []
    for each in intervals:
        rows.append(
            (
                units.get(each.quantity, each.quantity.replace("_", " ")),
                quantity_text(each.quantity, each.as_given),
                quantity_text(each.quantity, each.median),
                f"{quantity_text(each.quantity, each.low)} to"
                f" {quantity_text(each.quantity, each.high)}",
                f"{quantity_text(each.quantity, each.inputs_low)} to"
                f" {quantity_text(each.quantity, each.inputs_high)}",
            )
        )
    return table(head, rows)


def quantity_text(quantity: str, value: float) -> str:
    """
    Write a predicted value in the unit of the workshop.

    Parameters
    ----------
    quantity : str
        One of `feedproof.app.sensitivity_inputs.QUANTITIES`.
    value : float
        In SI.

    Returns
    -------
    str
        Without its unit.
    """
    if quantity in ("room", "depression"):
        return kpa(value)
    return litres_per_hour(value) if quantity == "return" else f"{value:.2f}"


def verdict_sentence(each: SensitiveConfiguration) -> str:
    """
    Say what the interval of the room says about the limit.

    Parameters
    ----------
    each : SensitiveConfiguration
        One configuration.

    Returns
    -------
    str
        One sentence; "cannot tell" where zero lies inside, or too near an end.
    """
    if each.below_zero_probability is None:
        return "No limit known: nothing is called within a limit."
    assert each.below_zero_low is not None
    assert each.below_zero_high is not None
    words = {
        RoomVerdict.HOLDS: "The room holds",
        RoomVerdict.BROKEN: "The room is used up",
        RoomVerdict.CANNOT_TELL: "Cannot tell whether the room holds",
    }
    return (
        f"{words[each.verdict]}; below zero with a probability of"
        f" {100 * each.below_zero_probability:.1f} % (sampled, {100 * each.below_zero_low:.1f} to"
        f" {100 * each.below_zero_high:.1f} %)."
    )


def short(path: str) -> str:
    """
    Write the path of a value by its owner and name alone.

    Parameters
    ----------
    path : str
        Path in the case.

    Returns
    -------
    str
        Such as ``steel_line.bore``.

    Examples
    --------
    >>> short("kit[fine].insertion[0].part[fine_element].media_resistance")
    'fine_element.media_resistance'
    >>> short("vehicle.pump.slip")
    'pump.slip'
    """
    if path == TRANSITION:
        return "transition of the friction"
    head, _, name = path.rpartition(".")
    last = head.rpartition(".")[2]
    owner = last[last.rfind("[") + 1 : -1] if last.endswith("]") else last
    return f"{owner}.{name}" if owner else name


def _inputs(inputs: tuple[InputSensitivity, ...]) -> str:
    """Lay out what the inputs do to the room."""
    head = ("input", "as given", "at low end", "at high end", "alone %", "in all %")
    rows = []
    small = []
    for each in inputs:
        room = each.effects[0]
        if not room.total_high >= SHOWN_FROM:
            small.append(short(each.path))
            continue
        rows.append(
            (
                short(each.path),
                each.text,
                _signed(room.at_low),
                _signed(room.at_high),
                _share(room.first, room.first_low, room.first_high),
                _share(room.total, room.total_low, room.total_high),
            )
        )
    lines = [
        "Inputs with a range: change of the room in kPa at the ends, and share of its variance:",
        table(head, rows),
    ]
    if small:
        lines.append(f"Below {100 * SHOWN_FROM:.1f} % of the variance each: {', '.join(small)}.")
    return "\n".join(lines)


def _share(value: float, low: float, high: float) -> str:
    """Write a share of the variance with its interval."""
    return f"{100 * value:z.0f} ({100 * low:z.0f} to {100 * high:z.0f})"


def deciding_sentence(inputs: tuple[InputSensitivity, ...]) -> str:
    """
    Say which input decides, or that their order cannot be told.

    Parameters
    ----------
    inputs : tuple of InputSensitivity
        The largest first.

    Returns
    -------
    str
        One sentence.
    """
    moving = [each for each in inputs if each.effects[0].total > 0.0]
    if not moving:
        return "Nothing that has a range moves the room."
    most = moving[0].effects[0]
    rivals = [each for each in moving[1:] if each.effects[0].total_high >= most.total_low]
    if rivals:
        names = ", ".join(short(each.path) for each in rivals)
        return (
            f"Most hangs on {short(moving[0].path)} or {names}: which of them decides cannot be"
            " told from these samples."
        )
    return (
        f"Most hangs on {short(moving[0].path)}: were it known, {100 * most.first:.0f} % of the"
        " room's variance would be gone."
    )


def together_sentence(room: PredictionInterval) -> str:
    """
    Say whether the inputs act together.

    Parameters
    ----------
    room : PredictionInterval
        Of the room.

    Returns
    -------
    str
        One sentence.
    """
    if math.isnan(room.first_sum):
        return "Nothing moves the room, so there is nothing to share out."
    shares = (
        f"the shares of each alone add up to {100 * room.first_sum:.0f} %"
        f" ({100 * room.first_sum_low:.0f} to {100 * room.first_sum_high:.0f})"
    )
    least = max(1.0 - room.first_sum_high, 0.0)
    # An interaction of m inputs stands in m total indices, so the excess counts it m - 1 times.
    most = max(room.total_sum_high - 1.0, 0.0)
    if least > 0.0:
        return (
            f"The inputs also act together: {shares}; at least {100 * least:.0f} % is what one"
            " does depending on another."
        )
    if most <= LITTLE_TOGETHER:
        return (
            f"The inputs act each by itself: {shares}; acting together brings at most"
            f" {100 * most:.0f} %."
        )
    return (
        f"Whether the inputs act together cannot be told from these samples: {shares}; acting"
        f" together brings at most {100 * most:.0f} %."
    )


def _parts(parts: tuple[PartSensitivity, ...]) -> str:
    """Lay out the parts, largest loss first, with the columns that any of them needs."""
    shown = [
        what for what in CHANGES if any(what == change.what for p in parts for change in p.changes)
    ]
    head = ("part", "loss kPa", "share %", "+1 % loss", *(CHANGES[what] for what in shown))
    rows = []
    for each in sorted(parts, key=lambda part: -(part.loss_pa or 0.0)):
        changes = {change.what: _signed(change.room_pa) for change in each.changes}
        rows.append(
            (
                each.part_id,
                "?" if each.loss_pa is None else f"{from_si(each.loss_pa, 'kPa', 'pressure'):z.2f}",
                "?" if each.share_fraction is None else f"{100 * each.share_fraction:z.0f}",
                ""
                if each.room_pa_per_percent is None
                else f"{from_si(each.room_pa_per_percent, 'kPa', 'pressure'):+z.3f}",
                *(changes.get(what, "") for what in shown),
            )
        )
    return (
        "Parts, and what the room does in kPa when one alone is changed (each solved again):\n"
        + table(head, rows)
    )


def _signed(pressure_pa: float) -> str:
    """Write a change of the room."""
    return f"{from_si(pressure_pa, 'kPa', 'pressure'):+z.2f}"


def parts_sentence(parts: tuple[PartSensitivity, ...]) -> str:
    """
    Say which part costs most and which change of one part gains most.

    Parameters
    ----------
    parts : tuple of PartSensitivity
        Parts of a line.

    Returns
    -------
    str
        One or two sentences.
    """
    placed = [each for each in parts if each.loss_pa is not None]
    if not placed:
        return "No part of this line has a loss that can be laid out."
    costly = max(placed, key=lambda each: each.loss_pa or 0.0)
    # Behind a running lift pump a loss can be more than the depression that is left.
    text = (
        f"The largest loss is {from_si(costly.loss_pa or 0.0, 'kPa', 'pressure'):.2f} kPa in"
        f" {costly.part_id} ({costly.title}), {100 * (costly.share_fraction or 0.0):.0f} % of the"
        " depression."
    )
    tried: list[tuple[PartSensitivity, PartChange]] = [
        (part, change) for part in parts for change in part.changes
    ]
    gains = [pair for pair in tried if pair[1].room_pa > 0.0]
    if gains:
        part, change = max(gains, key=lambda pair: pair[1].room_pa)
        text += (
            f" Of the changes tried, {change.what} of {part.part_id} gains most:"
            f" {_signed(change.room_pa)} kPa."
        )
    return text
