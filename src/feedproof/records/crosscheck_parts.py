"""What two keys of one part say together, and parts that make no sense where they stand."""

from collections.abc import Iterator

from feedproof.core.findings import Finding
from feedproof.records.lineup import Lineup, kit_parts
from feedproof.records.mistakes import Places
from feedproof.records.places import Location
from feedproof.records.raw_tables import Table, entries

_NARROWING = {"collapse_span": "10 kPa", "collapsed_bore": "50 %"}
"""Keys of a hose that narrows, with what is taken where they are not written."""
_ABOVE_AMBIENT = "the return stands above ambient"


def check_parts(document: Table, lineup: Lineup, places: Places) -> Iterator[Finding]:
    """Check each part of lines and kits by itself."""
    del lineup
    back = list(entries(document, "return"))
    for location, part in (*entries(document, "line"), *back, *kit_parts(document)):
        if part.get("kind") == "pipe":
            yield from _check_hose(part, location, places)
    for location, part in back:
        yield from _check_return(part, location, places)


def _check_hose(part: Table, location: Location, places: Places) -> Iterator[Finding]:
    """Find a narrowing without a start, and one whose course nobody wrote."""
    if "collapse_depression" not in part:
        for key in _NARROWING:
            if key in part:
                yield places.error(
                    (*location, key),
                    "a hose without collapse_depression never narrows, so this has no effect.",
                    "Add collapse_depression, or leave this key out.",
                )
        return
    assumed = [f"{key} = {value}" for key, value in _NARROWING.items() if key not in part]
    if assumed:
        yield places.warning(
            (*location, "collapse_depression"),
            f"{' and '.join(assumed)} {'are' if len(assumed) > 1 else 'is'} taken, which nobody"
            " measured.",
            "Measure the hose under suction and write both.",
        )


def _check_return(part: Table, location: Location, places: Places) -> Iterator[Finding]:
    """Warn of parts that do nothing, or nothing good, in a return line."""
    kind = part.get("kind")
    if kind == "air_hole":
        yield places.warning(
            (*location, "kind"),
            f"an air hole draws nothing here: {_ABOVE_AMBIENT}.",
            "Put it into the feed line if it stands there; a return line drips instead.",
        )
    elif kind == "lift_pump":
        yield places.warning(
            (*location, "kind"),
            "a lift pump in the return line pushes fuel back to the tank.",
            "Put it into the feed line if it stands there.",
        )
    elif kind == "pipe" and "collapse_depression" in part:
        yield places.warning(
            (*location, "collapse_depression"),
            f"a soft hose does not narrow here: {_ABOVE_AMBIENT}.",
            "Leave the key out, or put the hose into the feed line if it stands there.",
        )
