"""Any line, weather and demand for the invariants of a circuit's state."""

from dataclasses import replace

from hypothesis import settings
from hypothesis import strategies as st

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Line
from feedproof.case.parts import CheckValve, Element, Fitting, Orifice, Part, Pipe
from feedproof.feedline.circuit import FeedCircuit, build_circuit
from tests.feedline import reference

PUMPS = ("new", "worn", "internal_recirculation")
calm = settings(deadline=None, max_examples=60)
pumps = st.sampled_from(PUMPS)
rules = st.sampled_from(["blend_colebrook", "blend_blasius", "churchill"])
speeds = st.floats(5.0, 56.0)
wanted = st.floats(0.0, 1.1e-5)
fuel_names = st.sampled_from(["summer", "winter", "b20", "arctic", "petrol_contaminated_5pct"])
bores = st.floats(5e-3, 1.2e-2)

any_part = st.one_of(
    st.builds(Pipe, id=st.just("pipe"), length_m=st.floats(0.1, 5.0), bore_m=bores),
    st.builds(
        Fitting,
        id=st.just("fitting"),
        count=st.integers(1, 6),
        bore_m=bores,
        laminar_coefficient=st.floats(50.0, 1500.0),
        turbulent_coefficient=st.floats(0.1, 5.0),
    ),
    st.builds(
        Element,
        id=st.just("element"),
        role=st.just("secondary"),
        media_resistance_per_m=st.floats(1e8, 5e9),
        face_area_m2=st.floats(0.1, 1.0),
        housing_viscous_per_m3=st.floats(0.0, 5e9),
        housing_inertial_per_m4=st.floats(0.0, 2e9),
        loading_scale_kg=st.floats(2e-3, 2e-2),
    ),
    st.builds(
        CheckValve,
        id=st.just("check"),
        cracking_pressure_pa=st.floats(0.0, 2e3),
        inertial_per_m4=st.floats(0.0, 1e9),
    ),
    st.builds(
        Orifice,
        id=st.just("orifice"),
        bore_m=st.floats(3e-3, 5e-3),
        pipe_bore_m=st.floats(6e-3, 1.2e-2),
        discharge_coefficient=st.floats(0.58, 0.7),
    ),
)


def named(parts: list[Part]) -> tuple[Part, ...]:
    """Give parts ids of their own."""
    return tuple(replace(part, id=f"{part.id}_{place}") for place, part in enumerate(parts))


lines = st.lists(any_part, min_size=1, max_size=7).map(named)
weathers = st.builds(
    Conditions,
    fuel=fuel_names,
    fuel_temperature_k=st.floats(258.0, 343.0),
    ambient_pressure_abs_pa=st.floats(60e3, 104e3),
    fuel_level_fraction=st.floats(0.05, 1.0),
    tank_depression_pa=st.floats(0.0, 5e3),
)


def circuit_of(
    parts: tuple[Part, ...],
    weather: Conditions,
    pump: str = "new",
    rule: str = "blend_colebrook",
    fuel: Fuel | None = None,
) -> FeedCircuit:
    """Build a circuit of the reference vehicle with another line."""
    liquid = fuel or reference.fuel_of(weather.fuel)
    return build_circuit(reference.vehicle(pump), Line(parts=parts), liquid, weather, rule)


def no_less(greater: float, less: float) -> bool:
    """Compare two solved values to the accuracy of the solver."""
    return greater >= less - 1e-9 * max(abs(less), abs(greater))
