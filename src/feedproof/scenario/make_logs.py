"""
Write the demonstration's raw logs, run tables and hidden truth. INVENTED DATA throughout.

Stand-alone on purpose: it and its two neighbours, the true vehicle and the true runs, import
nothing of the package, and their laws are others than the package's.

Usage: ``python make_logs.py OUTDIR [--seed 1]`` writes ``logs/*.csv``, ``runs.toml`` (the run
tables, without hashes) and ``truth.json`` (only tests read it).
"""

import argparse
import json
import math
from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np

# Inside the package a relative import; run as a script, the neighbours in the same folder.
if __package__:
    from .true_runs import (
        END_S,
        KITS,
        NOISE,
        ROLES,
        SESSIONS,
        START_S,
        STOP_S,
        ZERO_DRIFT_KPA_PER_RUN,
        PlannedRun,
        curve,
        engine_rpm,
        pedal_percent,
        plan_runs,
        planted_means,
        roller_speed_kmh,
        wheel_power_w,
    )
    from .true_vehicle import (
        BAND_KMH,
        CLIFF,
        CONTROL_BORE_M,
        GRAVITY_M_PER_S2,
        HOLD_RPM,
        REFERENCE,
        RPM_PER_KMH,
        SWEEP_KMH,
        SWEEP_RATE_KMH_PER_S,
        TRUE_LINE,
        TRUE_PUMP,
        FloatArray,
        caught_flow_15c,
        density,
        detection_chance,
        feed_state,
        full_load_wheel_w,
        rail_deviation_mpa,
        return_loss_log_percent,
    )
else:
    from true_runs import (  # type: ignore[import-not-found,no-redef]
        END_S,
        KITS,
        NOISE,
        ROLES,
        SESSIONS,
        START_S,
        STOP_S,
        ZERO_DRIFT_KPA_PER_RUN,
        PlannedRun,
        curve,
        engine_rpm,
        pedal_percent,
        plan_runs,
        planted_means,
        roller_speed_kmh,
        wheel_power_w,
    )
    from true_vehicle import (  # type: ignore[import-not-found,no-redef]
        BAND_KMH,
        CLIFF,
        CONTROL_BORE_M,
        GRAVITY_M_PER_S2,
        HOLD_RPM,
        REFERENCE,
        RPM_PER_KMH,
        SWEEP_KMH,
        SWEEP_RATE_KMH_PER_S,
        TRUE_LINE,
        TRUE_PUMP,
        FloatArray,
        caught_flow_15c,
        density,
        detection_chance,
        feed_state,
        full_load_wheel_w,
        rail_deviation_mpa,
        return_loss_log_percent,
    )


DEPRESSION_DELAY_S, DEPRESSION_FILTER_S = 0.20, 0.05
CEILING_KPA = 44.1
GAUGE_ABOVE_INLET_M = 0.10
GAUGE_GAIN = 1.002


# ---- instruments ------------------------------------------------------------------------------
def cell_log(run: PlannedRun, seed: int) -> str:
    """Write the roller cell's log: commas, decimal points, a preamble, 25 Hz."""
    rng = np.random.default_rng([seed, run.number, 2])
    clock = np.arange(0.0, END_S, 0.04)
    t = clock - run.shift_s
    slow = 0.004 * np.sin(2.0 * np.pi * (0.7 * clock + rng.uniform()))
    power = wheel_power_w(run, t) / 1e3 * (1.0 + slow) + 0.3 * rng.normal(size=t.size)
    speed = np.maximum(roller_speed_kmh(t) + 0.02 * rng.normal(size=t.size), 0.0)
    engine = engine_rpm(t) + 3.0 * rng.normal(size=t.size)
    started = _started(run)
    session = run.session
    rows = [
        "Roller cell log - INVENTED DATA, no vehicle was measured",
        f"Run {run.number}, session {session.name}",
        f"Started {started.isoformat()}",
        "Vehicle: light delivery truck, 3.0 L diesel, top gear 1.000, final drive 3.900",
        f"Sweep {SWEEP_KMH[0]:.0f} to {SWEEP_KMH[1]:.0f} km/h, "
        f"{SWEEP_RATE_KMH_PER_S:.1f} km/h per second, held by the rollers",
        "Power at wheel: as the roller reads it, vehicle inertia not added, not corrected",
        f"Room at start: {run.ambient_pa / 1e3:.2f} kPa, {_air_c(run):.1f} degC, "
        f"{session.humidity_percent:.0f} % r.h.",
        "Units: s, km/h, rpm, kW, %",
        "Time,Roller speed,Engine,Power at wheel,Pedal",
    ]
    table = zip(clock, speed, engine, power, pedal_percent(t), strict=True)
    rows += [f"{a:.2f},{b:.2f},{c:.0f},{d:.2f},{e:.0f}" for a, b, c, d, e in table]
    return "\n".join(rows) + "\n"


