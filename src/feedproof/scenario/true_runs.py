"""
The demonstration's runs: what was drawn for each, and how each was driven. INVENTED.

Like the true vehicle, this knows nothing of the package.
"""

import math
from dataclasses import dataclass, field

import numpy as np

# Inside the package a relative import; run as a script, the neighbour in the same folder.
if __package__:
    from .true_vehicle import (
        BAND_KMH,
        L_PER_H,
        RPM_PER_KMH,
        SWEEP_KMH,
        SWEEP_RATE_KMH_PER_S,
        FloatArray,
        State,
        caught_flow_15c,
        feed_state,
        full_load_wheel_w,
    )
else:
    from true_vehicle import (  # type: ignore[import-not-found,no-redef]
        BAND_KMH,
        L_PER_H,
        RPM_PER_KMH,
        SWEEP_KMH,
        SWEEP_RATE_KMH_PER_S,
        FloatArray,
        State,
        caught_flow_15c,
        feed_state,
        full_load_wheel_w,
    )


NOISE = {
    "wheel_power_run_sd_percent": 0.5,
    "wheel_power_drift_percent_per_run": -0.15,
    "wheel_power_tilt_sd_percent": 0.3,
    "caught_return_run_sd_percent": 1.0,
    "inlet_depression_run_sd_kpa": 0.2,
    "pulsation_kpa": 0.6,
    "white_depression_kpa": 0.08,
    "zero_reading_sd_kpa": 0.02,
    "secondary_power_percent": 0.1,
}
ZERO_DRIFT_KPA_PER_RUN = 0.012
# Of 90 L: 1.9 L caught beside the tank and 0.2 L burnt.
LEVEL_FALL_PER_RUN = 0.0235


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """One day's runs: A baseline, B secondary, C both, D badly plumbed, L loaded, P plate."""

    name: str
    order: str
    start: str
    setup: str
    temperature_c: float
    temperature_step_k: float
    level: float
    ambient_kpa: float
    air_c: float
    humidity_percent: float
    clock_ahead_s: float
    zero_kpa: float


SESSIONS = (
    Session(name="secondary", order="WABABAB", start="2026-09-14T09:30:00+02:00", setup="loop-1",
            temperature_c=31.0, temperature_step_k=0.9, level=0.72, ambient_kpa=91.14,
            air_c=18.6, humidity_percent=53.0, clock_ahead_s=0.12, zero_kpa=0.10),
    Session(name="both", order="WACCA", start="2026-09-15T09:10:00+02:00", setup="loop-2",
            temperature_c=32.5, temperature_step_k=0.8, level=0.70, ambient_kpa=90.87,
            air_c=19.8, humidity_percent=48.0, clock_ahead_s=-0.08, zero_kpa=0.14),
    Session(name="bad", order="WADADAD", start="2026-09-16T08:50:00+02:00", setup="loop-3",
            temperature_c=27.0, temperature_step_k=1.1, level=0.73, ambient_kpa=91.02,
            air_c=17.1, humidity_percent=57.0, clock_ahead_s=0.21, zero_kpa=0.08),
    Session(name="loaded", order="WALA", start="2026-09-17T09:40:00+02:00", setup="loop-4",
            temperature_c=33.0, temperature_step_k=0.7, level=0.68, ambient_kpa=91.31,
            air_c=20.4, humidity_percent=45.0, clock_ahead_s=0.05, zero_kpa=0.12),
    Session(name="control", order="WAPA", start="2026-09-17T14:05:00+02:00", setup="loop-5",
            temperature_c=34.0, temperature_step_k=0.6, level=0.66, ambient_kpa=91.18,
            air_c=22.0, humidity_percent=41.0, clock_ahead_s=0.05, zero_kpa=0.11),
)  # fmt: skip
KITS = {
    "W": (), "A": (), "B": ("secondary",), "L": ("secondary",), "C": ("secondary", "primary"),
    "D": ("badly_plumbed",), "P": ("control_orifice",),
}  # fmt: skip
ROLES = {"W": "warm_up", "L": "loaded", "P": "control"}


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRun:
    """One run with everything that was drawn for it."""

    number: int
    index: int
    letter: str
    session: Session
    temperature_c: float
    level: float
    ambient_pa: float
    power_percent: float
    tilt_percent: float
    return_percent: float
    depression_kpa: float
    shift_s: float
    zero_kpa: tuple[float, float]
    fault: str = field(default="")


def plan_runs(seed: int) -> list[PlannedRun]:
    """
    Draw what varies from run to run.

    Parameters
    ----------
    seed : int
        Seed of the whole demonstration; every run has its own generator.

    Returns
    -------
    list of PlannedRun
        In the order of the run sheet.
    """
    runs: list[PlannedRun] = []
    for session in SESSIONS:
        for index, letter in enumerate(session.order):
            number = len(runs) + 1
            draw = np.random.default_rng([seed, number, 1]).normal(size=8)
            fault = "stuck" if (session.name, index) == ("secondary", 4) else ""
            offset = session.zero_kpa + ZERO_DRIFT_KPA_PER_RUN * index
            reading = NOISE["zero_reading_sd_kpa"]
            drift = NOISE["wheel_power_drift_percent_per_run"] * index
            runs.append(PlannedRun(
                number=number, index=index, letter=letter, session=session, fault=fault,
                temperature_c=session.temperature_c + session.temperature_step_k * index
                + 0.15 * float(draw[0]),
                level=session.level - LEVEL_FALL_PER_RUN * index,
                ambient_pa=1e3 * (session.ambient_kpa - 0.03 * index),
                power_percent=drift + NOISE["wheel_power_run_sd_percent"] * float(draw[1]),
                tilt_percent=NOISE["wheel_power_tilt_sd_percent"] * float(draw[2]),
                return_percent=NOISE["caught_return_run_sd_percent"] * float(draw[3]),
                depression_kpa=NOISE["inlet_depression_run_sd_kpa"] * float(draw[4]),
                shift_s=0.25 * float(np.clip(draw[5], -2.0, 2.0)),
                zero_kpa=(
                    offset + reading * float(draw[6]),
                    offset + ZERO_DRIFT_KPA_PER_RUN + reading * float(draw[7]),
                ),
            ))  # fmt: skip
    return runs


