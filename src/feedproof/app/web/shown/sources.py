"""
What pictures of kept results are drawn from, and the drawing of them in a workshop's units.

Long work is done once and its screen is kept, with pictures in the units of the report.  Another
unit must not set it off again, nor judge runs that came in since, which would be one more look at
them: so what each picture shows is kept beside it in SI, and a screen in other units draws it from
that.
"""

import json
from collections.abc import Callable, Mapping
from dataclasses import asdict, dataclass
from functools import lru_cache
from typing import Any

import numpy as np

from feedproof.app.documents import to_document
from feedproof.app.web.shown.common import named
from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Outcome
from feedproof.case.run import Role
from feedproof.report import life_chart, overlay_chart
from feedproof.report.life_chart import LifeFan
from feedproof.report.model import CurveBand, KitWords, Publication, Table
from feedproof.report.notation import REPORT, Notation
from feedproof.report.overlay_curves import KeptCurves, KeptPrediction, KeptRun, kept_curves
from feedproof.report.ruler_picture import drawn_ruler, ruler_name, ruler_title
from feedproof.report.ruler_reading import Restriction, restriction_of
from feedproof.report.svg import NARROW, WIDE
from feedproof.report.words import shown

Source = dict[str, Any]
SOURCE = "source"
"""Key under which a picture of a screen keeps what it is drawn from."""
_MOST_KEPT = 32


def ruler_source(publication: Publication, configuration: str, outcome: Outcome) -> Source | None:
    """
    Keep what a ruler shows.

    Parameters
    ----------
    publication : Publication
        The report.
    configuration : str
        The kit.
    outcome : Outcome
        The outcome.

    Returns
    -------
    dict or None
        What JSON can hold; None for a ruler in percent or of the rail, which has no unit that is
        chosen.
    """
    if outcome.measure is not Measure.INLET_DEPRESSION or outcome.estimate is None:
        return None
    restriction = restriction_of(publication, configuration, shown(outcome))
    return {
        "picture": "ruler",
        "name": ruler_name(publication, configuration, outcome),
        "title": ruler_title(publication, configuration, outcome),
        "of": to_document(restriction),
    }


def overlay_source(publication: Publication, measure: Measure) -> Source:
    """
    Keep what an overlay shows.

    Parameters
    ----------
    publication : Publication
        The report.
    measure : Measure
        Of what.

    Returns
    -------
    dict
        What JSON can hold.
    """
    curves = kept_curves(publication, measure)
    return {"picture": "overlay", "of": to_document(curves)}


def fan_source(fan: LifeFan, name: str) -> Source:
    """
    Keep what a life fan shows.

    Parameters
    ----------
    fan : LifeFan
        The fan.
    name : str
        Prefix of its ids.

    Returns
    -------
    dict
        What JSON can hold.
    """
    return {"picture": "fan", "name": name, "of": to_document(fan)}


def in_units(content: Any, notation: Notation) -> Any:
    """
    Draw the pictures of a kept screen in the units of a workshop.

    Parameters
    ----------
    content : object
        What the screen shows, of dictionaries and lists.
    notation : Notation
        Units to write.

    Returns
    -------
    object
        The same, but for the pictures whose source was kept, with their sentences and tables;
        untouched where the units are those of the report.
    """
    if notation == REPORT:
        return content
    match content:
        case dict():
            told = {key: in_units(each, notation) for key, each in content.items()}
            source = content.get(SOURCE)
            if source is None:
                return told
            return _merged(told, _redrawn(json.dumps(source, sort_keys=True), notation))
        case list():
            return [in_units(each, notation) for each in content]
    return content


@dataclass(frozen=True, slots=True, kw_only=True)
class _Redrawn:
    """A picture in other units; of a ruler, the page says its sentence in words of its own."""

    wide: str
    narrow: str
    sentence: str = ""
    was: str = ""
    table: Table | None = None


def _merged(told: Mapping[str, Any], redrawn: _Redrawn) -> dict[str, Any]:
    """Put a picture with its words in the place of the report's."""
    own = {**told, "wide": redrawn.wide, "narrow": redrawn.narrow}
    if "sentence" in told:
        own["sentence"] = redrawn.sentence
    if "sentences" in told:
        was = named(redrawn.was)
        own["sentences"] = [
            named(redrawn.sentence) if line == was else line for line in told["sentences"]
        ]
    if redrawn.table is not None:
        table = asdict(redrawn.table)
        own.update({"folded": [table]} if "folded" in told else {"table": table})
    return own


@lru_cache(maxsize=_MOST_KEPT)
def _redrawn(source: str, notation: Notation) -> _Redrawn:
    """Draw a picture from its source; the units are part of what it is remembered by."""
    read = json.loads(source)
    return _PICTURES[read["picture"]](read, notation)


def _ruler(source: Source, notation: Notation) -> _Redrawn:
    """Draw a ruler."""
    found = source["of"]
    reading = Restriction(**{**found, "answer": Answer(found["answer"])}).reading(notation)
    name, title = source["name"], source["title"]
    return _Redrawn(
        wide=drawn_ruler(reading, title, name, float(WIDE)),
        narrow=drawn_ruler(reading, title, f"{name}-narrow", float(NARROW)),
    )


def _overlay(source: Source, notation: Notation) -> _Redrawn:
    """Draw an overlay."""
    found = source["of"]
    measure = Measure(found["measure"])
    curves = KeptCurves(
        measure=measure,
        stop_m_per_s=found["stop_m_per_s"],
        kits=tuple(KitWords(**each) for each in found["kits"]),
        places=tuple(found["places"]),
        runs=tuple(KeptRun(**_arrays(each, role=Role(each["role"]))) for each in found["runs"]),
        predictions=tuple(KeptPrediction(**_arrays(each)) for each in found["predictions"]),
        bands=tuple(CurveBand(**_arrays(each, measure=measure)) for each in found["bands"]),
    )
    wide, narrow = (
        overlay_chart.overlay_svg(curves, narrow=each, notation=notation) for each in (False, True)
    )
    return _Redrawn(
        wide=wide,
        narrow=narrow,
        sentence=overlay_chart.sentence(curves, notation),
        table=overlay_chart.table(curves, notation),
    )


def _fan(source: Source, notation: Notation) -> _Redrawn:
    """Draw a life fan."""
    found = source["of"]
    levels = found["levels_k"]
    fan = LifeFan(
        **_arrays(
            found,
            share=tuple(found["share"]),
            levels_k=None if levels is None else tuple(levels),
        )
    )
    name = source["name"]
    return _Redrawn(
        wide=life_chart.life_svg(fan, name=name, notation=notation),
        narrow=life_chart.life_svg(fan, name=f"{name}-narrow", narrow=True, notation=notation),
        sentence=life_chart.sentence(fan, notation),
        was=life_chart.sentence(fan),
        table=life_chart.table(fan, notation=notation),
    )


def _arrays(found: Mapping[str, Any], **others: Any) -> dict[str, Any]:
    """Read the fields of something with arrays; None in one is what was not measured."""
    return {
        key: others[key]
        if key in others
        else np.array(value, dtype=float)
        if isinstance(value, list)
        else value
        for key, value in found.items()
    }


_PICTURES: Mapping[str, Callable[[Source, Notation], _Redrawn]] = {
    "ruler": _ruler,
    "overlay": _overlay,
    "fan": _fan,
}
