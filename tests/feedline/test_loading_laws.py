"""
Promise: an element's resistance grows by the law that its part names, and a shut one is refused.

Outside check: the closed forms of the blocking laws at constant flow (Hlavacek and Bouchet 1993,
memory), on a line whose other losses are known.
"""

import math
from dataclasses import replace

import pytest

from feedproof.case.line import Line
from feedproof.case.parts import Element
from feedproof.core.errors import InputError
from feedproof.feedline.circuit import build_circuit
from feedproof.feedline.plan import lower_part
from tests.feedline.reference import conditions, fuel_of, vehicle

ELEMENT = Element(
    id="media",
    role="secondary",
    media_resistance_per_m=3.2e9,
    face_area_m2=0.42,
    housing_inertial_per_m4=4e8,
    loading_scale_kg=0.020,
)
SHARE = 0.3
GROWTH = {
    "cake": 1.0 + SHARE,
    "intermediate": math.exp(SHARE),
    "standard": (1.0 - SHARE) ** -2,
    "complete": 1.0 / (1.0 - SHARE),
}


@pytest.mark.parametrize("law", GROWTH)
def test_only_the_media_grows_and_by_its_law(law: str) -> None:
    part = replace(ELEMENT, loading_law=law)
    clean, loaded = lower_part(part), lower_part(part, SHARE * ELEMENT.loading_scale_kg)
    assert loaded.media_per_m3 / clean.media_per_m3 == pytest.approx(GROWTH[law], rel=1e-12)
    assert loaded.inertial_per_m4 == clean.inertial_per_m4


@pytest.mark.parametrize("law", ["standard", "complete"])
def test_a_load_that_shuts_the_media_is_refused_by_the_parts_name(law: str) -> None:
    part = replace(ELEMENT, loading_law=law)
    body = vehicle()
    line = Line(parts=(*body.line.parts, part))
    at = replace(conditions(40.0), captured_mass_kg={"media": ELEMENT.loading_scale_kg})
    with pytest.raises(InputError, match="media"):
        build_circuit(body, line, fuel_of("summer"), at, "blend_colebrook")