def _state_of(run: PlannedRun, rpm: FloatArray) -> State:
    """State of the feed in a run's own conditions."""
    return feed_state(rpm, run.letter, run.temperature_c, run.level, run.ambient_pa)


def _run_factor(run: PlannedRun, speed_kmh: FloatArray) -> FloatArray:
    """Turn into a factor what a run's own scatter, drift and planted effect do to the power."""
    middle, half = sum(BAND_KMH) / 2.0, (BAND_KMH[1] - BAND_KMH[0]) / 2.0
    percent = run.power_percent + run.tilt_percent * (speed_kmh - middle) / half
    if run.letter in "BCL":
        percent = percent - NOISE["secondary_power_percent"]
    return np.exp(percent / 100.0)


def planted_means(run: PlannedRun) -> dict[str, float]:
    """
    Reduce a run to one number per measure, before any instrument; larger is worse.

    Parameters
    ----------
    run : PlannedRun
        One run.

    Returns
    -------
    dict of str to float
        Wheel power and caught return as -100 ln, the mean depression over the band in kPa.
    """
    speed = np.linspace(*BAND_KMH, 101)
    state = _state_of(run, speed * RPM_PER_KMH)
    power = full_load_wheel_w(speed, state.shortage, SWEEP_RATE_KMH_PER_S)
    power = power * _run_factor(run, speed)
    caught = caught_flow_15c(run.letter, run.temperature_c, run.level, run.ambient_pa)
    return {
        "wheel_power": -100.0 * float(np.mean(np.log(power / 1e3))),
        "caught_return": -100.0 * math.log(caught / L_PER_H) + run.return_percent,
        "inlet_depression_kpa": float(np.mean(state.depression_pa)) / 1e3 + run.depression_kpa,
    }


# ---- the drive --------------------------------------------------------------------------------
START_S = 10.5
STOP_S = START_S + (SWEEP_KMH[1] - SWEEP_KMH[0]) / SWEEP_RATE_KMH_PER_S
END_S = STOP_S + 3.5


def roller_speed_kmh(t: FloatArray) -> FloatArray:
    """Roller speed through idle, the gears, the sweep and the coast, km/h."""
    knots = [0.0, 2.0, 4.5, 7.0, 9.0, START_S, STOP_S, STOP_S + 6.0]
    return np.interp(t, knots, [0.0, 0.0, 22.0, 38.0, 50.0, *SWEEP_KMH, SWEEP_KMH[1] - 11.0])


def engine_rpm(t: FloatArray) -> FloatArray:
    """Engine speed; each change of gear takes 0.4 s."""
    knots = [0.0, 4.5, 4.9, 7.0, 7.4, END_S + 9.0]
    ratio = np.interp(t, knots, [2.8, 2.8, 1.65, 1.65, 1.0, 1.0])
    return np.maximum(800.0, roller_speed_kmh(t) * RPM_PER_KMH * ratio)


def wheel_power_w(run: PlannedRun, t: FloatArray) -> FloatArray:
    """Power that the roller reads, without the cell's own noise."""
    speed = np.maximum(roller_speed_kmh(t), 1.0)
    state = curve(run, speed * RPM_PER_KMH)
    full = full_load_wheel_w(speed, state.shortage, SWEEP_RATE_KMH_PER_S)
    full = full * _run_factor(run, speed)
    rise = 1.0 - 0.8 * np.exp(-np.maximum(t - START_S, 0.0) / 0.45)
    light = np.interp(t, [0.0, 2.0, 2.4, 8.9, 9.3, START_S], [0.0, 0.0, 14e3, 14e3, 5e3, 5e3])
    pull = np.where(t < START_S, light, full * rise)
    after = np.maximum(t - STOP_S, 0.0)
    drag = -9.0e3 - 40.0 * speed
    return np.where(t <= STOP_S, pull, drag + (pull - drag) * np.exp(-after / 0.15))


def curve(run: PlannedRun, rpm: FloatArray) -> State:
    """State along a run, solved on a grid of speeds and read between them."""
    grid = np.linspace(700.0, 3500.0, 141)
    state = _state_of(run, grid)
    return State(
        feed_m3_per_s=np.interp(rpm, grid, state.feed_m3_per_s),
        depression_pa=np.interp(rpm, grid, state.depression_pa),
        shortage=np.interp(rpm, grid, state.shortage),
    )


def pedal_percent(t: FloatArray) -> FloatArray:
    """Pedal position, percent."""
    knots = [0.0, 2.0, 2.3, 8.9, 9.2, START_S - 0.1, START_S + 0.1, STOP_S, STOP_S + 0.12, 99.0]
    return np.interp(t, knots, [0.0, 0.0, 34.0, 34.0, 14.0, 14.0, 100.0, 100.0, 0.0, 0.0])
