"""What every table of a case document shares: its strictness, names and texts."""

from typing import Annotated

from pydantic import BaseModel, ConfigDict, StringConstraints

ID_PATTERN = "^[A-Za-z][A-Za-z0-9_-]{0,39}$"
Id = Annotated[str, StringConstraints(pattern=ID_PATTERN)]
"""Name of a part, kit, fuel, instrument: a letter, then letters, digits, ``_`` and ``-``."""
Name = Annotated[str, StringConstraints(pattern=r"^[A-Za-z0-9][A-Za-z0-9_. -]{0,39}$")]
"""Name of a session or a plumbing: letters, digits, ``_``, ``.``, ``-`` and spaces."""
Text = Annotated[str, StringConstraints(max_length=500, pattern=r"^[^\x00-\x08\x0b-\x1f\x7f]*$")]
"""Free text without control characters."""


class Section(BaseModel):
    """A table of the document: strict, and no key that it does not know."""

    model_config = ConfigDict(
        extra="forbid",
        strict=True,
        frozen=True,
        arbitrary_types_allowed=True,
        # A part may be written by its key in the document only.
        populate_by_name=False,
        # What stands below a field is its label and help, for forms and for the JSON Schema.
        use_attribute_docstrings=True,
    )
