"""
Promise: `fit` finds what is planted in the demonstration and names what it cannot know.

It absorbs no wrong description, and foresees what the demonstration's own truth does where nobody
tested.

Source: `feedproof.scenario.true_vehicle`, whose laws are its own and not the package's (viscosity
by Vogel, friction by Swamee and Jain, fittings by a power mean, filling by a Hill curve).
"""

import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import jsonschema
import numpy as np
import pytest

from feedproof.app.cli import main
from feedproof.app.configurations import circuit_for, top_state
from feedproof.app.fit_result import LineFit
from feedproof.app.fit_text import fit_text
from feedproof.app.fitting import fit_case, fitted_case
from feedproof.app.schemas import schema
from feedproof.case.case import Case
from feedproof.case.vehicle import Topology
from feedproof.core.errors import MissingError
from feedproof.evidence.fit.disagreement import Check, Standing
from feedproof.scenario.true_vehicle import RPM_PER_KMH, feed_state, kit_loss

KITS = {"baseline": ((), "A"), "secondary": (("secondary",), "B"),
        "secondary+primary": (("secondary", "primary"), "C")}  # fmt: skip


@pytest.fixture(scope="module")
def fit(demo: SimpleNamespace) -> LineFit:
    """Fit the demonstration once."""
    return fit_case(demo.case, demo.logs, "0" * 64)


def depressions(checks: tuple[Check, ...], configuration: str = "baseline") -> list[Check]:
    """Give the checks of one configuration's depression."""
    return [
        check
        for check in checks
        if check.measure == "depression" and check.configuration == configuration
    ]


def refitted(demo: SimpleNamespace, case: Case) -> LineFit:
    """Fit a changed case."""
    return fit_case(case, demo.logs, "0" * 64)


def test_the_planted_bias_of_the_line_is_found_and_then_gone(fit: LineFit) -> None:
    """The true line is 0.8 to 1.2 kPa tighter than the case says, 6 to 9 %."""
    before, after = depressions(fit.before), depressions(fit.after)

    assert len(before) == len(after) == 5
    for check in before:
        assert 700.0 < check.difference < 1300.0
        assert check.difference > 2.0 * check.runs_u
        assert check.standing is not Standing.WITHIN_RUNS
    for check in after:
        assert abs(check.difference) < 250.0
        assert check.standing is Standing.WITHIN_RUNS
    assert fit.after_overall.agrees
    assert "kPa (" in fit.bias
    assert not fit.misdescribed


def test_where_nobody_tested_the_truth_lies_inside_and_the_interval_is_narrower(
    demo: SimpleNamespace,
) -> None:
    """36 conditions: cold and hot, sea level to 3600 m; 5 to 95 %, so few may lie outside."""
    worst = tuple(
        replace(
            demo.case.reference,
            fuel_temperature_k=273.15 + celsius,
            ambient_pressure_abs_pa=air,
            fuel_level_fraction=0.3,
            name=f"{celsius} {air}",
        )
        for celsius in (5, 20, 45, 60)
        for air in (101.3e3, 80e3, 65e3)
    )
    found = refitted(demo, replace(demo.case, worst=worst))
    outside, widths = 0, []
    for each in found.foreseen:
        if each.configuration not in KITS or each.condition == "reference":
            continue
        celsius, air = (float(part) for part in each.condition.split(" "))
        letter = KITS[each.configuration][1]
        rpm = np.array([115.0 * RPM_PER_KMH])
        truth = air - float(feed_state(rpm, letter, celsius, 0.3, air).depression_pa[0])
        outside += not each.fitted.low <= truth <= each.fitted.high
        widths.append(each.fitted.width / each.unfitted.width)

    assert len(widths) == 36
    assert outside <= 3
    assert np.mean(widths) < 0.45


def test_what_the_runs_cannot_teach_is_named(fit: LineFit) -> None:
    words = {one.name: one for one in fit.parameters}

    assert words["line.inertial"].word == "learned"
    for name in ("fuel.winter.viscosity", "element.factory_filter.loading"):
        assert words[name].word == "not learned"
        assert words[name].ratio == 1.0
        assert words[name].best == 1.0
    assert words["gauge"].word == "only together"
    assert "tank.height" in words["gauge"].partners
    assert "viscosity of fuel winter" in fit.not_learned
    assert "fittings" in fit.learned
    text = fit_text(fit).splitlines()
    assert any("The verb prove judges the worst conditions" in line for line in text)
    assert text[0] == fit.learned
    assert text[1] == fit.not_learned


