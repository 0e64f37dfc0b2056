"""
The main job on the demonstration case: verdicts against the hidden truth, and ways to have none.

The truth was planted by a generator with its own physics that does not know this package; only
tests read it.  All data are invented.
"""

import json
import math
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.app.configurations import circuit_for
from feedproof.app.documents import to_document
from feedproof.app.predicting import predict_case
from feedproof.app.publishing import build_publication
from feedproof.app.schemas import schema
from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer, Release
from feedproof.case.run import Channel, Role
from feedproof.feedline.pull import engine_speeds
from feedproof.report.page import page_html
from feedproof.report.paper import paper_pdf
from tests.app.conftest import judged, outcome_of, verdict_of

TRUTH = json.loads((Path(__file__).parents[1] / "demo" / "truth.json").read_text(encoding="utf-8"))
PLANTED = {each["session"]: each for each in TRUTH["comparisons"]}
SESSIONS = {
    "secondary": "secondary",
    "secondary+primary": "both",
    "badly_plumbed": "bad",
    "secondary@loaded": "loaded",
    "control_orifice": "control",
}


@pytest.mark.parametrize("configuration", ["secondary", "secondary+primary"])
@pytest.mark.parametrize("measure", [Measure.WHEEL_POWER, Measure.CAUGHT_RETURN])
def test_a_harmless_kit_shows_no_loss_within_the_margin(demo, configuration, measure) -> None:
    answer = outcome_of(demo.proof, configuration, measure).answer

    assert answer in (Answer.NO_LOSS_WITHIN, Answer.SMALL_LOSS)


def test_the_badly_plumbed_kit_is_a_loss_in_power_return_and_rail_pressure(demo) -> None:
    verdict = verdict_of(demo.proof, "badly_plumbed")

    assert verdict.release is Release.DO_NOT_RELEASE
    for measure in (Measure.WHEEL_POWER, Measure.CAUGHT_RETURN, Measure.RAIL_PRESSURE):
        answer = outcome_of(demo.proof, "badly_plumbed", measure).answer
        assert answer is Answer.LOSS_BEYOND, measure


def test_the_positive_control_is_called_a_loss(demo) -> None:
    verdict = verdict_of(demo.proof, "control_orifice")
    answer = outcome_of(demo.proof, "control_orifice", Measure.CAUGHT_RETURN).answer

    assert answer in (Answer.LOSS_BEYOND, Answer.LOSS_UNSETTLED, Answer.SMALL_LOSS)
    assert verdict.release is Release.CONTROL_FOUND


@pytest.mark.parametrize("configuration", SESSIONS)
@pytest.mark.parametrize(
    ("measure", "key"),
    [
        (Measure.WHEEL_POWER, "wheel_power_loss_log_percent"),
        (Measure.CAUGHT_RETURN, "caught_return_loss_log_percent"),
    ],
)
def test_intervals_hold_the_planted_loss(demo, configuration, measure, key) -> None:
    """
    Two one-sided 95 % limits hold the truth in 90 of 100; ten intervals of one seed are asked here.

    The bad session ran cooler than the reference, where its true loss of power is about a
    log-percent larger than the planted figure; power is not brought to reference, so only the
    upper limit is asked there.
    """
    outcome = outcome_of(demo.proof, configuration, measure)
    truth = PLANTED[SESSIONS[configuration]][key]
    cooler = configuration == "badly_plumbed" and measure is Measure.WHEEL_POWER

    assert truth <= outcome.upper
    assert cooler or outcome.lower <= truth


@pytest.mark.parametrize("configuration", ["secondary", "secondary+primary", "secondary@loaded"])
def test_added_depression_meets_the_planted_one(demo, configuration) -> None:
    outcome = outcome_of(demo.proof, configuration, Measure.INLET_DEPRESSION)
    truth = 1e3 * PLANTED[SESSIONS[configuration]]["added_depression_kpa"]

    assert abs(outcome.figures["added_pa"] - truth) <= outcome.figures["added_expanded_pa"]
    assert outcome.figures["added_expanded_pa"] < 1000.0