def _reading_kpa(run: PlannedRun, t: FloatArray, rng: np.random.Generator) -> FloatArray:
    """Read the depression sensor: late, pulsating, noisy, with offset and head."""
    fine = np.arange(float(t[0]) - 2.0, float(t[-1]) + 0.01, 0.005)
    inlet = curve(run, engine_rpm(fine - DEPRESSION_DELAY_S)).depression_pa / 1e3
    share = 1.0 - math.exp(-0.005 / DEPRESSION_FILTER_S)
    late = np.empty_like(inlet)
    state = float(inlet[0])
    for i, value in enumerate(inlet.tolist()):
        state += share * (value - state)
        late[i] = state
    strokes = np.cumsum(3.0 * engine_rpm(fine) / 120.0) * 0.005 + rng.uniform()
    hertz = np.maximum(3.0 * engine_rpm(t) / 120.0, 20.0)
    size = NOISE["pulsation_kpa"] * np.minimum(60.0 / hertz, 1.0)
    pulse = size * np.sin(2.0 * np.pi * np.interp(t, fine, strokes))
    head = density(run.temperature_c) * GRAVITY_M_PER_S2 * GAUGE_ABOVE_INLET_M / 1e3
    offset = run.session.zero_kpa + ZERO_DRIFT_KPA_PER_RUN * (run.index + t / END_S)
    white = NOISE["white_depression_kpa"] * rng.normal(size=t.size)
    true = np.interp(t, fine, late) + run.depression_kpa + head
    reading = GAUGE_GAIN * true + pulse + offset + white
    return np.minimum(np.round(reading / 0.02) * 0.02, CEILING_KPA)


def stuck_span_s(run: PlannedRun) -> tuple[float, float]:
    """On the logger's clock, when the sensor of the stuck run stands still."""
    start = START_S + (82.0 - SWEEP_KMH[0]) / SWEEP_RATE_KMH_PER_S
    start += run.shift_s + run.session.clock_ahead_s
    return start, start + 1.5


def logger_log(run: PlannedRun, seed: int) -> str:
    """Write the logger's log: semicolons, decimal commas, a unit row, 50 Hz."""
    rng = np.random.default_rng([seed, run.number, 3])
    clock = np.arange(0.0, END_S, 0.02)
    t = clock - run.session.clock_ahead_s - run.shift_s
    depression = _reading_kpa(run, t, rng)
    if run.fault == "stuck":
        first, last = stuck_span_s(run)
        inside = (clock >= first) & (clock <= last)
        depression = np.where(inside, depression[int(np.argmax(inside))], depression)
    rpm = engine_rpm(t)
    load = np.clip(pedal_percent(t) / 100.0, 0.0, 1.0)
    demand = np.interp(rpm, [800, 1500, 2500, 3500], [35.0, 105.0, 150.0, 165.0])
    demand = demand * (0.55 + 0.45 * load)
    fall = rail_deviation_mpa(curve(run, rpm).shortage) * (load > 0.9)
    actual = demand - fall - 0.2 * load + 0.35 * rng.normal(size=t.size)
    temperature = run.temperature_c + 0.01 * t + 0.05 * rng.normal(size=t.size)
    slosh = 0.8 * np.sin(2.0 * np.pi * (0.45 * clock + rng.uniform()))
    level = 100.0 * run.level - 0.01 * t + slosh + 0.3 * rng.normal(size=t.size)
    rows = [
        "t;n Motor;Unterdruck Pumpe;Temp. Zulauf;Rail ist;Rail soll;F\u00fcllstand",
        "s;1/min;kPa;\u00b0C;bar;bar;%",
    ]
    table = zip(
        clock, rpm + 4.0 * rng.normal(size=t.size), depression, temperature,
        10.0 * actual, 10.0 * demand, np.round(level * 2.0) / 2.0, strict=True,
    )  # fmt: skip
    rows += [
        f"{a:.2f};{b:.0f};{c:.2f};{d:.1f};{e:.0f};{f:.0f};{g:.1f}".replace(".", ",")
        for a, b, c, d, e, f, g in table
    ]
    return "\r\n".join(rows) + "\r\n"


# ---- run sheet and truth ----------------------------------------------------------------------
def _started(run: PlannedRun) -> datetime:
    """When the run began: one every eleven minutes."""
    return datetime.fromisoformat(run.session.start) + timedelta(minutes=11 * run.index)


def _air_c(run: PlannedRun) -> float:
    """Air temperature of the cell at the run."""
    return run.session.air_c + 0.35 * run.index