def test_a_kit_that_is_described_wrongly_is_named_and_not_absorbed(
    demo: SimpleNamespace, fit: LineFit
) -> None:
    """Fittings of 8.5 mm written down as 4.6 mm: an inertial loss 11.7 times the true one."""
    kit = demo.case.kits["secondary"]
    (insertion,) = kit.insertions
    parts = tuple(
        replace(part, bore_m=4.6e-3) if part.id == "secondary_fittings" else part
        for part in insertion.parts
    )
    kit = replace(kit, insertions=(replace(insertion, parts=parts),))
    case = replace(demo.case, kits={**demo.case.kits, "secondary": kit})
    found = refitted(demo, case)

    assert [each.kit for each in found.misdescribed] == ["secondary"]
    assert found.misdescribed[0].check.difference < -3000.0
    assert "less" in found.misdescribed[0].sentence
    line = {one.name: one for one in found.parameters}
    for one in fit.parameters:
        if one.name.startswith(("line.", "gauge", "tank")):
            assert line[one.name].moved == pytest.approx(one.moved, abs=0.4), one.name
    withheld = [each for each in found.foreseen if each.withheld]
    assert {each.configuration for each in withheld} == {"secondary", "secondary+primary"}
    assert "withheld" in fit_text(found)
    assert any("secondary is not as described" in str(each) for each in found.findings)


def test_runs_beyond_what_both_allow_are_named_with_their_direction(demo: SimpleNamespace) -> None:
    """A steel line of 6 mm in place of 8: far tighter than described, and no prior allows it."""
    line = demo.case.vehicle.line
    parts = tuple(
        replace(part, bore_m=12e-3, length_m=0.5) if part.id == "steel_line" else
        replace(part, turbulent_coefficient=0.1) if part.id in ("quick_connectors", "banjos")
        else part
        for part in line.parts
    )  # fmt: skip
    vehicle = replace(demo.case.vehicle, line=replace(line, parts=parts))
    found = refitted(demo, replace(demo.case, vehicle=vehicle))
    beyond = [check for check in depressions(found.before) if check.standing is Standing.BEYOND]

    assert len(beyond) == 5
    assert all(check.difference > 3000.0 for check in beyond)
    assert any(
        "more restriction than described, beyond" in finding.message for finding in found.findings
    )


def test_each_kit_adds_what_the_truth_adds(fit: LineFit) -> None:
    letters = {"secondary": "B", "secondary+primary": "C", "badly_plumbed": "D",
               "secondary@loaded": "L"}  # fmt: skip
    assert {each.configuration for each in fit.elements} == set(letters)
    for each in fit.elements:
        flow = np.array([each.flow_m3_per_s])
        letter = letters[each.configuration]
        truth = float(kit_loss(flow, each.fuel_temperature_k - 273.15, letter)[0])

        assert each.added_pa - each.expanded_u_pa <= truth <= each.added_pa + each.expanded_u_pa
        assert each.expanded_u_pa < max(0.35 * truth, 800.0)
        assert f"{each.added_pa / 1e3:.1f} ±" in each.sentence


def test_the_fitted_case_answers_as_the_fit_does(demo: SimpleNamespace, fit: LineFit) -> None:
    case = fitted_case(demo.case, fit)
    for each in fit.foreseen:
        if each.condition != "reference" or each.configuration not in KITS:
            continue
        state, _ = top_state(case, circuit_for(case, KITS[each.configuration][0], case.reference))

        assert each.fitted.low < state.pressure_abs_pa < each.fitted.high
    assert case.vehicle.line.parts[0].id == demo.case.vehicle.line.parts[0].id


def test_a_sample_worth_enough_is_drawn_and_kept_only_where_asked(
    demo: SimpleNamespace, fit: LineFit
) -> None:
    assert fit.sample.effective > 400.0
    assert fit.sample.r_hat < 1.02
    assert not fit.draws
    kept = fit_case(demo.case, demo.logs, "0" * 64, keep=True)
    assert {len(draws) for draws in kept.draws.values()} == {1000}
    low, high = np.quantile(kept.draws["line.inertial"], [0.05, 0.95])
    told = next(one for one in kept.parameters if one.name == "line.inertial").after
    assert (low, high) == pytest.approx((told.low, told.high), abs=0.03)


