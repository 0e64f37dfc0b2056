"""What two keys of a case say together: jugs, balances, rollers and the catches made with them."""

from collections.abc import Iterator

from feedproof.core.findings import Finding
from feedproof.records.lineup import Lineup
from feedproof.records.mistakes import Places, did_you_mean
from feedproof.records.places import Location
from feedproof.records.quantity import shown
from feedproof.records.raw_tables import Table, entries, named, number, table, text

_KIND_OF_AMOUNT = {"volume": "volume", "mass": "weighing"}
_AMOUNT_OF_KIND = {kind: amount for amount, kind in _KIND_OF_AMOUNT.items()}
# Accuracy classes of EN 837-1, from memory; sensors have others, so that another class is only
# asked about.
_CLASSES_EN_837 = (0.1, 0.25, 0.6, 1.0, 1.6, 2.5, 4.0)
_LARGEST_FLOW_M3_PER_S = 1000e-3 / 3600.0
# A fuel lighter than this is none; it turns a mass into the largest volume it can be.
_LIGHTEST_FUEL_KG_PER_M3 = 650.0


def check_measures(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Check what is read by hand, each by itself and the catches made with it."""
    del lineup
    measures = {name: measure for _, name, measure in named(document, "measure")}
    yield from _check_air(document, places)
    for location, _, measure in named(document, "measure"):
        yield from _check_measure(measure, location, places)
    for location, _, instrument in named(document, "instrument"):
        yield from _check_instrument(instrument, location, places)
    for location, run in entries(document, "run"):
        caught = table(run, "caught_return")
        if caught:
            yield from _check_caught(caught, (*location, "caught_return"), measures, places)


def _check_air(document: Table, places: Places) -> Iterator[Finding]:
    """Find a second set of air sensors: the runs do not say which one was read."""
    found = [
        (location, name)
        for location, name, measure in named(document, "measure")
        if text(measure, "kind") == "air"
    ]
    for location, name in found[1:]:
        yield places.error(
            location,
            f"{shown(name)} is a second set of air sensors; the air of a run has no key that says"
            " which one was read.",
            f"Keep {shown(found[0][1])}, or the one with the larger errors.",
        )


def _check_measure(measure: Table, location: Location, places: Places) -> Iterator[Finding]:
    """Ask about marks that are wider or far finer than the measure is good for."""
    kind = text(measure, "kind") or ""
    quantity = {"volume": "volume", "weighing": "mass"}.get(kind)
    if quantity is None:
        return
    error, step = number(measure, "error", quantity), number(measure, "step", quantity)
    if error and step and step > 20.0 * error:
        yield places.warning(
            (*location, "step"),
            f"steps of {shown(_written(measure, 'step'))} cannot show an error of"
            f" {shown(_written(measure, 'error'))}.",
            "Check both; error is the largest error, step the distance of two marks.",
        )


def _check_instrument(instrument: Table, location: Location, places: Places) -> Iterator[Finding]:
    """Check that errors are declared of an instrument that measures the quantity."""
    channels = table(instrument, "channels")
    if "roller" in instrument and channels and "wheel_power" not in channels:
        yield places.error(
            (*location, "roller"),
            "errors of a roller, but the instrument has no channel wheel_power.",
            "Move roller to the instrument that writes the power.",
        )
    gauges = ("inlet_depression", "inlet_pressure_abs", "inlet_pressure_gauge")
    if channels and not set(gauges) & set(channels):
        for key in ("gauge_place_error", "gauge_again_error", "zero_error"):
            if key in instrument:
                yield places.error(
                    (*location, key),
                    "the instrument has no channel of the pump inlet's pressure.",
                    f"Move {key} to the one that has.",
                )
    found = number(instrument, "class", "number")
    if found is not None and all(abs(found - known) > 1e-9 for known in _CLASSES_EN_837):
        listed = ", ".join(f"{known:g}" for known in _CLASSES_EN_837)
        if found > max(_CLASSES_EN_837) or found < min(_CLASSES_EN_837):
            yield places.warning(
                (*location, "class"),
                f"class {found:g} is outside those of dial gauges ({listed} % of span, EN 837-1).",
                "Class is the largest error in percent of span, not of the reading.",
            )
    if found is not None and "span" not in instrument:
        yield places.error(
            (*location, "span"), "a class is a share of the span, which is missing.", "Add span."
        )


def _check_caught(
    caught: Table, at: Location, measures: dict[str, Table], places: Places
) -> Iterator[Finding]:
    """Check what was caught: one amount, the measure that fits it, and a flow that makes sense."""
    steady = caught.get("hold", "steady") == "steady"
    if steady and "engine_speed" not in caught:
        yield places.error(
            (*at, "engine_speed"),
            "a steady hold has no engine speed.",
            'Add it, such as "3000 rpm", or write hold = "pull".',
        )
    amounts = [key for key in _KIND_OF_AMOUNT if key in caught]
    if len(amounts) != 1:
        yield places.error(
            at,
            f"a catch has one of volume and mass, found {len(amounts)}.",
            "Write what was read: volume in a jug, mass on a balance.",
        )
    if "volume" in amounts and "temperature" not in caught:
        yield places.error(
            (*at, "temperature"),
            "a volume without its temperature is no amount: 12 K are 1 %.",
            "Add the temperature of the fuel in the measure, or weigh.",
        )
    yield from _check_which(caught, at, amounts, measures, places)
    yield from _check_size(caught, at, places)


def _check_which(
    caught: Table, at: Location, amounts: list[str], measures: dict[str, Table], places: Places
) -> Iterator[Finding]:
    """Check the measure of a catch: named, or the only one of its kind."""
    kinds = {name: text(measure, "kind") for name, measure in measures.items()}
    name = text(caught, "measure")
    catching = [each for each, kind in kinds.items() if kind in _AMOUNT_OF_KIND]
    if name is not None and name not in catching:
        yield places.error(
            (*at, "measure"),
            f"the case has no jug or balance {shown(name)}.",
            did_you_mean(name, catching),
        )
        return
    for amount in amounts:
        wanted = _KIND_OF_AMOUNT[amount]
        if name is not None and kinds[name] != wanted:
            yield places.error(
                (*at, amount),
                f"a {amount} was caught in {shown(name)}, which is of kind {kinds[name]}.",
                f"Write {_AMOUNT_OF_KIND[str(kinds[name])]}, or name another measure.",
            )
        fitting = [each for each in catching if kinds[each] == wanted]
        if name is None and len(fitting) > 1:
            yield places.error(
                (*at, "measure"),
                f"{len(fitting)} measures of kind {wanted} are declared.",
                f"Say which one: {', '.join(fitting)}.",
            )
        if name is None and not fitting and wanted == "weighing":
            yield places.error(
                (*at, "mass"),
                "a mass was caught, and no balance is declared: nothing says how far it may be"
                " off.",
                'Add [measure.balance] with kind = "weighing", error and step.',
            )


def _check_size(caught: Table, at: Location, places: Places) -> Iterator[Finding]:
    """Ask about a flow that no road vehicle returns."""
    duration = number(caught, "duration", "duration")
    volume, mass = number(caught, "volume", "volume"), number(caught, "mass", "mass")
    if volume is None and mass is not None:
        volume = mass / _LIGHTEST_FUEL_KG_PER_M3
    if volume and duration and volume / duration > _LARGEST_FLOW_M3_PER_S:
        yield places.warning(
            at,
            f"{volume * 1e3:.3g} L in {duration:.3g} s is {volume / duration * 3.6e6:.0f} L/h,"
            " more than road vehicles return (common practice).",
            "Check amount and duration.",
        )


def _written(holder: Table, key: str) -> object:
    """Give a quantity as the document writes it."""
    found = holder.get(key)
    return table(holder, key).get("value") if isinstance(found, dict) else found
