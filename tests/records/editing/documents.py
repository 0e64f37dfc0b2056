"""Documents for the tests of editing, and edits at random."""

from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from feedproof.records.editing.layout import Layout
from feedproof.records.editing.operations import (
    AddEntry,
    MapChannel,
    Operation,
    Remove,
    SetValue,
    SetValues,
)
from feedproof.records.editing.part_operations import (
    AddKit,
    AddPart,
    EditPart,
    MovePart,
    PlaceKit,
    RemoveKit,
    RemovePart,
    RenamePart,
)
from feedproof.records.editing.parts import all_parts
from feedproof.records.places import comments_of
from feedproof.records.template import TEMPLATE
from tests.records.documents import BRANCHED, VEHICLE

NEW = TEMPLATE.read_text(encoding="utf-8").replace("@TODAY@", "2026-09-14")
"""What a newcomer starts from."""
UNUSUAL = Path(__file__).with_name("unusual.toml").read_text(encoding="utf-8")
"""The same things written in every other way that the language knows."""


def commented(text: str) -> str:
    """Give a document with a comment of its own behind each header and key."""
    layout = Layout(text)
    for number, statement in enumerate(layout.statements):
        if not comments_of(layout.lines[statement.end - 1]):
            layout.lines[statement.end - 1] += f" # comment {number}"
    return "\n".join(layout.lines)


ALL = {"vehicle": VEHICLE, "branched": BRANCHED, "new": NEW, "unusual": UNUSUAL}
COMMENTED = {name: commented(text) for name, text in ALL.items()}
PIPE = {"kind": "pipe", "length": "1 m", "bore": "8 mm"}
VALUES: list[Any] = [
    "8 mm",
    "9 parsec",
    {"value": "8 mm", "low": "7 mm", "high": "9 mm", "source": 'says "so" # not a comment'},
    3,
    0.25,
    True,
    "",
    "two\nlines",
    None,
    ["a", "b"],
    {"of": ["summer", "winter"], "fraction": "30 %"},
    [{"size": "4 um(c)", "ratio": 75}, {"size": "10 um(c)", "ratio": 1000}],
]
PATHS = [
    "title",
    "vehicle.name",
    "vehicle.tank.capacity",
    "vehicle.tank.cap_valve",
    "vehicle.pump.maker_limit_abs",
    "vehicle.engine.full_load.speed.values",
    "service.chance",
    "supply.source",
    "fuel.summer.cfpp",
    "fuel.other.grade",
    "worst[0].loading",
    "worst[0].loading.factory_filter",
    "kit[0].title",
    "kit[0].insertion[0].after",
    "line[0].rating",
    "line[1].bore",
    "line[1].bore.value",
    "reference.altitude",
    "instrument.cell.channels.time.unit",
    "measure.jug.error",
]


def edits(data: dict[str, Any]) -> st.SearchStrategy[Operation]:
    """Give edits that a document might take or refuse."""
    names = [str(part.get("id", "")) for _, part in all_parts(data)] or ["none"]
    kits = [str(kit.get("id", "")) for kit in data.get("kit", [])] or ["none"]
    part = st.sampled_from([*names, "nobody"])
    kit = st.sampled_from([*kits, "nobody"])
    fresh = st.integers(0, 10_000).map(lambda number: f"part_{number}")
    value, path = st.sampled_from(VALUES), st.sampled_from(PATHS)
    new_part = fresh.map(lambda name: {"id": name, **PIPE})
    new_kit = st.builds(
        lambda name, beside, inside: {
            "id": f"kit_{name}",
            "title": "new",
            "insertion": [{"after": beside, "part": [inside]}],
        },
        fresh,
        part,
        new_part,
    )
    return st.one_of(
        st.builds(SetValue, path=path, value=value),
        st.builds(
            SetValues, path=st.just("vehicle.tank"), values=st.dictionaries(path, value, max_size=2)
        ),
        st.builds(EditPart, part=part, values=st.just({"title": "other", "bore": "7 mm"})),
        st.builds(AddPart, part=new_part, after=part),
        st.builds(AddPart, part=new_part, before=part),
        st.builds(AddPart, part=new_part, line=st.sampled_from(["line", "return"])),
        st.builds(MovePart, part=part, after=part),
        st.builds(MovePart, part=part, before=part),
        st.builds(RemovePart, part=part),
        st.builds(RenamePart, part=part, name=fresh),
        st.builds(AddKit, kit=new_kit),
        st.builds(RemoveKit, kit=kit),
        st.builds(PlaceKit, kit=kit, after=part),
        st.builds(PlaceKit, kit=kit, before=part),
        st.builds(AddEntry, path=st.just("worst"), table=st.just({"name": "x", "fuel": "summer"})),
        st.builds(Remove, path=path),
        st.builds(
            MapChannel,
            instrument=st.just("cell"),
            channel=st.sampled_from(["time", "throttle", "rail pressure"]),
            column=st.sampled_from(["Time", None]),
        ),
    )
