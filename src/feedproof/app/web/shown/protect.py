"""Protection as its screen shows it."""

from typing import Any

from feedproof.app.protect_text import protection_answers, protection_sections
from feedproof.app.protecting import Protection
from feedproof.app.web.shown.common import banner_of, sections, told


def shown_of(found: Protection) -> dict[str, Any]:
    """
    Put protection into what its screen shows.

    Parameters
    ----------
    found : Protection
        From the verb ``protect``.

    Returns
    -------
    dict
        What JSON can hold.
    """
    return {
        "banner": banner_of(found.note),
        "vehicle": found.vehicle,
        "answers": protection_answers(found),
        "delivered": f"Fuel as it comes: {found.delivered_code} (ISO 4406).",
        "sections": sections(protection_sections(found)),
        "findings": told(found.findings),
    }
