"""From ratings, separators, supply, duty and service of a checked document to those of the case."""

from collections.abc import Sequence

from feedproof.case.supply import (
    BYPASS_FRACTION,
    CAPACITY_SPREAD,
    FIELD_SIZE_FACTOR,
    FIELD_SLOPE_FACTOR,
    SERVICE_CHANCE,
    Duty,
    Rating,
    RatingPoint,
    Separator,
    Service,
    Supply,
)
from feedproof.core.values import SourcedValue
from feedproof.records import document_supply as doc
from feedproof.records.document_section import Section

SUPPLY_DEFAULTS = ("spread", "soft_matter", "free_water", "dissolved_water", "breather_dust")
DUTY_DEFAULTS = ("refuel_at", "refuel_to")
"""Keys that have a default: it is an assumption, and is named as one."""


def rating_of(section: doc.RatingSection | None) -> Rating | None:
    """
    Make an element's rating.

    Parameters
    ----------
    section : RatingSection or None
        Of the document.

    Returns
    -------
    Rating or None
        In SI; what nobody declared is taken by assumption and named.
    """
    if section is None:
        return None
    assumptions = {
        "field_size_factor": (section.field_size_factor, FIELD_SIZE_FACTOR),
        "field_slope_factor": (section.field_slope_factor, FIELD_SLOPE_FACTOR),
        "bypass": (section.bypass, BYPASS_FRACTION),
    }
    points = sorted(section.point, key=lambda point: point.size.size_m)
    return Rating(
        points=tuple(
            RatingPoint(
                size_m=point.size.size_m,
                ratio=point.ratio.value,
                calibrated=point.size.calibrated,
            )
            for point in points
        ),
        source=section.source,
        field_size_factor=_or_assumed(*assumptions["field_size_factor"]),
        field_slope_factor=_or_assumed(*assumptions["field_slope_factor"]),
        bypass_fraction=_or_assumed(*assumptions["bypass"]),
        assumed=tuple(name for name, (found, _) in assumptions.items() if found is None),
    )


def separator_of(section: doc.SeparatorSection | None) -> Separator | None:
    """
    Make an element's water separator.

    Parameters
    ----------
    section : SeparatorSection or None
        Of the document.

    Returns
    -------
    Separator or None
        In SI.
    """
    if section is None:
        return None
    return Separator(
        efficiency_fraction=section.efficiency.value,
        droplet_m=section.droplet.value,
        flow_m3_per_s=section.flow.value,
        side=section.side,
        bowl_m3=section.bowl.value,
        sensor_m3=section.sensor.value if section.sensor else None,
        source=section.source,
    )


def supply_of(section: doc.SupplySection | None) -> Supply | None:
    """
    Make what is known of the fuel as it comes.

    Parameters
    ----------
    section : SupplySection or None
        Of the document.

    Returns
    -------
    Supply or None
        In SI.
    """
    if section is None:
        return None
    return Supply(
        cleanliness=section.cleanliness,
        contamination_fraction=section.contamination.value,
        contamination_spread=section.spread.value,
        soft_fraction=section.soft_matter.value,
        free_water_fraction=section.free_water.value,
        dissolved_saturation_fraction=section.dissolved_water.value,
        delivery_temperature_k=section.delivery_temperature.value,
        breather_dust_kg_per_m3=section.breather_dust.value,
        source=section.source,
        contamination_low_fraction=section.contamination.low,
        contamination_high_fraction=section.contamination.high,
        assumed=_left_out(section, SUPPLY_DEFAULTS),
    )


def duty_of(section: doc.DutySection | None) -> Duty | None:
    """
    Make how the vehicle is driven.

    Parameters
    ----------
    section : DutySection or None
        Of the document.

    Returns
    -------
    Duty or None
        In SI.
    """
    if section is None:
        return None
    running = section.running_time_per_year
    return Duty(
        fuel_use_m2=section.fuel_use.value,
        distance_per_year_m=section.distance_per_year.value,
        engine_speed_rev_per_s=section.engine_speed.value,
        load_fraction=section.load.value,
        running_time_per_year_s=running.value if running else None,
        refuel_at_fraction=section.refuel_at.value,
        refuel_to_fraction=section.refuel_to.value,
        source=section.source,
        assumed=_left_out(section, DUTY_DEFAULTS),
    )


def service_of(section: doc.ServiceSection | None) -> Service | None:
    """
    Make what a service plan must keep.

    Parameters
    ----------
    section : ServiceSection or None
        Of the document.

    Returns
    -------
    Service or None
        In SI; what nobody declared is taken by assumption and named.
    """
    if section is None:
        return None
    assumptions = {
        "chance": (section.chance, SERVICE_CHANCE),
        "capacity_spread": (section.capacity_spread, CAPACITY_SPREAD),
    }
    distance, time = section.longest_distance, section.longest_time
    return Service(
        longest_distance_m=distance.value if distance else None,
        longest_duration_s=time.value if time else None,
        chance_fraction=_or_assumed(*assumptions["chance"]),
        capacity_spread=_or_assumed(*assumptions["capacity_spread"]),
        source=section.source,
        assumed=tuple(name for name, (found, _) in assumptions.items() if found is None),
    )


def _left_out(section: Section, keys: Sequence[str]) -> tuple[str, ...]:
    """Name the keys that nobody declared, so that their defaults are told."""
    return tuple(key for key in keys if key not in section.model_fields_set)


def _or_assumed(found: SourcedValue | None, assumed: float) -> float:
    """Give what was declared, or the assumption."""
    return assumed if found is None else found.value