def test_the_planted_bias_of_the_line_is_reported(demo) -> None:
    """The true steel line is narrower than described; every baseline says so."""
    base = [each for each in demo.proof.biases if each.configuration == "baseline"]

    assert len(base) == len(SESSIONS)
    assert all(each.bias_pa > 500.0 for each in base)
    assert any("more than predicted" in each.sentence for each in base)


def test_stuck_and_saturated_runs_are_named_and_support_nothing(demo) -> None:
    runs = {run.number: run for run in demo.proof.runs}
    stuck = next(each for each in TRUTH["faults"] if each["fault"] == "stuck")["run"]
    saturated = [each["run"] for each in TRUTH["faults"] if each.get("samples_in_pull", 0) > 20]

    assert any("STUCK" in finding.message for finding in runs[stuck].findings)
    assert saturated
    for number in saturated:
        assert runs[number].depression_censored
    outcome = outcome_of(demo.proof, "badly_plumbed", Measure.INLET_DEPRESSION)
    assert outcome.answer is not Answer.WITHIN_LIMIT
    assert "censored_lower_bound" in outcome.tags
    assert outcome.upper is None


def test_a_kit_whose_sensor_was_always_at_its_ceiling_is_no_pass_and_says_so(demo) -> None:
    runs = tuple(run for run in demo.case.runs if run.number not in (19,))
    proof = judged(replace(demo.case, runs=runs), demo.logs)
    outcome = outcome_of(proof, "badly_plumbed", Measure.INLET_DEPRESSION)

    assert outcome.answer in (Answer.CANNOT_TELL, Answer.BEYOND_LIMIT)
    assert any("at its ceiling in runs 15, 17" in reason for reason in outcome.reasons)


def test_every_run_names_its_steps(demo) -> None:
    names = {"pull window", "comparison band", "lag"}

    for run in demo.proof.runs:
        assert names <= {step.name for step in run.steps}


def test_one_pair_alone_cannot_tell_or_leans_openly(demo) -> None:
    runs = tuple(run for run in demo.case.runs if run.number in (2, 3))
    proof = judged(replace(demo.case, runs=runs), demo.logs)
    for measure in (Measure.WHEEL_POWER, Measure.CAUGHT_RETURN):
        outcome = outcome_of(proof, "secondary", measure)
        leans = "rests_on_declared_repeatability" in outcome.tags

        assert leans or outcome.answer in (Answer.CANNOT_TELL, Answer.REFUSED)


def test_one_pair_without_a_declared_repeatability_never_passes(demo) -> None:
    runs = tuple(run for run in demo.case.runs if run.number in (2, 3))
    proof = judged(replace(demo.case, runs=runs, repeatability={}), demo.logs)

    assert verdict_of(proof, "secondary").release is Release.CANNOT_SAY


def test_another_factory_element_is_refused(demo) -> None:
    runs = tuple(
        replace(run, elements={**run.elements, "factory_filter": "F-99"})
        if run.number == 3
        else run
        for run in demo.case.runs
    )
    proof = judged(replace(demo.case, runs=runs), demo.logs)
    answers = {each.measure: each.answer for each in verdict_of(proof, "secondary").outcomes}

    assert answers[Measure.WHEEL_POWER] is Answer.REFUSED
    assert answers[Measure.INLET_DEPRESSION] is Answer.REFUSED


@pytest.mark.parametrize("declared", [None, datetime(2026, 9, 20, tzinfo=UTC)])
def test_margins_declared_late_or_never_make_the_verdict_void(demo, declared) -> None:
    case = replace(demo.case, margins=replace(demo.case.margins, declared=declared))
    proof = judged(case, demo.logs)

    for measure in (Measure.WHEEL_POWER, Measure.CAUGHT_RETURN):
        assert outcome_of(proof, "secondary", measure).answer is Answer.VOID
    assert verdict_of(proof, "secondary").release is Release.CANNOT_SAY


