"""Life of the elements as its screen shows it."""

from typing import Any

from feedproof.app.service_result import ServicePlan
from feedproof.app.service_text import interval_sentence, service_sections
from feedproof.app.web.shown.common import banner_of, sections, told


def shown_of(found: ServicePlan) -> dict[str, Any]:
    """
    Put a service plan into what its screen shows.

    Parameters
    ----------
    found : ServicePlan
        From the verb ``service``.

    Returns
    -------
    dict
        What JSON can hold.
    """
    return {
        "banner": banner_of(found.note),
        "vehicle": found.vehicle,
        "answers": [interval_sentence(each) for each in found.configurations],
        "sections": sections(service_sections(found)),
        "findings": told(found.findings),
    }
