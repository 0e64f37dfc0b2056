"""A realistic publication of invented figures, for the tests of the report room."""

import math
from dataclasses import replace
from datetime import UTC, datetime

import numpy as np

from feedproof.case.conditions import Conditions
from feedproof.case.margin import Margins, Measure, Repeatability
from feedproof.case.outcome import Answer, Outcome, Release, Verdict
from feedproof.case.run import Role
from feedproof.core.findings import note, warning
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.reduced import Step as CleaningStep
from feedproof.feedline.pull import PullPrediction
from feedproof.feedline.staircase import Staircase, Step
from feedproof.report.model import (
    Bias,
    CurveBand,
    CurveClaim,
    Exclusion,
    Fingerprint,
    InletPoint,
    InputValue,
    KitWords,
    MeasuredInlet,
    Publication,
    Table,
)

AMBIENT_PA = 91.0e3
LIMIT_PA = 48.0e3
REFERENCE = Conditions(
    fuel="summer",
    fuel_temperature_k=308.15,
    ambient_pressure_abs_pa=AMBIENT_PA,
    fuel_level_fraction=0.6,
    name="reference",
)
WORST = Conditions(
    fuel="winter",
    fuel_temperature_k=268.15,
    ambient_pressure_abs_pa=93.2e3,
    fuel_level_fraction=0.25,
    road_pitch_rad=0.105,
    captured_mass_kg={"factory_filter": 0.004},
    name="cold morning in the valley, winter fuel",
)
FACTORY = (
    (".lift", "lift from the fuel surface", 3.4),
    ("strainer", "pick-up strainer", 0.95),
    ("pickup_tube", "pick-up tube", 0.4),
    ("steel_line", "steel line along the frame", 2.9),
    ("rubber_hoses", "rubber hoses", 1.05),
    ("quick_connectors", "quick connectors", 1.55),
    ("banjos", "banjo fittings", 2.85),
    ("bends", "bends", 0.6),
    ("primer", "primer pump with check valves", 1.5),
    ("factory_filter", "factory filter", 1.95),
)
SECONDARY = (
    ("secondary_element", "fine secondary element", 1.1),
    ("secondary_hoses", "hoses of the secondary", 0.32),
    ("secondary_fittings", "fittings of the secondary", 0.74),
)
PRIMARY = (
    ("primary_element", "coarse primary element", 0.7),
    ("primary_hoses", "hoses of the primary", 0.35),
    ("primary_fittings", "fittings of the primary", 0.72),
)
LINES = {
    "baseline": FACTORY,
    "secondary": FACTORY + SECONDARY,
    "primary+secondary": FACTORY[:9] + PRIMARY + FACTORY[9:] + SECONDARY,
}
TOTAL_PA = {name: 1e3 * sum(loss for _, _, loss in line) for name, line in LINES.items()}
POWER_LOSS = {"baseline": 0.0, "secondary": 0.002, "primary+secondary": 0.004}
SPEED = np.linspace(50.0, 115.0, 66) / 3.6
BINS = np.linspace(54.0, 111.0, 14) / 3.6


def stairs(configuration: str, limit_pa: float | None = LIMIT_PA) -> Staircase:
    depression, steps = 0.0, []
    for part_id, title, loss in LINES[configuration]:
        depression += 1e3 * loss
        owner = part_id.split("_")[0]
        steps.append(
            Step(
                part_id=part_id,
                title=title,
                owner=owner if owner in ("primary", "secondary") else "factory",
                loss_pa=1e3 * loss,
                depression_after_pa=depression,
                pressure_abs_after_pa=AMBIENT_PA - depression,
                share_fraction=1e3 * loss / TOTAL_PA[configuration],
            )
        )
    return Staircase(
        configuration=configuration,
        conditions=REFERENCE,
        engine_speed_rev_per_s=55.2,
        feed_m3_per_s=3.6e-5,
        steps=tuple(steps),
        limit_abs_pa=limit_pa,
        room_pa=None if limit_pa is None else AMBIENT_PA - depression - limit_pa,
    )


