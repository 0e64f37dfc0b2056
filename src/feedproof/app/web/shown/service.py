"""Life of the elements as its screen shows it."""

from typing import Any

from feedproof.app.service_result import ServicePlan
from feedproof.app.service_text import fan_of, interval_sentence, life_name, service_sections
from feedproof.app.web.shown.common import banner_of, sections, told
from feedproof.app.web.shown.sources import SOURCE, fan_source

NO_FAN = (
    "No spread of readings is drawn: with fuel at the reference temperature there is no value to"
    " change the elements at or none for the alarm, as the table says."
)


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
    drawn = sections(service_sections(found))
    for row, (each, section) in enumerate(zip(found.configurations, drawn, strict=True)):
        fan = fan_of(each)
        section[SOURCE] = None if fan is None else fan_source(fan, life_name(row))
        if each.interval is not None and not section["wide"]:
            section["sentences"].append(NO_FAN)
    return {
        "banner": banner_of(found.note),
        "vehicle": found.vehicle,
        "answers": [interval_sentence(each) for each in found.configurations],
        "sections": drawn,
        "findings": told(found.findings),
    }
