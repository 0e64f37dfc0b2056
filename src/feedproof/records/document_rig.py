"""The rig and the procedure of a case document."""

from typing import Annotated

from pydantic import StringConstraints

from feedproof.case.rig import Rig
from feedproof.records.document_section import Section

# Sessions are pooled by these words, so blanks that nobody sees must not part them.
Label = Annotated[
    str, StringConstraints(max_length=160, pattern=r"^[^\s\x00-\x1f\x7f]+( [^\s\x00-\x1f\x7f]+)*$")
]


class RigSection(Section):
    """Rig and procedure, which the workshop's archive of repeatability is kept by."""

    name: Label
    """Name: of the rig."""
    procedure: Label
    """Procedure: how a pull is run."""


def rig_of(section: RigSection | None) -> Rig | None:
    """
    Make the rig.

    Parameters
    ----------
    section : RigSection or None
        Of the document.

    Returns
    -------
    Rig or None
        None when nobody named it.
    """
    return None if section is None else Rig(name=section.name, procedure=section.procedure)
