"""What must hold for any line: balance, monotony, series, neutrality of names and order."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from feedproof.case.line import Line
from feedproof.case.parts import CheckValve, Element, Fitting, Orifice, Part, Pipe
from feedproof.feedline.line_loss import line_loss, part_loss
from feedproof.feedline.plan import lower_fluid, lower_rows, merge_rows
from feedproof.feedline.pull import predict_pull
from feedproof.physics.friction import FrictionRule
from tests.feedline import reference
from tests.feedline.reference import at_138, circuit, conditions

FLOWS = st.floats(1e-7, 3e-4)
BORES = st.floats(3e-3, 2e-2)


def _parts() -> st.SearchStrategy[Part]:
    """Any part with sensible numbers."""
    return st.one_of(
        st.builds(
            Pipe,
            id=st.just("pipe"),
            length_m=st.floats(0.05, 10.0),
            bore_m=BORES,
            roughness_m=st.sampled_from([0.0, 1.5e-6, 5e-5]),
        ),
        st.builds(
            Fitting,
            id=st.just("fitting"),
            count=st.integers(1, 8),
            bore_m=BORES,
            laminar_coefficient=st.floats(50.0, 1500.0),
            turbulent_coefficient=st.floats(0.1, 6.0),
        ),
        st.builds(
            Element,
            id=st.just("element"),
            role=st.just("secondary"),
            media_resistance_per_m=st.floats(1e7, 1e10),
            face_area_m2=st.floats(0.05, 1.0),
            housing_inertial_per_m4=st.floats(0.0, 1e10),
        ),
        st.builds(
            CheckValve,
            id=st.just("check"),
            cracking_pressure_pa=st.floats(0.0, 3e3),
            inertial_per_m4=st.floats(0.0, 1e9),
        ),
        st.builds(
            Orifice,
            id=st.just("orifice"),
            bore_m=st.floats(1.5e-3, 5e-3),
            pipe_bore_m=st.floats(6e-3, 1.2e-2),
            discharge_coefficient=st.floats(0.58, 0.7),
        ),
    )


LINES = st.lists(_parts(), min_size=1, max_size=12).map(
    lambda parts: Line(
        parts=tuple(replace(part, id=f"{part.id}_{i}") for i, part in enumerate(parts))
    )
)
FLUID = lower_fluid(reference.fuel_of("summer"), 288.15)


def _loss(line: Line, flow: float, rule: int = 0) -> float:
    return line_loss(flow, merge_rows(lower_rows(line, {})), FLUID, rule)


@given(line=LINES, flow=FLOWS, rule=st.sampled_from(list(FrictionRule)))
@settings(max_examples=150, deadline=None)
def test_merged_line_equals_the_sum_of_its_parts(
    line: Line, flow: float, rule: FrictionRule
) -> None:
    parts = sum(part_loss(flow, row, FLUID, int(rule)) for row in lower_rows(line, {}))

    assert _loss(line, flow, int(rule)) == pytest.approx(parts, rel=1e-12)


@given(line=LINES, flow=FLOWS, seed=st.integers(0, 9))
@settings(max_examples=60, deadline=None)
def test_order_of_parts_does_not_change_the_loss(line: Line, flow: float, seed: int) -> None:
    order = np.random.default_rng(seed).permutation(len(line.parts))
    shuffled = Line(parts=tuple(line.parts[i] for i in order))

    assert _loss(shuffled, flow) == pytest.approx(_loss(line, flow), rel=1e-12)


@given(line=LINES, flow=FLOWS, more=st.floats(1.001, 1.5))
@settings(max_examples=100, deadline=None)
def test_more_flow_loses_more(line: Line, flow: float, more: float) -> None:
    assert _loss(line, flow * more) >= _loss(line, flow)


@given(line=LINES, added=_parts(), flow=FLOWS)
@settings(max_examples=100, deadline=None)
def test_no_added_part_loses_less(line: Line, added: Part, flow: float) -> None:
    longer = Line(parts=(*line.parts, replace(added, id="added")))

    assert _loss(longer, flow) >= _loss(line, flow)


@given(flow=FLOWS, bore=BORES, wider=st.floats(1.01, 1.5))
@settings(max_examples=100, deadline=None)
def test_a_wider_pipe_loses_less(flow: float, bore: float, wider: float) -> None:
    narrow = Line(parts=(Pipe(id="pipe", length_m=1.0, bore_m=bore),))
    wide = Line(parts=(Pipe(id="pipe", length_m=1.0, bore_m=bore * wider),))

    # Within the laminar-turbulent transition a wider pipe lowers Re and the factor together.
    assert _loss(wide, flow) < _loss(narrow, flow)


@pytest.mark.parametrize("temperature_c", [-5.0, 10.0, 40.0, 70.0])
@pytest.mark.parametrize("kits", [("K1",), ("K2",), ("K1", "K2"), ("K3",), ("K2-small",)])
def test_a_kit_never_raises_the_inlet_pressure(kits: tuple[str, ...], temperature_c: float) -> None:
    at = conditions(temperature_c)

    assert at_138(circuit(*kits, at=at)).pressure_abs_pa < at_138(circuit(at=at)).pressure_abs_pa


def test_order_of_filters_does_not_change_the_total() -> None:
    one = at_138(circuit("K1", "K2"))
    other = at_138(circuit("K2", "K1"))

    assert one.depression_pa == pytest.approx(other.depression_pa, rel=1e-12)


def test_two_equal_elements_in_parallel_are_one_of_twice_the_area_with_a_quarter_inertia() -> None:
    """The parallel rule of a pair: the viscous part halves, the inertial part quarters."""
    element = Element(
        id="one",
        role="secondary",
        media_resistance_per_m=3.2e9,
        face_area_m2=0.42,
        housing_inertial_per_m4=4e8,
    )
    pair = replace(element, face_area_m2=0.84, housing_inertial_per_m4=1e8)
    flow = 3.7e-5

    assert _loss(Line(parts=(pair,)), flow) == pytest.approx(
        _loss(Line(parts=(element,)), flow / 2.0), rel=1e-12
    )


def test_below_the_cloud_point_only_the_media_term_grows() -> None:
    cold = lower_fluid(reference.fuel_of("summer"), 268.15)
    line = Line(parts=(Pipe(id="pipe", length_m=3.0, bore_m=0.008),))
    without_wax = cold._replace(wax_multiplier=1.0)
    plan = merge_rows(lower_rows(line, {}))

    assert cold.wax_multiplier > 1.0
    assert line_loss(3e-5, plan, cold, 0) == line_loss(3e-5, plan, without_wax, 0)


def test_the_transition_band_holds_the_default_rule() -> None:
    at = conditions(60.0)
    pull = predict_pull(circuit("K2", rule="blend_colebrook", at=at), reference.PULL, "K2")

    assert np.all(pull.depression_low_pa <= pull.depression_pa)
    assert np.all(pull.depression_pa <= pull.depression_high_pa)
    assert np.max(pull.depression_high_pa - pull.depression_low_pa) > 500.0


def test_compiled_and_plain_forms_agree_to_rounding() -> None:
    """The plain function is the reference; callees stay compiled, so only this layer differs."""
    feed = circuit("K1", "K2")
    plain = getattr(line_loss, "py_func", line_loss)

    assert line_loss(3.7e-5, feed.plan, feed.fluid, 0) == pytest.approx(
        plain(3.7e-5, feed.plan, feed.fluid, 0), rel=1e-14
    )