def test_without_a_makers_limit_no_limit_is_known_and_nothing_is_released(demo) -> None:
    pump = replace(demo.case.vehicle.pump, maker_limit_abs_pa=None)
    case = replace(demo.case, vehicle=replace(demo.case.vehicle, pump=pump))
    proof = judged(case, demo.logs)
    answer = outcome_of(proof, "secondary", Measure.INLET_DEPRESSION).answer

    assert answer is Answer.NO_LIMIT_KNOWN
    assert verdict_of(proof, "secondary").release is Release.CANNOT_SAY


def test_an_excluded_run_is_not_used_and_stays_named(demo) -> None:
    runs = tuple(
        replace(run, excluded="pedal lifted early") if run.number == 4 else run
        for run in demo.case.runs
    )
    proof = judged(replace(demo.case, runs=runs), demo.logs)
    outcome = outcome_of(proof, "secondary", Measure.WHEEL_POWER)

    assert 4 not in outcome.runs["baseline"]
    assert any("pedal lifted early" in reason for reason in outcome.reasons)


def test_the_loaded_element_is_judged_apart(demo) -> None:
    loaded = verdict_of(demo.proof, "secondary@loaded")
    clean = verdict_of(demo.proof, "secondary")

    assert "loaded element" not in loaded.not_tested
    assert "loaded element" in clean.not_tested
    assert {run.role for run in demo.case.runs} >= {Role.LOADED, Role.CONTROL, Role.WARM_UP}


def test_the_same_runs_give_the_same_digits(demo) -> None:
    again = to_document(judged(demo.case, demo.logs))
    first = to_document(demo.proof)
    for document in (first, again):
        document.pop("computed")
        document.pop("case_sha256")

    assert first == again


def test_the_order_of_runs_and_logs_in_the_document_changes_nothing(demo) -> None:
    logs = {number: list(reversed(each)) for number, each in reversed(demo.logs.items())}
    again = judged(replace(demo.case, runs=tuple(reversed(demo.case.runs))), logs)

    for verdict in demo.proof.verdicts:
        other = verdict_of(again, verdict.configuration)
        assert [o.answer for o in other.outcomes] == [o.answer for o in verdict.outcomes]
        assert [o.estimate for o in other.outcomes] == pytest.approx(
            [o.estimate for o in verdict.outcomes], rel=1e-9, nan_ok=True
        )


def _without_channel(demo, channel):
    """Take a channel out of every log."""
    return {
        number: [
            replace(log, values={k: v for k, v in log.values.items() if k is not channel})
            for log in logs
        ]
        for number, logs in demo.logs.items()
    }


def test_without_a_fuel_temperature_the_comparison_is_refused_and_nothing_breaks(demo) -> None:
    proof = judged(demo.case, _without_channel(demo, Channel.FUEL_TEMPERATURE))

    answer = outcome_of(proof, "secondary", Measure.INLET_DEPRESSION).answer
    assert answer is Answer.REFUSED
    assert verdict_of(proof, "secondary").release is Release.CANNOT_SAY


def test_kit_runs_with_much_warmer_fuel_are_refused_for_depression(demo) -> None:
    kit_runs = {run.number for run in demo.case.runs if run.kits}
    logs = {
        number: [
            replace(
                log,
                values={
                    k: v + 25.0 if k is Channel.FUEL_TEMPERATURE and number in kit_runs else v
                    for k, v in log.values.items()
                },
            )
            for log in each
        ]
        for number, each in demo.logs.items()
    }
    outcome = outcome_of(judged(demo.case, logs), "secondary", Measure.INLET_DEPRESSION)

    assert outcome.answer is Answer.REFUSED
    assert any("refused" in reason for reason in outcome.reasons)


def test_a_gauge_without_a_class_never_shows_that_a_limit_holds(demo) -> None:
    bare = {
        name: replace(instrument, class_percent=None)
        for name, instrument in demo.case.instruments.items()
    }
    proof = judged(replace(demo.case, instruments=bare), demo.logs)

    answer = outcome_of(proof, "secondary", Measure.INLET_DEPRESSION).answer
    assert answer is Answer.CANNOT_TELL
    assert verdict_of(proof, "secondary").release is Release.CANNOT_SAY