def depression(configuration: str, speed: np.ndarray) -> np.ndarray:
    share = speed / SPEED[-1]
    return TOTAL_PA[configuration] * (0.25 + 0.3 * share + 0.45 * share**2)


def power(configuration: str, speed: np.ndarray) -> np.ndarray:
    x = speed / SPEED[-1]
    return 93.0e3 * (1.0 - POWER_LOSS[configuration]) * (1.0 - 0.75 * (1.0 - x) ** 1.6)


def prediction(configuration: str) -> PullPrediction:
    curve = depression(configuration, SPEED)
    flow = 3.6e-5 * SPEED / SPEED[-1]
    wheel = power(configuration, SPEED)
    never = np.zeros(len(SPEED), dtype=bool)
    return PullPrediction(
        configuration=configuration,
        conditions=REFERENCE,
        speed_m_per_s=SPEED,
        engine_speed_rev_per_s=SPEED * 1.73,
        engine_power_w=wheel / 0.85,
        wheel_power_w=wheel,
        feed_m3_per_s=flow,
        injected_m3_per_s=0.26 * flow,
        return_m3_per_s=0.74 * flow,
        depression_pa=curve,
        pressure_abs_pa=AMBIENT_PA - curve,
        depression_low_pa=0.96 * curve,
        depression_high_pa=1.05 * curve,
        feed_margin=np.full(len(SPEED), 1.7),
        feed_pressure_ratio=np.ones(len(SPEED)),
        free_gas_fraction=np.full(len(SPEED), 0.01),
        short_feed=never,
        starved=never,
        return_caught_m3=3.0e-4,
        duration_s=14.4,
    )


def run(number: int, configuration: str, shift: float, role: Role = Role.COMPARE) -> ReducedRun:
    wheel = power(configuration, BINS) * (1.0 + 0.004 * shift)
    pull = depression(configuration, BINS) * 1.02 + 180.0 * shift
    loss = -100.0 * float(np.mean(np.log(wheel)))
    findings = ()
    if number == 5:
        findings = (
            warning(
                "wheel_power",
                "the same reading 41 times in a row: a stuck channel, left out from 88 km/h up",
                "Look at the plug of the roller's load cell.",
            ),
        )
    return ReducedRun(
        number=number,
        configuration=configuration,
        session="A",
        setup="loop-1",
        role=role,
        position=float(number - 2),
        speed_m_per_s=BINS,
        wheel_power_w=wheel,
        corrected_power_w=1.01 * wheel,
        depression_pa=pull,
        rail_deviation_pa=np.full(len(BINS), 4.0e5),
        power_loss_log_percent=loss,
        corrected_power_loss_log_percent=loss - 0.995,
        depression_mean_pa=float(pull.mean()),
        depression_max_pa=float(pull.max()),
        depression_censored=number == 6,
        return_m3_per_s=(71.4 + 0.4 * shift) / 3.6e6,
        return_loss_log_percent=-100.0 * math.log((71.4 + 0.4 * shift) / 3.6e6),
        rail_shortfall_pa=1.1e6,
        rail_shortfall_s=0.0,
        fuel_temperature_k=308.0 + shift,
        fuel_level_fraction=0.6 - 0.01 * number,
        steps=(CleaningStep(name="resample", detail="cell to 20 Hz; clocks moved by 0.31 s"),),
        findings=findings,
    )


RUNS = tuple(
    run(number, name, shift, Role.WARM_UP if number == 1 else Role.COMPARE)
    for number, name, shift in (
        (1, "baseline", 1.8),
        (2, "baseline", 0.4),
        (3, "secondary", -0.3),
        (4, "secondary", 0.5),
        (5, "baseline", -0.6),
        (6, "primary+secondary", 0.9),
        (7, "primary+secondary", -0.5),
        (8, "baseline", 0.1),
    )
)


