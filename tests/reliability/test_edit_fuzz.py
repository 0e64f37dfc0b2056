"""
Edits at random of documents that hold anything anywhere.

Promised: an edit is made as its data say or refused in words; no document breaks it off.
"""

import random
import tomllib
from typing import Any

import pytest

from feedproof.core.errors import InputError, MissingError
from feedproof.records.editing.operations import (
    AddEntry,
    MapChannel,
    Operation,
    Remove,
    SetValue,
    Together,
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
from feedproof.records.editing.plain import same
from feedproof.records.editing.sheet import Sheet
from feedproof.records.places import lines_of
from feedproof.records.raw_tables import entries
from feedproof.records.reading import read_document
from tests.records.editing.documents import ALL, PATHS, PIPE, VALUES
from tests.reliability.rows import tally, trials

SEED = 20260914
ANYTHING: list[Any] = [*VALUES, 3, [], {}, [1, 2], [[]], [{}], {"x": {"y": {"z": 1}}}, "x"]


def any_edit(dice: random.Random, sheet: Sheet) -> Operation:
    """Give an edit that a document may take or refuse."""
    parts = [str(part.get("id", "")) for _, part in all_parts(sheet.data)]
    kits = [str(kit.get("id", "")) for _, kit in entries(sheet.data, "kit")]
    one, two = dice.choice([*parts, "nobody"]), dice.choice([*parts, "nobody"])
    kit, fresh = dice.choice([*kits, "nobody"]), f"part_{dice.randrange(10**6)}"
    new, anything = {"id": fresh, **PIPE}, dice.choice(ANYTHING)
    inside = {"after": one, "part": [{**new, "id": f"{fresh}_x"}]}
    places = [location for location in lines_of(sheet.text) if location]
    deeper = dice.choices(["id", "part", "bore", "new key", 0, 7], k=dice.randrange(3))
    wild = SetValue(path=[*dice.choice(places), *deeper], value=anything)
    return dice.choice(
        [
            wild,
            wild,
            wild,
            Remove(path=wild.path),
            SetValue(path=dice.choice(PATHS), value=anything),
            AddPart(part=new, after=one),
            AddPart(part=new, before=one),
            AddPart(part=new, line=dice.choice(["line", "return", "kit[0].insertion[0].part"])),
            MovePart(part=one, after=two),
            MovePart(part=one, before=two),
            RemovePart(part=one),
            RenamePart(part=one, name=fresh),
            EditPart(part=one, values={"bore": anything, "title": "t", "rating": anything}),
            AddKit(kit={"id": fresh, "title": "t", "insertion": [inside]}),
            RemoveKit(kit=kit),
            PlaceKit(kit=kit, after=one),
            AddEntry(path=dice.choice(["worst", "tee", "line[8].rating.point"]), table={"x": 1}),
            MapChannel(instrument="cell", channel="a b", column=dice.choice(["c", None])),
            Together(operations=(wild, RemovePart(part=one))),
        ]
    )


def fault_of(seed: int) -> str:
    """Edit one document some times; say what broke off, empty when nothing did."""
    dice = random.Random(seed)
    sheet = Sheet.of(ALL[dice.choice(sorted(ALL))])
    for _ in range(6):
        operation = any_edit(dice, sheet)
        try:
            sheet = operation.apply(sheet).sheet
            read_document(sheet.data, sheet.text, "case.toml")
        except (InputError, MissingError) as fault:
            if not all(finding.place and finding.message for finding in fault.findings):
                return f"{operation}: refused without words"
        except Exception as fault:
            return f"{seed}: {operation}: {fault!r}"
        if not same(tomllib.loads(sheet.text.replace("\r\n", "\n")), sheet.data):
            return f"{seed}: {operation}: says something else"
    return ""


def test_no_document_breaks_an_edit_off_and_none_is_edited_wrongly() -> None:
    count = trials(25, 1000)
    faults = [fault for trial in range(count) if (fault := fault_of(SEED + trial))]
    tally("property and API fuzzing, edits of any document", count, len(faults))

    assert not faults


def test_an_edit_that_breaks_off_would_be_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(SetValue, "apply", lambda _self, _sheet: {}["nothing"])

    assert any("KeyError" in fault_of(SEED + trial) for trial in range(5))