def test_a_refused_measure_claims_nothing_of_the_curve(demo) -> None:
    runs = tuple(
        replace(run, elements={**run.elements, "factory_filter": "F-99"})
        if run.number == 3
        else run
        for run in demo.case.runs
    )
    proof = judged(replace(demo.case, runs=runs), demo.logs)

    assert not [claim for claim in proof.claims if claim.configuration == "secondary"]


def test_kit_runs_in_other_air_are_refused_for_power(demo) -> None:
    runs = tuple(
        replace(run, ambient_pressure_abs_pa=70e3) if run.kits else run for run in demo.case.runs
    )
    proof = judged(replace(demo.case, runs=runs), demo.logs)

    assert outcome_of(proof, "secondary", Measure.WHEEL_POWER).answer is Answer.REFUSED


def test_an_unrecorded_factory_element_is_a_condition(demo) -> None:
    runs = tuple(replace(run, elements={}) if run.kits else run for run in demo.case.runs)
    verdict = verdict_of(judged(replace(demo.case, runs=runs), demo.logs), "secondary")

    assert verdict.release is Release.RELEASE_WITH_CONDITIONS


def test_the_reading_at_the_tests_conditions_does_not_move_with_the_reference(demo) -> None:
    warm = replace(demo.case, reference=replace(demo.case.reference, fuel_temperature_k=328.15))
    one = outcome_of(demo.proof, "secondary", Measure.INLET_DEPRESSION)
    other = outcome_of(judged(warm, demo.logs), "secondary", Measure.INLET_DEPRESSION)

    if other.answer is not Answer.REFUSED:
        assert other.figures["inlet_abs_pa"] == pytest.approx(one.figures["inlet_abs_pa"], abs=1.0)


def test_saturated_runs_alone_keep_a_kit_from_passing(demo) -> None:
    """Without declared worst conditions nothing but the ceiling speaks against the kit."""
    proof = judged(replace(demo.case, worst=()), demo.logs)

    answer = outcome_of(proof, "badly_plumbed", Measure.INLET_DEPRESSION).answer
    assert answer in (Answer.CANNOT_TELL, Answer.BEYOND_LIMIT)


def test_a_line_that_is_not_as_described_keeps_a_kit_from_passing_on_predictions(demo) -> None:
    """The description is made wrong: a line of twice the bore without ranges."""
    wide = tuple(
        replace(part, bore_m=2.0 * part.bore_m) if part.id == "steel_line" else part
        for part in demo.case.vehicle.line.parts
    )
    line = replace(demo.case.vehicle.line, parts=wide)
    case = replace(demo.case, vehicle=replace(demo.case.vehicle, line=line), values={})
    outcome = outcome_of(judged(case, demo.logs), "secondary", Measure.INLET_DEPRESSION)

    assert outcome.answer is Answer.CANNOT_TELL
    assert "restricts otherwise than described" in outcome.reasons[0]


def test_measured_points_stand_beside_staircases_of_the_same_speed(demo) -> None:
    """The true line is narrower than described: measured is below predicted at one speed only."""
    publication = build_publication(demo.case, predict_case(demo.case), demo.proof, ())
    stairs = {each.configuration: each for each in publication.staircases}
    measured = {each.configuration: each for each in publication.measured_inlets}
    run = demo.proof.runs[0]
    circuit = circuit_for(demo.case, (), demo.case.reference)
    speed = engine_speeds(circuit, run.speed_m_per_s[-1:])[0]

    assert stairs["baseline"].engine_speed_rev_per_s == pytest.approx(speed)
    for name in ("baseline", "secondary"):
        predicted = stairs[name].steps[-1].depression_after_pa
        assert 300.0 < measured[name].depression_pa - predicted < 2000.0


