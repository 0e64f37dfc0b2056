"""From a plan to its printable run sheet."""

from datetime import UTC, datetime
from pathlib import Path

from feedproof.app.plan_result import CatchPlan, SessionPlan
from feedproof.app.plan_text import window_words
from feedproof.app.plan_words import NAMES, dashed, size
from feedproof.case.case import Case
from feedproof.core.findings import Finding, error
from feedproof.core.units import from_si
from feedproof.records.durable import write_whole
from feedproof.report.run_sheet import sheet_html, sheet_pdf
from feedproof.report.run_sheet_model import RunSheet, SheetRun, SheetSession
from feedproof.report.run_sheet_words import (
    BEFORE,
    CATCH_SAFELY,
    EMPTY_TANK,
    LOOP,
    REPLUMB,
    SAME_EVERYWHERE,
)

ENDINGS = (".html", ".htm", ".pdf")
WARM_UPS = 2
WINDOW_HEADS = {
    "fuel_temperature": "Fuel temperature",
    "fuel_level": "Fuel level",
    "ambient_pressure": "Air pressure",
}
_INVENTED = "INVENTED"


def check_sheet(target: Path, *, force: bool) -> tuple[Finding, ...]:
    """
    Say why a run sheet may not be written, before any work is done for it.

    Parameters
    ----------
    target : Path
        File to write.
    force : bool
        Write over a file that is there.

    Returns
    -------
    tuple of Finding
        Another kind of file, a folder that is not there, a file that is there already.
    """
    faults = []
    if target.suffix.lower() not in ENDINGS:
        faults.append(
            error(
                "--sheet",
                f"{target.name!r} ends in none of {', '.join(ENDINGS)}.",
                "Name a page or a PDF.",
            )
        )
    if not target.parent.is_dir():
        faults.append(error("--sheet", f"there is no folder {target.parent}.", "Make it first."))
    elif target.is_dir():
        faults.append(error("--sheet", f"{target} is a folder.", "Name a file."))
    elif target.exists() and not force:
        faults.append(error("--sheet", f"{target} exists.", "Give --force to write over it."))
    return tuple(faults)


def write_sheet(target: Path, case: Case, plan: SessionPlan) -> None:
    """
    Write the run sheet of a plan.

    Parameters
    ----------
    target : Path
        File, by its ending a page or a PDF.
    case : Case
        The case.
    plan : SessionPlan
        Its plan.

    Raises
    ------
    WriteError
        The file cannot be written.
    """
    sheet = run_sheet(case, plan, datetime.now(UTC).replace(microsecond=0))
    if target.suffix.lower() == ".pdf":
        write_whole(target, sheet_pdf(sheet))
    else:
        write_whole(target, sheet_html(sheet).encode())


def run_sheet(case: Case, plan: SessionPlan, computed: datetime) -> RunSheet:
    """
    Put together what a run sheet prints.

    Parameters
    ----------
    case : Case
        The case.
    plan : SessionPlan
        Its plan.
    computed : datetime
        When.

    Returns
    -------
    RunSheet
        Complete.
    """
    from feedproof.report.content import BANNER

    only = plan.configurations[0].replace("_", " ") if len(plan.configurations) == 1 else ""
    kit = f"kit: {only}" if only else "the kit"
    return RunSheet(
        title=plan.title,
        banner=BANNER if _INVENTED in plan.note else "",
        vehicle=plan.vehicle,
        note=plan.note,
        version=plan.program,
        computed=f"{computed:%Y-%m-%d %H:%M} UTC",
        computed_iso=computed.isoformat(),
        answer=plan.answer,
        margins=_margins(plan),
        margins_date=_margins_date(plan),
        sessions=_sessions(case, plan),
        before=BEFORE,
        conditions=_conditions(case, plan),
        catch=catch_words(plan.catch),
        loop_kit="" if plan.replumbed else kit,
        loop=REPLUMB if plan.replumbed else LOOP,
        controls=tuple(each.sentence for each in plan.controls)
        or ("No control can be sized without a margin.",),
        reasons=plan.reasons,
    )


def _margins(plan: SessionPlan) -> tuple[str, ...]:
    """List the agreed margins with what the order can do."""
    lines = []
    for measure in plan.measures:
        name = NAMES[measure.measure].capitalize()
        if measure.margin is None:
            lines.append(f"{name}: no margin ({measure.margin_source}).")
            continue
        source = measure.margin_source
        lines.append(f"{name}: {size(measure, measure.margin)} ({source}).")
    rail = plan.margins
    lines.append(
        f"Rail pressure: not short by {rail.rail_deviation_pa / 1e6:g}\u00a0MPa for"
        f" {rail.rail_deviation_s:g}\u00a0s."
    )
    stop = 100 * plan.margins.return_do_not_release_fraction
    lines.append(f"From {stop:g}\u00a0% less return on the kit is not released, whatever else.")
    return tuple(lines)


def _margins_date(plan: SessionPlan) -> str:
    """Say when the margins were declared, or that they must be."""
    declared = plan.margins.declared
    if declared is None:
        return (
            "NOT DECLARED YET: margins must be dated before the first run with a kit, or no verdict"
            " can rest on them (feedproof declare)."
        )
    return (
        f"Declared {declared:%Y-%m-%d %H:%M} UTC (self-declared); the first run with a kit must"
        " come after."
    )


