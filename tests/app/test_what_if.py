"""What if: the same figures as `predict`, all mistakes at once, sliders that end where they say."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from feedproof.app.predicting import (
    BASELINE,
    PredictedConfiguration,
    predict_case,
    predict_configuration,
)
from feedproof.app.what_if import PreparedCase, prepared_case
from feedproof.app.what_if_asked import WhatIf
from feedproof.app.what_if_result import WhatIfConfiguration
from feedproof.case.case import Case
from feedproof.core.errors import InputError
from feedproof.core.units import from_si
from feedproof.physics.atmosphere import standard_pressure
from feedproof.records.folder import CaseFolder
from feedproof.records.template import TEMPLATE
from feedproof.report import digits
from tests.app.test_network_case import made, network_text
from tests.feedline import reference

KITS = ("secondary", "primary")
ASKED = WhatIf(
    kits=KITS,
    fuel="winter",
    fuel_temperature_k=281.4,
    altitude_m=1850.0,
    fuel_level_fraction=0.2,
    road_pitch_rad=0.05,
    loading_share=0.7,
)
CHANGES = {
    "fuel": "winter",
    "fuel_temperature_k": 281.4,
    "ambient_pressure_abs_pa": float(standard_pressure(1850.0)),
    "fuel_level_fraction": 0.2,
    "road_pitch_rad": 0.05,
}


@pytest.fixture(scope="module")
def prepared(demo: SimpleNamespace) -> PreparedCase:
    """Prepare the demonstration."""
    return prepared_case(demo.folder.path)


@pytest.fixture(scope="module")
def branched(tmp_path_factory: pytest.TempPathFactory) -> PreparedCase:
    """Prepare the branched case, with tees, a lift pump and return led back."""
    return prepared_case(Path(made(tmp_path_factory.mktemp("branched") / "case", network_text())))


def masses(case: Case, share: float, kits: tuple[str, ...]) -> dict[str, float]:
    """Load every element that loads by the same share of its scale."""
    parts = [
        part for kit in ((), *((kit,) for kit in kits)) for part in case.line_with(kit).elements
    ]
    return {e.id: share * e.loading_scale_kg for e in parts if np.isfinite(e.loading_scale_kg)}


def agree(ours: WhatIfConfiguration, theirs: PredictedConfiguration) -> None:
    """Hold every figure that is printed against the one of `predict`, digit for digit."""
    assert ours.configuration == theirs.configuration
    assert ours.staircase == theirs.staircase
    assert ours.assessment == theirs.assessment
    assert ours.depression_low_pa == theirs.depression_low_pa
    assert ours.depression_high_pa == theirs.depression_high_pa
    assert ours.vapour_margin_pa == theirs.vapour_margin_pa
    assert ours.back_pressure_pa == theirs.back_pressure_pa
    every = (theirs.pull.speed_m_per_s.size - 1) // (ours.pull.speed_m_per_s.size - 1)
    for name in ("speed_m_per_s", "depression_pa", "pressure_abs_pa", "feed_margin"):
        mine, other = getattr(ours.pull, name), getattr(theirs.pull, name)[::every]
        assert mine == pytest.approx(other, rel=1e-9)
        assert [f"{each:.7g}" for each in mine] == [f"{each:.7g}" for each in other]


def test_figures_are_those_of_predict_under_the_same_conditions(prepared: PreparedCase) -> None:
    case = prepared.case
    changes = {**CHANGES, "captured_mass_kg": masses(case, 0.7, KITS)}

    answer = prepared.answer(ASKED)

    for ours, theirs in zip(
        answer.configurations,
        predict_case(case, kits=KITS, changes=changes).configurations,
        strict=True,
    ):
        agree(ours, theirs)


def test_without_a_wish_the_reference_is_answered(prepared: PreparedCase) -> None:
    prediction = predict_case(prepared.case, kits=("secondary",))

    answer = prepared.answer(WhatIf(kits=("secondary",)))

    assert answer.conditions == prediction.conditions
    assert answer.findings == prediction.findings
    for ours, theirs in zip(answer.configurations, prediction.configurations, strict=True):
        agree(ours, theirs)


def test_a_declared_worst_condition_is_answered_as_predict_does(prepared: PreparedCase) -> None:
    worst = [
        each
        for each in predict_case(prepared.case, kits=("secondary",)).worst
        if each.pull.conditions.name == prepared.case.worst[0].name
    ]

    found = prepared.answer(WhatIf(kits=("secondary",), base="worst-1")).configurations

    for ours, theirs in zip(found, worst, strict=True):
        assert ours.staircase.steps == theirs.staircase.steps
        assert ours.depression_high_pa == theirs.depression_high_pa


def test_a_network_is_answered_as_predict_does(branched: PreparedCase) -> None:
    kits = ("secondary", "badly_plumbed")
    answer = branched.answer(WhatIf(kits=kits))

    case = branched.case
    for ours in answer.configurations:
        own = () if ours.configuration == BASELINE else (ours.configuration,)
        agree(ours, predict_configuration(case, own, case.reference))


def test_the_reference_vehicle_is_answered_as_predict_does(demo: SimpleNamespace) -> None:
    case = replace(
        demo.case,
        vehicle=reference.vehicle(),
        kits={name: reference.kit(name) for name in ("K1", "K3")},
        fuels={name: reference.fuel_of(name) for name in ("summer", "winter")},
        pull=reference.PULL,
        reference=reference.conditions(),
        worst=(),
        runs=(),
        values={},
    )
    asked = WhatIf(kits=("K1", "K3"), fuel="winter", fuel_temperature_k=272.0, altitude_m=2500.0)
    pressure = float(standard_pressure(2500.0))
    changes = {
        "fuel": "winter",
        "fuel_temperature_k": 272.0,
        "ambient_pressure_abs_pa": pressure,
    }

    answer = PreparedCase(case, b"").answer(asked)

    for ours, theirs in zip(
        answer.configurations,
        predict_case(case, kits=("K1", "K3"), changes=changes).configurations,
        strict=True,
    ):
        agree(ours, theirs)


def test_the_reference_template_is_answered_as_predict_does(tmp_path: Path) -> None:
    text = TEMPLATE.read_text(encoding="utf-8").replace("@TODAY@", "2026-05-04")
    prepared = prepared_case(Path(made(tmp_path / "case", text)))
    kits = tuple(prepared.case.kits)[:2]

    answer = prepared.answer(WhatIf(kits=kits, fuel_temperature_k=333.15))

    changes = {"fuel_temperature_k": 333.15}
    for ours, theirs in zip(
        answer.configurations,
        predict_case(prepared.case, kits=kits, changes=changes).configurations,
        strict=True,
    ):
        agree(ours, theirs)


def test_while_dragging_only_ranges_are_left_out(prepared: PreparedCase) -> None:
    full, quick = prepared.answer(ASKED), prepared.answer(replace(ASKED, ranges=False))

    for one, other in zip(full.configurations, quick.configurations, strict=True):
        assert other.staircase == one.staircase
        assert other.pull.depression_pa == pytest.approx(one.pull.depression_pa, rel=1e-12)
        assert other.slack == pytest.approx(one.slack, rel=1e-12)
        assert other.depression_low_pa is None
        assert other.room_high_pa is None
        assert np.isnan(other.pull.depression_low_pa).all()


def test_dragging_in_a_network_solves_fewer_points_of_the_same_curve(
    branched: PreparedCase,
) -> None:
    full = branched.answer(WhatIf()).configurations[0].pull
    quick = branched.answer(WhatIf(ranges=False)).configurations[0].pull

    assert quick.speed_m_per_s.size < full.speed_m_per_s.size
    assert quick.depression_pa == pytest.approx(
        np.interp(quick.speed_m_per_s, full.speed_m_per_s, full.depression_pa), rel=2e-3
    )


def test_staircase_and_room_stand_at_the_speed_that_was_asked(prepared: PreparedCase) -> None:
    speed = 20.0
    answer = prepared.answer(WhatIf(kits=("secondary",), speed_m_per_s=speed))
    limit = prepared.case.vehicle.pump.maker_limit_abs_pa
    assert limit is not None

    for each in answer.configurations:
        at = np.interp(speed, each.pull.speed_m_per_s, each.pull.depression_pa)
        assert each.staircase.steps[-1].depression_after_pa == pytest.approx(at, rel=1e-3)
        assert each.depression_low_pa is not None
        assert each.room_low_pa is not None
        assert each.room_high_pa is not None
        assert each.depression_low_pa < each.state.depression_pa
        assert each.staircase.room_pa is not None
        assert each.room_low_pa < each.staircase.room_pa < each.room_high_pa


def test_the_binding_limit_is_that_of_least_slack_along_the_pull(prepared: PreparedCase) -> None:
    limit = prepared.case.vehicle.pump.maker_limit_abs_pa
    assert limit is not None

    high = prepared.answer(WhatIf(altitude_m=5000.0)).configurations[0]

    assert high.binding.value == "absolute_pressure"
    assert high.slack == pytest.approx(float(high.pull.pressure_abs_pa.min()) / limit - 1.0)
    assert high.binding_speed_m_per_s == pytest.approx(prepared.case.pull.stop_m_per_s)


def test_every_mistake_of_a_question_is_said_at_once(prepared: PreparedCase) -> None:
    asked = WhatIf(
        kits=("none", "secondary", "primary"),
        base="worst-9",
        fuel="water",
        fuel_temperature_k=1.0,
        altitude_m=float("nan"),
        speed_m_per_s=99.0,
    )

    with pytest.raises(InputError) as refused:
        prepared.answer(asked)

    places = [each.place for each in refused.value.findings]
    for place in ("kits", "base", "fuel", "fuel_temperature", "altitude", "speed"):
        assert place in places
    assert places.count("kits") == 2
    assert all(each.remedy for each in refused.value.findings)


def test_a_loading_is_refused_where_there_is_no_element_or_beyond_its_slider(
    prepared: PreparedCase,
) -> None:
    shares = {"strainer": 0.5, "secondary_element": 0.1, "factory_filter": 1.51}

    with pytest.raises(InputError) as refused:
        prepared.answer(WhatIf(loading_shares=shares))

    told = str(refused.value)
    assert "'strainer'" in told
    # Without the secondary kit its element is not in the line.
    assert "'secondary_element'" in told
    assert "loading.factory_filter" in told


def test_loading_one_element_loads_no_other(prepared: PreparedCase) -> None:
    asked = WhatIf(kits=("secondary",), loading_shares={"secondary_element": 1.0})

    bare, kit = prepared.answer(asked).configurations
    clean_bare, clean_kit = prepared.answer(WhatIf(kits=("secondary",))).configurations

    assert bare.state == clean_bare.state
    assert kit.state.depression_pa > clean_kit.state.depression_pa + 500.0


def test_every_end_of_every_slider_can_be_asked(prepared: PreparedCase) -> None:
    controls = prepared.controls(WhatIf(kits=KITS))

    for slider in controls.sliders:
        for value in (slider.least, slider.value, slider.most):
            answer = prepared.answer(WhatIf(kits=KITS, **{slider.name: value}))  # type: ignore[arg-type]
            assert not answer.refused
    for slider in controls.loadings:
        name = slider.name.removeprefix("loading.")
        for value in (slider.least, slider.value, slider.most):
            asked = (
                WhatIf(kits=KITS, loading_share=value)
                if slider.name == "loading_share"
                else WhatIf(kits=KITS, loading_shares={name: value})
            )
            assert not prepared.answer(asked).refused


def test_the_sliders_stand_where_the_question_stands(prepared: PreparedCase) -> None:
    own = prepared.case.reference

    named = {each.name: each for each in prepared.controls().sliders}
    asked = {each.name: each for each in prepared.controls(ASKED).sliders}

    assert named["fuel_temperature_k"].value == own.fuel_temperature_k
    altitude = standard_pressure(named["altitude_m"].value)
    assert altitude == pytest.approx(own.ambient_pressure_abs_pa, rel=1e-9)
    assert asked["altitude_m"].value == 1850.0
    assert all(each.least <= each.value <= each.most for each in (*named.values(), *asked.values()))
    winter = prepared.case.fuels["winter"].cloud_point_k
    assert asked["fuel_temperature_k"].least <= winter - 9.5
    assert from_si(named["altitude_m"].most, "m", "altitude") == 5000.0


def test_a_grade_can_be_tried_without_being_in_the_case(prepared: PreparedCase) -> None:
    answer = prepared.answer(WhatIf(fuel="en590_class_f"))

    assert answer.conditions.fuel == "en590_class_f"
    assert "en590_class_f" not in prepared.case.fuels
    # The ranges of the grade's properties are in the range of the figure.
    own = prepared.answer(WhatIf()).configurations[0]
    found = answer.configurations[0]
    assert found.depression_high_pa is not None
    assert own.depression_high_pa is not None
    assert found.depression_high_pa - found.state.depression_pa > (
        own.depression_high_pa - own.state.depression_pa
    )


def test_a_blend_lies_between_its_two_fuels(prepared: PreparedCase) -> None:
    def depression(fuel: str, share: float = 0.0) -> float:
        asked = WhatIf(
            fuel=fuel,
            blend_with="en15940_class_a" if share else None,
            blend_fraction=share,
            fuel_temperature_k=283.15,
        )
        return prepared.answer(asked).configurations[0].state.depression_pa

    first, half, second = (
        depression("en14214"),
        depression("en14214", 0.5),
        depression("en15940_class_a"),
    )

    assert min(first, second) < half < max(first, second)


def test_a_fuel_blended_with_itself_is_refused(prepared: PreparedCase) -> None:
    with pytest.raises(InputError, match="blend_with"):
        prepared.answer(WhatIf(fuel="b7", blend_with="b7", blend_fraction=0.2))


def test_a_kit_without_a_state_does_not_take_the_others_answers(
    branched: PreparedCase, monkeypatch: pytest.MonkeyPatch
) -> None:
    from feedproof.app import what_if

    right = what_if.solved

    def failing(case: Case, kits: tuple[str, ...], *rest: object, **more: object) -> object:
        if kits == ("badly_plumbed",):
            raise InputError.at("small_tails", "no steady state.", "Make it firmer.")
        return right(case, kits, *rest, **more)  # type: ignore[arg-type]

    monkeypatch.setattr(what_if, "solved", failing)

    answer = branched.answer(WhatIf(kits=("badly_plumbed", "secondary"), altitude_m=77.0))

    assert [each.configuration for each in answer.configurations] == ["baseline", "secondary"]
    assert answer.configurations[1].place == 2
    assert [each.configuration for each in answer.refused] == ["badly_plumbed"]
    assert answer.refused[0].findings[0].place == "small_tails"


def test_a_changed_document_is_prepared_anew(demo: SimpleNamespace, tmp_path: Path) -> None:
    folder = CaseFolder(demo.folder.path).copy_to(tmp_path / "case")
    first = prepared_case(folder.path)
    assert prepared_case(folder.path) is first

    document = folder.path / "case.toml"
    text = document.read_text(encoding="utf-8")
    document.write_text(
        text.replace("steel line along the frame", "line of steel"), encoding="utf-8"
    )

    second = prepared_case(folder.path)
    assert second is not first
    assert any(part.title == "line of steel" for part in second.case.vehicle.line.parts)


def test_the_order_of_the_kits_gives_their_places_even_from_what_is_kept(
    prepared: PreparedCase,
) -> None:
    one = prepared.answer(WhatIf(kits=KITS)).configurations
    other = prepared.answer(WhatIf(kits=KITS[::-1])).configurations

    assert [each.place for each in one] == [0, 1, 2]
    assert [(each.configuration, each.place) for each in other[1:]] == [
        ("primary", 1),
        ("secondary", 2),
    ]
    words = digits.kpa(one[1].state.depression_pa)
    assert digits.kpa(other[2].state.depression_pa) == words


def test_the_legs_of_a_network_hold_every_part_once_with_flows_that_balance(
    branched: PreparedCase,
) -> None:
    found = branched.answer(WhatIf(kits=("badly_plumbed",))).configurations[1]
    line = branched.case.line_with(("badly_plumbed",))
    parts = [step.part.id for leg in found.legs for step in leg.steps]
    back = branched.case.vehicle.return_line

    assert sorted(parts) == sorted(part.id for part in (*line.parts, *back.parts))
    assert [(leg.first, leg.second) for leg in found.legs if not leg.on_way] == [
        ("split", "join"),
        ("return", "tank"),
    ]
    way = sum(step.loss_pa for leg in found.legs if leg.on_way for step in leg.steps)
    steps = [step for step in found.staircase.steps if not step.part_id.startswith(".")]
    assert way == pytest.approx(sum(step.loss_pa for step in steps), rel=1e-9)
    shares = {step.part.id: step.flow_fraction for leg in found.legs for step in leg.steps}
    assert shares["factory_filter"] + shares["small_filter"] == pytest.approx(1.0, rel=1e-6)
    split = {leg.first: leg for leg in found.legs if (leg.first, leg.second) == ("split", "join")}
    beside = next(leg for leg in found.legs if not leg.on_way and leg.first == "split")
    on_way = (
        split["split"]
        if split["split"].on_way
        else next(leg for leg in found.legs if leg.on_way and leg.first == "split")
    )
    # Both branches lie between the same two nodes.
    assert sum(step.loss_pa for step in beside.steps) == pytest.approx(
        sum(step.loss_pa for step in on_way.steps), rel=1e-6
    )


def test_two_blends_of_one_name_are_two_fuels(prepared: PreparedCase) -> None:
    def depression(share: float) -> float:
        asked = WhatIf(fuel="en14214", blend_with="en15940_class_a", blend_fraction=share)
        return prepared.answer(asked).configurations[0].state.depression_pa

    assert depression(0.300001) != depression(0.300004)


def test_the_ends_of_the_pull_can_be_asked_in_kilometres_an_hour(prepared: PreparedCase) -> None:
    pull = prepared.case.pull
    for end in (pull.start_m_per_s, pull.stop_m_per_s):
        for nudge in (-1e-12, 0.0, 1e-12):
            assert prepared.answer(WhatIf(speed_m_per_s=end * (1.0 + nudge))).configurations
    with pytest.raises(InputError, match="speed"):
        prepared.answer(WhatIf(speed_m_per_s=1.001 * pull.stop_m_per_s))
