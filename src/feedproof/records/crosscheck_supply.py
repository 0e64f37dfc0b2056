"""What keys say together of elements as filters, of supply, duty and service."""

from collections.abc import Iterator
from itertools import pairwise

from feedproof.core.findings import Finding
from feedproof.records.document_supply import read_size
from feedproof.records.lineup import Lineup, kit_parts
from feedproof.records.mistakes import Places
from feedproof.records.places import Location
from feedproof.records.raw_tables import Table, entries, number, table

_SHUTTING = ("standard", "complete")
# A ratio in this range that is no whole number is more likely an efficiency in percent.
_LIKE_PERCENT = (50.0, 100.0)


def check_filtering(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Check ratings, loading and separators of every element."""
    del lineup
    for location, part in (*entries(document, "line"), *kit_parts(document)):
        if part.get("kind") == "element":
            yield from _check_loading(part, location, places)
            yield from _check_rating(table(part, "rating"), (*location, "rating"), places)
            yield from _check_separator(table(part, "separator"), (*location, "separator"), places)


def _check_loading(part: Table, location: Location, places: Places) -> Iterator[Finding]:
    """Find a law without its scale, and a filter that would never fill."""
    scale = part.get("loading_scale")
    law = part.get("loading_law")
    if scale is None and law is not None:
        yield places.error(
            (*location, "loading_law"),
            "a law of loading without loading_scale says nothing: the element never loads.",
            "Add loading_scale, or leave this key out.",
        )
    elif scale is None and "rating" in part:
        yield places.warning(
            (*location, "rating"),
            "the element filters and has no loading_scale: it is taken as never filling, and no"
            " life can be given for it.",
            "Add the loading_scale of its loading curve.",
        )


def _check_rating(rating: Table, location: Location, places: Places) -> Iterator[Finding]:
    """Find points that contradict each other, a mixed scale, and percent written as a ratio."""
    points = []
    for at, point in entries(rating, "point", location):
        size, ratio = read_size(point.get("size")), number(point, "ratio", "number")
        if size is None or ratio is None:
            continue
        points.append((size, ratio, at))
        if _LIKE_PERCENT[0] <= ratio <= _LIKE_PERCENT[1] and ratio != round(ratio):
            yield places.warning(
                (*at, "ratio"),
                f"{ratio:g} is taken as a filtration ratio, an efficiency of"
                f" {100.0 * (1.0 - 1.0 / ratio):.2f} %; it looks like an efficiency in percent.",
                f"For {ratio:g} % write {1.0 / max(1.0 - ratio / 100.0, 1e-6):.4g}.",
            )
    if len({size.calibrated for size, _, _ in points}) > 1:
        yield places.error(
            (*location, "point"),
            "sizes in um(c) and in the older um stand in one rating: they are other sizes.",
            "Write all points in one scale.",
        )
    elif points and not points[0][0].calibrated:
        yield places.warning(
            (*location, "point"),
            "sizes are in the older scale, um: they are converted by a table from memory, which is"
            " screening and no rating by the present test.",
            "Write um(c) if the maker gives sizes after ISO 11171.",
        )
    ordered = sorted(points, key=lambda each: each[0].size_m)
    for (small, low, _), (large, high, at) in pairwise(ordered):
        if small.size_m == large.size_m:
            yield places.error((*at, "size"), f"{large.text} stands twice.", "Leave one of them.")
        elif high <= low:
            yield places.error(
                (*at, "ratio"),
                f"the ratio at {large.text} ({high:g}) is not above that at {small.text}"
                f" ({low:g}): larger particles are held better.",
                "Check the two points.",
            )


def _check_separator(separator: Table, location: Location, places: Places) -> Iterator[Finding]:
    """Find a sensor that answers when the bowl has run over."""
    bowl, sensor = number(separator, "bowl", "volume"), number(separator, "sensor", "volume")
    if bowl is not None and sensor is not None and sensor > bowl:
        yield places.error(
            (*location, "sensor"),
            f"the sensor answers at {1e6 * sensor:g} mL, the bowl is full at {1e6 * bowl:g} mL.",
            "Check both volumes.",
        )


def check_duty(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Find fillings that fill nothing, and a duty that no vehicle can drive."""
    del lineup
    duty = table(document, "duty")
    low = number(duty, "refuel_at", "fraction")
    high = number(duty, "refuel_to", "fraction")
    low = 0.25 if low is None else low
    high = 1.0 if high is None else high
    if duty and high <= low:
        yield places.error(
            ("duty", "refuel_to"),
            f"the tank is filled to {100 * high:g} %, and fuel is taken at {100 * low:g} %.",
            "refuel_to lies above refuel_at.",
        )
    distance = number(duty, "distance_per_year", "length")
    running = number(duty, "running_time_per_year", "duration")
    if distance and running and distance / running > 70.0:
        yield places.error(
            ("duty", "running_time_per_year"),
            f"{distance / 1e3:g} km in {running / 3600.0:g} h are {3.6 * distance / running:.0f}"
            " km/h on average.",
            "Check both.",
        )
    if duty and "supply" not in document:
        yield places.warning(
            ("duty",),
            "a duty without [supply]: protection and life need the fuel as it comes.",
            "Add [supply].",
        )
