"""Edits as plain data, such as a page sends them: read with all their mistakes at once."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from feedproof.core.errors import InputError
from feedproof.core.findings import error
from feedproof.records.editing import operations as plain
from feedproof.records.editing import part_operations as parts

Path = str | list[str | int]
_Name = Annotated[str, Field(min_length=1, max_length=200)]
_Words = Annotated[str, Field(max_length=500)]


class _Request(BaseModel):
    """An edit as data: no key that it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    def operation(self) -> plain.Operation:
        """Give the edit."""
        raise NotImplementedError


class SetValueRequest(_Request):
    """Set one value; null leaves it out."""

    kind: Literal["set_value"]
    path: Path
    value: Any = None

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return plain.SetValue(path=self.path, value=self.value)


class SetValuesRequest(_Request):
    """Set several keys of one table; null leaves a key out."""

    kind: Literal["set_values"]
    path: Path
    values: dict[str, Any] = Field(min_length=1, max_length=200)

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return plain.SetValues(path=self.path, values=self.values)


class EditPartRequest(_Request):
    """Set several keys of a part by its id; null leaves a key out."""

    kind: Literal["edit_part"]
    part: _Name
    values: dict[str, Any] = Field(min_length=1, max_length=200)

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return parts.EditPart(part=self.part, values=self.values)


class AddEntryRequest(_Request):
    """Add a table to a list that holds no parts."""

    kind: Literal["add_entry"]
    path: Path
    table: dict[str, Any]
    position: int | None = Field(default=None, ge=0)

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return plain.AddEntry(path=self.path, table=self.table, position=self.position)


class RemoveRequest(_Request):
    """Take a table or an entry of a list away."""

    kind: Literal["remove"]
    path: Path

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return plain.Remove(path=self.path)


class MapChannelRequest(_Request):
    """Say which column is which channel; null for none."""

    kind: Literal["map_channel"]
    instrument: _Name
    channel: _Name
    column: str | None = None
    unit: Annotated[str, Field(max_length=40)] = ""
    more: dict[str, str | int | float] = Field(default_factory=dict, max_length=10)

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return plain.MapChannel(
            instrument=self.instrument,
            channel=self.channel,
            column=self.column,
            unit=self.unit,
            more=self.more,
        )


class ReplaceTextRequest(_Request):
    """Put another text in the place of the whole document."""

    kind: Literal["replace_text"]
    text: Annotated[str, Field(max_length=20_000_000)]

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return plain.ReplaceText(text=self.text)


class AddPartRequest(_Request):
    """Add a part after or before another, or at the end of a line."""

    kind: Literal["add_part"]
    part: dict[str, Any]
    after: str = ""
    before: str = ""
    line: str = "line"

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return parts.AddPart(part=self.part, after=self.after, before=self.before, line=self.line)


class MovePartRequest(_Request):
    """Move a part after or before another."""

    kind: Literal["move_part"]
    part: _Name
    after: str = ""
    before: str = ""

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return parts.MovePart(part=self.part, after=self.after, before=self.before)


class RemovePartRequest(_Request):
    """Take a part away."""

    kind: Literal["remove_part"]
    part: _Name

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return parts.RemovePart(part=self.part)


class RenamePartRequest(_Request):
    """Give a part another id."""

    kind: Literal["rename_part"]
    part: _Name
    name: _Name

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return parts.RenamePart(part=self.part, name=self.name)


class AddKitRequest(_Request):
    """Add a kit with its places and parts."""

    kind: Literal["add_kit"]
    kit: dict[str, Any]
    after: str = ""

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return parts.AddKit(kit=self.kit, after=self.after)


class RemoveKitRequest(_Request):
    """Take a kit away."""

    kind: Literal["remove_kit"]
    kit: _Name

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return parts.RemoveKit(kit=self.kit)


class PlaceKitRequest(_Request):
    """Say next to which part a kit stands."""

    kind: Literal["place_kit"]
    kit: _Name
    after: str = ""
    before: str = ""
    insertion: int = Field(default=0, ge=0)

    def operation(self) -> plain.Operation:
        """Give the edit."""
        return parts.PlaceKit(
            kit=self.kit, after=self.after, before=self.before, insertion=self.insertion
        )


class TogetherRequest(_Request):
    """Several edits as one step: all or none."""

    kind: Literal["together"]
    operations: list["EditRequest"] = Field(min_length=1, max_length=100)
    what: _Words = ""

    def operation(self) -> plain.Operation:
        """Give the edit."""
        each = tuple(request.operation() for request in self.operations)
        return plain.Together(operations=each, what=self.what)


EditRequest = Annotated[
    SetValueRequest
    | SetValuesRequest
    | EditPartRequest
    | AddEntryRequest
    | RemoveRequest
    | MapChannelRequest
    | ReplaceTextRequest
    | AddPartRequest
    | MovePartRequest
    | RemovePartRequest
    | RenamePartRequest
    | AddKitRequest
    | RemoveKitRequest
    | PlaceKitRequest
    | TogetherRequest,
    Field(discriminator="kind"),
]
TogetherRequest.model_rebuild()
_ADAPTER: TypeAdapter[Any] = TypeAdapter(EditRequest)


def operation_of(data: Mapping[str, Any]) -> plain.Operation:
    """
    Read an edit from plain data.

    Parameters
    ----------
    data : mapping
        With its ``kind``.

    Returns
    -------
    Operation
        The edit.

    Raises
    ------
    InputError
        Every mistake in it.
    """
    try:
        request = _ADAPTER.validate_python(dict(data))
    except ValidationError as fault:
        raise InputError(
            [
                error(
                    ".".join(["edit", *(str(step) for step in each["loc"])]),
                    f"{each['msg'][:1].lower()}{each['msg'][1:]}.",
                    "Write the edit as the schema describes it.",
                )
                for each in fault.errors(include_url=False)
            ]
        ) from fault
    made: plain.Operation = request.operation()
    return made


def edit_schema() -> dict[str, Any]:
    """
    Describe edits by a JSON Schema.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.
    """
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **_ADAPTER.json_schema(),
    }
