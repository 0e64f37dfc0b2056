"""The choice of a kit as its screen shows it."""

from typing import Any

from feedproof.app.choice_result import Choice
from feedproof.app.choose_text import choice_sections
from feedproof.app.web.shown.common import banner_of, sections, told


def shown_of(found: Choice) -> dict[str, Any]:
    """
    Put a choice into what its screen shows.

    Parameters
    ----------
    found : Choice
        From the verb ``choose``.

    Returns
    -------
    dict
        What JSON can hold.
    """
    return {
        "banner": banner_of(found.note),
        "vehicle": found.vehicle,
        "answers": list(found.sentences),
        "looked_at": f"{found.looked_at} candidates from {found.catalogue}; {found.fitting} of them"
        " break nothing.",
        "sections": sections(choice_sections(found)),
        "findings": told(found.findings),
    }