def _sessions(case: Case, plan: SessionPlan) -> tuple[SheetSession, ...]:
    """Write the tables of runs: one session for each kit, then the positive control."""
    lever = "" if plan.replumbed else ", lever straight"
    bare = f"without the kit{lever}"
    sessions = []
    for place, name in enumerate(plan.configurations):
        titles = " and ".join(case.kits[kit].title for kit in name.split("+"))
        through = "" if plan.replumbed else ", lever through the kit"
        with_kit = f"{name.replace('_', ' ')}{through}"
        runs = [_stock()] if place == 0 and not plan.replumbed else []
        runs += _warm_ups(bare)
        runs += [
            SheetRun(
                number=str(number),
                letter=letter,
                words=bare if letter == "A" else with_kit,
                counts=True,
            )
            for number, letter in enumerate(plan.order, start=1)
        ]
        sessions.append(
            SheetSession(
                heading=f"Session {place + 1}: {name.replace('_', ' ')}",
                lead=f"Order {dashed(plan.order)}. A: {bare}. B: {titles}. Grey lines do not"
                " count.",
                runs=tuple(runs),
            )
        )
    return (*sessions, *_control_session(plan, bare))


def _stock() -> SheetRun:
    """Give the run that checks the loop itself."""
    return SheetRun(
        number="", letter="S", words="true stock, before the loop is fitted", counts=False
    )


def _warm_ups(bare: str) -> list[SheetRun]:
    """Give the runs that are discarded."""
    return [
        SheetRun(number="", letter="W", words=f"warm-up, discarded; {bare}", counts=False)
        for _ in range(WARM_UPS)
    ]


def _control_session(plan: SessionPlan, bare: str) -> tuple[SheetSession, ...]:
    """Give the session of the positive control, where one can be sized."""
    sized = [each for each in plan.controls if each.bore_m is not None]
    if not sized:
        return ()
    # The one that keeps the inlet above the maker's limit first: it wears nothing.
    best = min(sized, key=lambda each: each.below_limit)
    plate = f"control orifice {1e3 * (best.bore_m or 0.0):.2f} mm {best.place}"
    runs = [
        *_warm_ups(bare)[:1],
        *(
            SheetRun(
                number=str(number),
                letter=letter,
                words=bare if letter == "A" else plate,
                counts=True,
            )
            for number, letter in enumerate("ACA", start=1)
        ),
    ]
    return (
        SheetSession(
            heading="Session for the positive control",
            lead=f"Three runs that count, after one warm-up: A-C-A. A: {bare}. C: {plate}. The"
            f" test must find it in {NAMES[best.measure]}. Grey lines do not count.",
            runs=tuple(runs),
        ),
    )


def _conditions(case: Case, plan: SessionPlan) -> tuple[tuple[str, str], ...]:
    """List the conditions to hold."""
    pull = case.pull
    start, stop, rate = (
        from_si(pull.start_m_per_s, "km/h", "speed"),
        from_si(pull.stop_m_per_s, "km/h", "speed"),
        3.6 * pull.rate_m_per_s2,
    )
    windows = [
        (WINDOW_HEADS[each.condition], _capital(window_words(each, named=False)))
        for each in plan.windows
    ]
    sweep = (
        f"Full load from {start:.0f} to {stop:.0f} km/h at {rate:.1f} km/h/s, the same rate in"
        " every run: the power that turns wheels and engine hides in the reading and goes with the"
        " rate."
    )
    return (*windows, ("Pull", sweep), *SAME_EVERYWHERE)


def _capital(words: str) -> str:
    """Begin with a capital."""
    return f"{words[:1].upper()}{words[1:]}"


def catch_words(catch: CatchPlan) -> tuple[str, ...]:
    """
    Say how the return is caught, and why not otherwise.

    Parameters
    ----------
    catch : CatchPlan
        From the plan.

    Returns
    -------
    tuple of str
        Sentences.
    """
    rpm = 60.0 * catch.engine_speed_rev_per_s
    litres = from_si(catch.volume_m3, "L", "volume")
    per_hour = from_si(catch.return_m3_per_s, "L/h", "flow")
    amount = (
        f"About {litres:.1f}\u00a0L in {catch.duration_s:.0f}\u00a0s are predicted"
        f" ({per_hour:.0f}\u00a0L/h): take a measure that holds a third more."
    )
    neutral, loaded = catch.neutral_depression_pa / 1e3, catch.loaded_depression_pa / 1e3
    if catch.in_neutral:
        how = (
            f"Hold {rpm:.0f} rpm in neutral for {catch.duration_s:.0f}\u00a0s after each run. This"
            " pump overflows to the tank, so its flow hardly depends on load, and a steady catch"
            " is several times as sharp as one over a pull."
        )
        check = (
            f"Check it once: depression at {rpm:.0f} rpm is predicted as {neutral:.1f}\u00a0kPa in"
            f" neutral and {loaded:.1f}\u00a0kPa at full load. Should the two readings be far"
            " apart, the system answers to load, and the catch needs a loaded hold."
        )
    else:
        how = (
            f"Hold {rpm:.0f} rpm at load for no more than {catch.duration_s:.0f}\u00a0s, and let"
            " all cool before the next: a minute at full load overheats brakes, tyres and gearbox."
            " Not in neutral: this pump leads its surplus back to its own inlet, so without load"
            " its feed is not that of the pull."
        )
        check = (
            "A return that stays the same is no proof here: with this pump it stays flat until the"
            " reserve is used up, so read it with depression and rail pressure."
        )
    return (how, amount, check, CATCH_SAFELY, EMPTY_TANK)