def test_the_order_of_the_runs_changes_nothing_that_is_printed(
    demo: SimpleNamespace, fit: LineFit
) -> None:
    found = refitted(demo, replace(demo.case, runs=demo.case.runs[::-1]))
    best = {one.name: one.best for one in found.parameters}

    for one in fit.parameters:
        assert best[one.name] == pytest.approx(one.best, rel=1e-4, abs=1e-4), one.name


def test_a_constant_error_of_the_gauge_moves_no_factor_far(
    demo: SimpleNamespace, fit: LineFit
) -> None:
    """150 Pa in all zeros: within the gauge's own doubt, taken up by gauge and height."""
    runs = tuple(
        replace(
            run,
            zero_before_pa=run.zero_before_pa - 150.0,
            zero_after_pa=run.zero_after_pa - 150.0,
        )
        for run in demo.case.runs
    )
    found = refitted(demo, replace(demo.case, runs=runs))
    moved = {one.name: one for one in found.parameters}
    for one in fit.parameters:
        if one.name.startswith("kit."):
            assert moved[one.name].moved == pytest.approx(one.moved, abs=0.1), one.name
    taken = sum(
        moved[name].best * scale - next(o for o in fit.parameters if o.name == name).best * scale
        for name, scale in (("gauge", 1.0), ("tank.height", 823.0 * 9.80665))
    )
    assert 60.0 < taken < 160.0


def test_a_case_without_runs_is_told_what_to_do(demo: SimpleNamespace) -> None:
    with pytest.raises(MissingError, match="no run to fit"):
        refitted(demo, replace(demo.case, runs=()))


def test_the_command_keeps_its_document_and_its_schema(
    demo: SimpleNamespace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = demo.folder.copy_to(tmp_path / "case")

    code = main(["fit", str(folder.path), "--altitude", "3000m", "--fuel-temp", "5degC", "--json"])
    document = json.loads(capsys.readouterr().out)
    assert code == 0
    jsonschema.validate(document, schema("fit"))
    (kept,) = folder.results.of_kind("fit")
    assert folder.results.read(kept)["content"] == document
    asked = [each for each in document["foreseen"] if each["condition"] == "as asked"]
    assert {each["configuration"] for each in asked} >= set(KITS)
    assert all(each["beyond_tests"] for each in asked)
    assert main(["fit", str(folder.path), "--altitude", "3000m", "--fuel-temp", "5degC"]) == 0
    assert capsys.readouterr().out.startswith("Learned from these")
    # The same fit is kept once: only the time of computing differs.
    assert folder.results.of_kind("fit") == (kept,)


def test_what_cannot_be_asked_is_refused(
    demo: SimpleNamespace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = demo.folder.copy_to(tmp_path / "case")

    assert main(["fit", str(folder.path), "--fuel", "none"]) == 2
    assert "--fuel" in capsys.readouterr().err


def test_where_no_described_line_could_read_so_nothing_is_concluded(demo: SimpleNamespace) -> None:
    """A pump that recirculates inside draws a third less: the runs contradict it."""
    pump = replace(demo.case.vehicle.pump, topology=Topology.INTERNAL_RECIRCULATION)
    runs = tuple(run for run in demo.case.runs if run.session == "secondary")
    case = replace(demo.case, vehicle=replace(demo.case.vehicle, pump=pump), runs=runs)
    found = refitted(demo, case)

    assert found.caution
    assert fit_text(found).splitlines()[2] == found.caution
    assert all(each.withheld for each in found.foreseen if each.configuration == "secondary")
    assert any("line.inertial went" in finding.message for finding in found.findings)


def test_a_line_that_is_no_plain_chain_is_fitted_too_and_says_how(
    demo: SimpleNamespace, fit: LineFit
) -> None:
    """A hose that would collapse far beyond any depression here: the same line, marched."""
    line = demo.case.vehicle.line
    parts = tuple(
        replace(part, collapse_depression_pa=70e3) if part.id == "rubber_hoses" else part
        for part in line.parts
    )
    runs = tuple(run for run in demo.case.runs if run.session in ("secondary", "both"))
    plain = refitted(demo, replace(demo.case, runs=runs))
    vehicle = replace(demo.case.vehicle, line=replace(line, parts=parts))
    found = refitted(demo, replace(demo.case, vehicle=vehicle, runs=runs))

    assert any("no plain chain" in finding.message for finding in found.findings)
    for one, other in zip(found.parameters, plain.parameters, strict=True):
        assert one.moved == pytest.approx(other.moved, abs=0.05), one.name
        assert one.ratio == pytest.approx(other.ratio, abs=0.02), one.name
    assert len(fit.parameters) > len(found.parameters)
