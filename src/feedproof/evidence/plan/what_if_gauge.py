"""
The gauge at hand, and others that a workshop may think of, as doubts of a difference.

Figures of gauges that a case does not describe are common practice and marked as assumed; they give
way to what the case declares.
"""

from dataclasses import dataclass

from feedproof.evidence.budget import common_practice as usual
from feedproof.evidence.budget.depression import (
    depression_between_gauges,
    depression_difference,
    gauge_class,
)
from feedproof.evidence.budget.doubt import Doubt, limit, standard, step
from feedproof.evidence.plan.doubts import Doubts, doubts_of

USUAL_CLASS, USUAL_SPAN_PA, USUAL_STEP_PA = 1.6, 60e3, 500.0
"""A workshop's needle gauge (common practice). [%], [Pa], [Pa]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class GaugeSet:
    """
    A gauge at the pump inlet as it would be used.

    Parameters
    ----------
    class_percent, span_pa : float
        Class in percent of span. [%], [Pa]
    resolution_pa : float
        Smallest step that is read. [Pa]
    height : Doubt
        Of its height, set again for each of the two; nothing when it stays. [m]
    zero : Doubt
        Of its zero. [Pa]
    added_pa : float
        Depression that the kit is predicted to add. [Pa]
    density_kg_per_m3 : float
        Fuel in the gauge line. [kg/m3]
    two_gauges : bool
        One for each of the two.
    """

    class_percent: float
    span_pa: float
    resolution_pa: float
    height: Doubt
    zero: Doubt
    added_pa: float
    density_kg_per_m3: float
    two_gauges: bool = False


def gauge_doubts(title: str, gauge: GaugeSet) -> Doubts:
    """
    Give the doubts of an added depression.

    Parameters
    ----------
    title : str
        Which gauge.
    gauge : GaugeSet
        How it is used.

    Returns
    -------
    Doubts
        In Pa.
    """
    resolution = step(gauge.resolution_pa, f"steps of {gauge.resolution_pa / 1e3:g} kPa")
    if gauge.two_gauges:
        scale = gauge_class(gauge.class_percent, gauge.span_pa)
        return doubts_of(
            title,
            depression_between_gauges(
                difference_pa=gauge.added_pa,
                scale_without=scale,
                scale_with=scale,
                resolution=resolution,
                zero=gauge.zero,
                height=gauge.height,
                density_kg_per_m3=gauge.density_kg_per_m3,
            ),
        )
    text = f"class {gauge.class_percent:g} as the error of the slope"
    return doubts_of(
        title,
        depression_difference(
            difference_pa=gauge.added_pa,
            slope=limit(gauge.class_percent / 100.0, text),
            resolution=resolution,
            zero=gauge.zero,
            height=gauge.height,
            density_kg_per_m3=gauge.density_kg_per_m3,
            runs_each=1,
        ),
    )


def other_gauges(added_pa: float, density_kg_per_m3: float) -> tuple[Doubts, ...]:
    """
    Give what-ifs for the gauge.

    Parameters
    ----------
    added_pa : float
        Depression that the kit is predicted to add. [Pa]
    density_kg_per_m3 : float
        Fuel in the gauge line. [kg/m3]

    Returns
    -------
    tuple of Doubts
        In Pa.
    """
    stays, again = standard(0.0, "stays where it is"), usual.gauge_placed_again()
    zeroed = limit(50.0, "zero read before and after each run")

    def one(
        title: str,
        class_percent: float,
        span_pa: float,
        resolution_pa: float,
        height: Doubt = stays,
        zero: Doubt = zeroed,
        *,
        two: bool = False,
    ) -> Doubts:
        return gauge_doubts(
            title,
            GaugeSet(
                class_percent=class_percent,
                span_pa=span_pa,
                resolution_pa=resolution_pa,
                height=height,
                zero=zero,
                added_pa=added_pa,
                density_kg_per_m3=density_kg_per_m3,
                two_gauges=two,
            ),
        )

    return (
        one("needle gauge, class 1.6 of 60 kPa, read to 0.5 kPa, stays in place", 1.6, 60e3, 500.0),
        one("the same, read to 1 kPa", 1.6, 60e3, 1000.0),
        one("the same, read to 0.5 kPa, zero not read", 1.6, 60e3, 500.0, zero=usual.zero_error()),
        one("the same, hung on its mark again for each change", 1.6, 60e3, 500.0, again),
        one(
            "the same, hung anywhere within 50 mm",
            1.6,
            60e3,
            500.0,
            limit(0.05, "anywhere within 50 mm"),
        ),
        one("two such gauges, one for each", 1.6, 60e3, 500.0, again, two=True),
        one("logged sensor, class 0.5 of 100 kPa, steps of 0.05 kPa", 0.5, 100e3, 50.0),
        one("logged sensor, class 0.25 of 40 kPa, steps of 0.01 kPa", 0.25, 40e3, 10.0),
    )