def _caught(run: PlannedRun, seed: int) -> str:
    """Read the measure: volume at its own temperature to 10 mL, time to 0.1 s."""
    rng = np.random.default_rng([seed, run.number, 4])
    duration = 60.0 + 0.1 * round(float(rng.uniform(-6.0, 6.0)))
    warm = round(run.temperature_c + 9.0 + float(rng.uniform(-1.0, 1.0)))
    flow = caught_flow_15c(run.letter, run.temperature_c, run.level, run.ambient_pa)
    flow *= math.exp(-run.return_percent / 100.0)
    litres = flow * duration * density(15.0) / density(warm) * 1e3
    return (
        f'{{ volume = "{litres:.2f} L", duration = "{duration:.1f} s", '
        f'temperature = "{warm} degC", hold = "steady", engine_speed = "{HOLD_RPM:.0f} rpm" }}'
    )


def _elements(letter: str) -> str:
    """List the serials of the elements fitted."""
    fitted = ['factory_filter = "F-17"']
    fitted += ['secondary_element = "S-04"'] if letter in "BC" else []
    fitted += ['secondary_element = "S-02"'] if letter == "L" else []
    fitted += ['primary_element = "P-11"'] if letter == "C" else []
    fitted += ['small_element = "U-01"'] if letter == "D" else []
    return ", ".join(fitted)


def run_table(run: PlannedRun, seed: int) -> str:
    """Write a run's table for the case file, without the hashes of its logs."""
    kits = ", ".join(f'"{kit}"' for kit in KITS[run.letter])
    name = f"run{run.number:02d}"
    lines = [
        "[[run]]", f"number = {run.number}", f"kits = [{kits}]",
        f'session = "{run.session.name}"', f"started = {_started(run).isoformat()}",
        f'role = "{ROLES.get(run.letter, "compare")}"', f'setup = "{run.session.setup}"',
        'fuel = "summer"',
        f'ambient = {{ pressure_abs = "{run.ambient_pa / 1e3:.2f} kPa", '
        f'temperature = "{_air_c(run):.1f} degC", '
        f'humidity = "{run.session.humidity_percent:.0f} %" }}',
        f'fuel_level = "{100.0 * run.level:.1f} %"',
        f'zero = {{ before = "{run.zero_kpa[0]:.2f} kPa", after = "{run.zero_kpa[1]:.2f} kPa" }}',
        f"elements = {{ {_elements(run.letter)} }}",
    ]  # fmt: skip
    if run.letter == "L":
        lines.append('loading = { secondary_element = "9 g" }')
    lines.append(
        f'logs = [ {{ file = "{name}_cell.csv", instrument = "cell" }},\n'
        f'         {{ file = "{name}_logger.csv", instrument = "logger" }} ]'
    )
    if run.letter == "W":
        lines.append('note = "warm-up, return not caught"')
    else:
        lines.append(f"caught_return = {_caught(run, seed)}")
    return "\n".join(lines) + "\n"


def true_effects(letter: str) -> dict[str, float]:
    """
    Give what a configuration truly does at the reference conditions.

    Parameters
    ----------
    letter : str
        Configuration as in the orders of the sessions.

    Returns
    -------
    dict of str to float
        Losses in log-percent and percent, added depression in kPa, rail deviation in MPa.
    """
    t, level, ambient = REFERENCE["temperature_c"], REFERENCE["level"], REFERENCE["ambient_pa"]
    speed = np.linspace(*BAND_KMH, 501)
    bare = feed_state(speed * RPM_PER_KMH, "A", t, level, ambient)
    kit = feed_state(speed * RPM_PER_KMH, letter, t, level, ambient)
    power = np.log(
        full_load_wheel_w(speed, bare.shortage, SWEEP_RATE_KMH_PER_S)
        / full_load_wheel_w(speed, kit.shortage, SWEEP_RATE_KMH_PER_S)
    )
    loss = 100.0 * float(np.mean(power))
    loss += NOISE["secondary_power_percent"] if letter in "BCL" else 0.0
    back = return_loss_log_percent(letter)
    sweep = np.linspace(*SWEEP_KMH, 1301)
    whole = feed_state(sweep * RPM_PER_KMH, letter, t, level, ambient)
    rail = rail_deviation_mpa(whole.shortage) + 0.2
    return {
        "wheel_power_loss_log_percent": loss,
        "wheel_power_loss_percent": 100.0 * (1.0 - math.exp(-loss / 100.0)),
        "caught_return_loss_log_percent": back,
        "caught_return_loss_percent": 100.0 * (1.0 - math.exp(-back / 100.0)),
        "added_depression_kpa": float(np.mean(kit.depression_pa - bare.depression_pa)) / 1e3,
        "depression_at_top_kpa": float(whole.depression_pa[-1]) / 1e3,
        "rail_deviation_at_top_mpa": float(rail[-1]),
        "rail_deviation_beyond_5_mpa_s": float(np.mean(rail > 5.0)) * (STOP_S - START_S),
    }