def bands() -> tuple[CurveBand, ...]:
    made = []
    for name in LINES:
        mean = power(name, BINS) * 1.001
        made.append(
            CurveBand(
                measure=Measure.WHEEL_POWER,
                configuration=name,
                speed_m_per_s=BINS,
                mean=mean,
                lower=0.988 * mean,
                upper=1.012 * mean,
            )
        )
        pull = depression(name, BINS) * 1.02
        made.append(
            CurveBand(
                measure=Measure.INLET_DEPRESSION,
                configuration=name,
                speed_m_per_s=BINS,
                mean=pull,
                lower=pull - 450.0,
                upper=pull + 450.0,
            )
        )
    return tuple(made)


def power_outcome(answer: Answer = Answer.NO_LOSS_WITHIN, **changes: object) -> Outcome:
    base = Outcome(
        measure=Measure.WHEEL_POWER,
        answer=answer,
        estimate=0.311,
        lower=-0.402,
        upper=1.024,
        margin=2.0203,
        unit="percent",
        standard_uncertainty=0.384,
        coverage_factor=1.857,
        degrees_of_freedom=8.1,
        repeatability=0.52,
        flip_repeatability=1.24,
        runs={"baseline": (2, 5), "secondary": (3, 4)},
        order="ABBA",
        figures={"margin_plain_percent": 2.0},
    )
    return replace(base, **changes)


def return_outcome() -> Outcome:
    return Outcome(
        measure=Measure.CAUGHT_RETURN,
        answer=Answer.CANNOT_TELL,
        estimate=2.4,
        lower=-1.1,
        upper=5.9,
        margin=5.0,
        standard_uncertainty=1.9,
        coverage_factor=1.84,
        degrees_of_freedom=9.0,
        repeatability=1.3,
        order="ABBA",
        runs={"baseline": (2, 5), "secondary": (3, 4)},
        figures={"runs_each_needed": 3.0},
        tags=("rests_on_declared_repeatability",),
        reasons=(
            "About 6 runs in one new session, order A-B-A-B-A-B (A without, B with), would"
            " exclude 5 %.",
        ),
    )


def depression_outcome(answer: Answer = Answer.WITHIN_LIMIT) -> Outcome:
    return Outcome(
        measure=Measure.INLET_DEPRESSION,
        answer=answer,
        estimate=2180.0,
        lower=1750.0,
        upper=2610.0,
        margin=None if answer is Answer.NO_LIMIT_KNOWN else LIMIT_PA,
        unit="Pa",
        standard_uncertainty=220.0,
        coverage_factor=1.86,
        degrees_of_freedom=8.0,
        repeatability=260.0,
        order="ABBA",
        runs={"baseline": (2, 5), "secondary": (3, 4)},
        figures={}
        if answer is Answer.NO_LIMIT_KNOWN
        else {
            "added_pa": 2180.0,
            "added_expanded_pa": 520.0,
            "added_at_worst_speed_pa": 2390.0,
            "inlet_abs_pa": 71.3e3,
            "inlet_guard_pa": 700.0,
            "room_pa": 25.3e3,
            "room_share": 2390.0 / 25.3e3,
            "room_share_upper": 2960.0 / 25.3e3,
            "worst: cold morning": 52.0e3,
            "worst share: cold morning": 0.48,
        },
    )


def rail_outcome() -> Outcome:
    return Outcome(
        measure=Measure.RAIL_PRESSURE,
        answer=Answer.NO_LOSS_WITHIN,
        estimate=1.1e6,
        margin=5.0e6,
        unit="Pa",
        runs={"secondary": (3, 4)},
    )


def verdicts() -> tuple[Verdict, ...]:
    both = power_outcome(
        Answer.SMALL_LOSS,
        estimate=0.92,
        lower=0.18,
        upper=1.66,
        runs={"baseline": (5, 8), "primary+secondary": (6, 7)},
    )
    return (
        Verdict(
            configuration="secondary",
            outcomes=(power_outcome(), return_outcome(), depression_outcome(), rail_outcome()),
            release=Release.CANNOT_SAY,
            decided_by=Measure.CAUGHT_RETURN,
            reason="The caught return is not settled.",
            not_tested=("winter fuel in a test",),
        ),
        Verdict(
            configuration="primary+secondary",
            outcomes=(both, depression_outcome()),
            release=Release.RELEASE_WITH_CONDITIONS,
            decided_by=Measure.WHEEL_POWER,
            reason="Inside every margin that was tested.",
            not_tested=(),
        ),
    )