def test_without_any_repeatability_a_report_is_still_drawn(demo) -> None:
    runs = tuple(run for run in demo.case.runs if run.number in (2, 3))
    case = replace(demo.case, runs=runs, repeatability={})
    proof = judged(case, demo.logs)
    publication = build_publication(case, predict_case(case), proof, ())

    assert "<svg" in page_html(publication)
    assert paper_pdf(publication).startswith(b"%PDF")


def test_an_absolute_sensor_at_its_low_end_is_saturated_like_any_other(demo) -> None:
    """The same runs in one air, as an absolute sensor would log them: the same runs censored."""
    air = 91.0e3

    def as_absolute(log):
        values = dict(log.values)
        if Channel.INLET_DEPRESSION in values:
            values[Channel.INLET_PRESSURE_ABS] = air - values.pop(Channel.INLET_DEPRESSION)
        return replace(log, values=values)

    def turned(entry):
        if entry.channel is not Channel.INLET_DEPRESSION:
            return entry
        return replace(
            entry,
            channel=Channel.INLET_PRESSURE_ABS,
            floor=air - entry.ceiling,
            ceiling=air - entry.floor,
        )

    logs = {number: [as_absolute(log) for log in each] for number, each in demo.logs.items()}
    logger = demo.case.instruments["logger"]
    logger = replace(logger, channels=tuple(turned(entry) for entry in logger.channels))
    case = replace(
        demo.case,
        instruments={**demo.case.instruments, "logger": logger},
        runs=tuple(replace(run, ambient_pressure_abs_pa=air) for run in demo.case.runs),
    )
    proof = judged(case, logs)

    censored = {run.number for run in proof.runs if run.depression_censored}
    assert censored == {run.number for run in demo.proof.runs if run.depression_censored}
    answer = outcome_of(proof, "badly_plumbed", Measure.INLET_DEPRESSION).answer
    assert answer is not Answer.WITHIN_LIMIT


def test_a_loss_predicted_near_nothing_is_not_printed_as_known_without_doubt(demo) -> None:
    power = [each for each in demo.proof.losses if each.measure is Measure.WHEEL_POWER]
    small = [each for each in power if abs(each.predicted_high_percent) < 0.05]

    assert small
    for each in small:
        assert "below 0.1 % predicted" in each.sentence
        assert "what it leaves out is not in this figure" in each.sentence
    assert not any("0.0 % (" in each.sentence for each in demo.proof.losses)
    returns = [each for each in demo.proof.losses if each.measure is Measure.CAUGHT_RETURN]
    assert any("% (3.6 to 12.5 %) predicted" in each.sentence for each in returns)


def test_the_limit_of_the_demonstration_names_the_speeds_it_was_judged_over(demo) -> None:
    words = api.words_of(demo.folder.path, demo.proof)
    told = " ".join(words.replace("\u00a0", " ").split())
    assert "The verb fit predicts them from parameters fitted to all runs" in told
    assert "The runs were judged from 60 to 110 km/h; the pull goes from" in told


def test_the_document_names_the_unit_that_its_figures_are_in(demo) -> None:
    """A loss of 10.7 % is 11.3 log-percent: the two are told apart where they differ."""
    outcome = outcome_of(demo.proof, "badly_plumbed", Measure.CAUGHT_RETURN)
    plain = outcome.figures["estimate_plain_percent"]
    assert outcome.estimate == pytest.approx(-100.0 * math.log(1.0 - plain / 100.0))
    assert outcome.estimate > plain + 0.5
    for verdict in demo.proof.verdicts:
        for each in verdict.outcomes:
            loss = each.measure in (Measure.WHEEL_POWER, Measure.CAUGHT_RETURN)
            assert each.unit == ("log-percent" if loss else "Pa")

    known = schema("proof")["$defs"]["Outcome"]["properties"]["unit"]
    assert known == {"enum": ["log-percent", "percent", "Pa"]}
    run = to_document(demo.proof.runs[0])
    assert run["power_loss_log_percent"] < -1000.0
    assert not [name for name in run if name.endswith("loss_percent")]