def truth(seed: int, runs: Sequence[PlannedRun], logs: dict[str, bytes]) -> dict[str, object]:
    """Gather the planted truth. Only tests read it."""
    speed = np.array([60.0, 70.0, 80.0, 90.0, 100.0, 110.0])
    line = feed_state(speed * RPM_PER_KMH, "A", *REFERENCE.values()).depression_pa / 1e3
    comparisons = [
        {"session": session.name, "configuration": "+".join(KITS[letter]), "order": session.order,
         **true_effects(letter)}
        for session in SESSIONS for letter in sorted(set(session.order) - set("WA"))
    ]  # fmt: skip
    faults: list[dict[str, object]] = []
    for run in runs:
        if run.fault == "stuck":
            first, last = stuck_span_s(run)
            faults.append({"run": run.number, "fault": "stuck", "from_s": first, "to_s": last})
        rows = logs[f"run{run.number:02d}_logger.csv"].decode("cp1252").splitlines()[2:]
        at_top = [row.split(";")[2] == f"{CEILING_KPA:.2f}".replace(".", ",") for row in rows]
        lift_off = int((STOP_S + run.shift_s + run.session.clock_ahead_s) / 0.02)
        if any(at_top):
            faults.append({
                "run": run.number, "fault": "saturated", "samples": sum(at_top),
                "samples_in_pull": sum(at_top[:lift_off]),
                "from_s": 0.02 * at_top.index(True),
            })  # fmt: skip
    planted = [
        {"number": run.number, "session": run.session.name, "letter": run.letter,
         "configuration": "+".join(KITS[run.letter]) or "baseline",
         "fuel_temperature_c": run.temperature_c, "fuel_level": run.level, **planted_means(run)}
        for run in runs
    ]  # fmt: skip
    return {
        "note": "INVENTED DATA. The planted truth: only tests read it.", "seed": seed,
        "reference": REFERENCE, "band_kmh": BAND_KMH, "line": TRUE_LINE, "pump": TRUE_PUMP,
        "cliff": CLIFF, "noise": NOISE,
        "baseline_depression_kpa": {"speed_kmh": speed.tolist(), "depression": line.tolist()},
        "sensor": {
            "lag_s": DEPRESSION_DELAY_S + DEPRESSION_FILTER_S, "gain": GAUGE_GAIN,
            "ceiling_kpa": CEILING_KPA, "above_inlet_m": GAUGE_ABOVE_INLET_M,
            "logger_clock_ahead_s": {s.name: s.clock_ahead_s for s in SESSIONS},
        },
        "control": {
            "bore_m": CONTROL_BORE_M, "order": "APA",
            "chance_of_being_called_a_loss": detection_chance(return_loss_log_percent("P")),
        },
        "comparisons": comparisons, "faults": faults, "runs": planted,
    }  # fmt: skip


def _nine_digits(text: str) -> float:
    """Drop the last digits, in which processors differ."""
    return float(f"{float(text):.9g}")


def make(seed: int) -> dict[str, bytes]:
    """
    Make every file of the demonstration.

    Parameters
    ----------
    seed : int
        Same seed, same bytes.

    Returns
    -------
    dict of str to bytes
        Contents by path below the output folder.
    """
    runs = plan_runs(seed)
    logs: dict[str, bytes] = {}
    for run in runs:
        logs[f"run{run.number:02d}_cell.csv"] = cell_log(run, seed).encode("ascii")
        logs[f"run{run.number:02d}_logger.csv"] = logger_log(run, seed).encode("cp1252")
    head = "# INVENTED DATA. Sensor zeros were read with the gauge line shut off and vented.\n\n"
    files = {f"logs/{name}": content for name, content in logs.items()}
    files["runs.toml"] = (head + "\n".join(run_table(run, seed) for run in runs)).encode()
    known = json.loads(json.dumps(truth(seed, runs, logs)), parse_float=_nine_digits)
    files["truth.json"] = (json.dumps(known, indent=1) + "\n").encode()
    return files


def main(arguments: Sequence[str] | None = None) -> None:
    """Write the files into the folder named on the command line."""
    parser = argparse.ArgumentParser(description="Make the demonstration's logs (invented data).")
    parser.add_argument("outdir", type=Path)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args(arguments)
    for name, content in make(options.seed).items():
        path = options.outdir / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)


if __name__ == "__main__":
    main()