def publication(**changes: object) -> Publication:
    made = Publication(
        title="Mountain delivery truck: fine secondary filter, with and without a primary",
        note="INVENTED demonstration data",
        vehicle_name="3.0 L four-cylinder light delivery truck, 110 kW (invented)",
        program_version="0.1.0",
        computed=datetime(2026, 9, 16, 14, 5, tzinfo=UTC),
        friction_rule="blended between 2000 and 4000, then Colebrook",
        start_m_per_s=float(SPEED[0]),
        stop_m_per_s=float(SPEED[-1]),
        reference=REFERENCE,
        worst=tuple(
            InletPoint(
                configuration=name,
                conditions=WORST,
                depression_pa=2.35 * total,
                expanded_u_pa=3500.0,
                pressure_abs_pa=93.2e3 - 2.35 * total,
                room_pa=93.2e3 - 2.35 * total - LIMIT_PA,
            )
            for name, total in TOTAL_PA.items()
        ),
        kits=(
            KitWords(configuration="baseline", short="no kit", title="factory line"),
            KitWords(
                configuration="secondary",
                short="secondary",
                title="fine secondary filter between factory filter and pump",
            ),
            KitWords(
                configuration="primary+secondary",
                short="primary + secondary",
                title="coarse primary with water separator, and the fine secondary",
            ),
        ),
        staircases=tuple(stairs(name) for name in LINES),
        measured_inlets=tuple(
            MeasuredInlet(configuration=name, depression_pa=1.03 * total, expanded_u_pa=520.0)
            for name, total in TOTAL_PA.items()
        ),
        predictions=tuple(prediction(name) for name in LINES),
        runs=RUNS,
        verdicts=verdicts(),
        curve_claims=(
            CurveClaim(
                configuration="secondary",
                measure=Measure.WHEEL_POWER,
                holds=False,
                sentence="the band from 99 to 107 km/h does not pass on its own",
            ),
        ),
        biases=tuple(
            Bias(
                configuration=name,
                mean_pa=0.03 * total,
                u_pa=520.0,
                predicted_pa=total,
                predicted_low_pa=0.96 * total,
                predicted_high_pa=1.05 * total,
                sentence="measured a little above the prediction, inside both uncertainties",
            )
            for name, total in TOTAL_PA.items()
        ),
        bands=bands(),
        plans=(
            Table(
                caption="Planned and reached",
                head=("measure", "planned", "reached"),
                rows=(("wheel power: smallest loss that can be excluded", "1.70 %", "1.62 %"),),
            ),
        ),
        margins=Margins(
            declared=datetime(2026, 9, 13, 18, 30, tzinfo=UTC),
            source="workshop and customer, invented",
        ),
        repeatability=(
            Repeatability(
                measure=Measure.WHEEL_POWER,
                standard_deviation=0.5,
                degrees_of_freedom=8,
                source="11 baseline repeats on this rig, invented",
            ),
            Repeatability(
                measure=Measure.INLET_DEPRESSION,
                standard_deviation=250.0,
                degrees_of_freedom=8,
                source="11 baseline repeats on this rig, invented",
            ),
        ),
        limit_abs_pa=LIMIT_PA,
        limit_source="invented maker's limit",
        exclusions=(
            Exclusion(number=9, configuration="secondary", reason="wheel spin on the rollers"),
        ),
        findings=(note("case.toml: kit.primary", "media resistance has no source"),),
        inputs=(
            InputValue(
                path="vehicle.pump.filling",
                text="95 %",
                range_text="92 % to 97 %",
                source="invented",
            ),
            InputValue(path="line.steel_line.bore", text="8 mm", range_text="7.6 mm to 8.2 mm"),
        ),
        fingerprints=(
            Fingerprint(kind="case", name="case.toml", sha256="0f" * 32),
            Fingerprint(kind="log", name="run02_cell.csv", sha256="1e" * 32),
        ),
    )
    return replace(made, **changes)
