"""A plan as a workshop reads it: the answer first, then what it stands on."""

import math

from feedproof.app.plan_result import MeasurePlan, SessionPlan, Window
from feedproof.app.plan_words import NAMES, chance_words, dashed, least_chance, size
from feedproof.evidence.plan.improve import SCATTER
from feedproof.evidence.plan.orders import HURTS_SOURCE

MOST_STEPS = 6


def plan_text(plan: SessionPlan) -> str:
    """
    Write a plan for a console.

    Parameters
    ----------
    plan : SessionPlan
        The plan.

    Returns
    -------
    str
        Its first paragraph is the answer.
    """
    blocks = [
        " ".join(plan.answer),
        "\n".join(_marked("why this order", plan.reasons)),
        _all_orders(plan),
        *(_measure(plan, each) for each in plan.measures),
        _all_of_them(plan),
        _looks(plan),
        "\n".join(_marked("conditions to hold", [window_words(each) for each in plan.windows])),
        "\n".join(_marked("positive control", [each.sentence for each in plan.controls])),
        "\n".join(_marked("what must be known", [str(each) for each in plan.findings])),
    ]
    if plan.sheet:
        blocks.append(f"run sheet: {plan.sheet}")
    return "\n\n".join(block for block in blocks if block)


def _marked(head: str, lines: tuple[str, ...] | list[str]) -> list[str]:
    """Write a head with its lines below, or nothing."""
    return [f"{head}:", *(f"  - {line}" for line in lines)] if lines else []


def _all_of_them(plan: SessionPlan) -> str:
    """Say how likely all measures are settled together."""
    if plan.chance_of_all is None:
        return ""
    return (
        "All margins that can be excluded together: with a chance of at least"
        f" {chance_words(plan.chance_of_all)} when there is no loss."
    )


def _measure(plan: SessionPlan, measure: MeasurePlan) -> str:
    """Write one measure."""
    margin = (
        f"margin {size(measure, measure.margin)} ({measure.margin_source})"
        if measure.margin is not None
        else f"no margin: {measure.margin_source}"
    )
    lines = [f"{NAMES[measure.measure]}: {margin}", f"  {_repeatability(measure)}"]
    if measure.repeatability is not None:
        lines.append(f"  {dashed(plan.order)}: {promise_words(measure)}")
    lines += ["", *_orders(measure, plan.chance), "", *_steps(plan, measure), *_what_ifs(measure)]
    return "\n".join(lines)


def _repeatability(measure: MeasurePlan) -> str:
    """Say what the scatter is taken from."""
    if measure.repeatability is None:
        rows = ", ".join(
            f"{each.runs} runs: {each.smallest_in_repeatabilities:.1f} repeatabilities"
            for each in measure.baseline_repeats
        )
        return (
            "no repeatability is declared: one run of each can never decide. Baseline runs alone,"
            f" in one session, would let A-B-A exclude margins of ({rows})."
        )
    return (
        f"repeatability {size(measure, measure.repeatability, loss=False)}"
        f" ({measure.degrees_of_freedom:g} degrees of freedom; {measure.repeatability_source})"
    )


def promise_words(measure: MeasurePlan) -> str:
    """
    Say what the planned order can do.

    Parameters
    ----------
    measure : MeasurePlan
        Of a measure with a repeatability.

    Returns
    -------
    str
        Smallest margin, and chance at the agreed one.
    """
    low, middle, high = (size(measure, each) for each in measure.planned.smallest)
    text = (
        f"smallest margin excluded without a loss, and smallest loss found: {low}, {middle} or"
        f" {high} with a chance of 80, 90 or 95\u00a0%"
    )
    chance = least_chance(measure)
    if measure.margin is None or chance is None:
        return text
    alone = "" if measure.needed_order is None else f"; {measure.needed_order} would do alone"
    if measure.needed_order == measure.planned.order:
        alone = ""
    return f"{text}; the margin: {chance_words(chance)}{alone}"


def _all_orders(plan: SessionPlan) -> str:
    """Write what the orders have in common for all measures."""
    lines = [
        f"  {'order':<14}{'runs':>5}{'changes':>9}{'g':>8}{'g set-up':>10}{'dof':>5}"
        f"{'jump':>8}{'odd end':>9}{'warm-up':>9}{'bent':>7}  "
    ]
    for row in plan.measures[0].orders:
        factor = f"{row.variance_factor:.3f}" if math.isfinite(row.variance_factor) else "none"
        mark = "<- planned" if row.order == plan.order else ""
        mark = f"a bad one: {row.trap}" if row.trap else mark
        h = row.hurts
        known = (h.jump, h.odd_end, h.warm_up, h.quadratic) if h else (None,) * 4
        jump, odd, warm, bent = ("-" if each is None else f"{each:.3g}" for each in known)
        lines.append(
            f"  {row.order:<14}{row.runs:>5}{row.changes:>9}{factor:>8}{row.setup_factor:>10.2f}"
            f"{row.degrees_of_freedom:>5}{jump:>8}{odd:>9}{warm:>9}{bent:>7}  {mark}".rstrip()
        )
    lines += [
        "  g: variance of the difference over that of a run; g set-up: over that of opening the",
        "  line, when each change does; dof: degrees of freedom of the runs alone; jump, odd end,",
        f"  warm-up, bent: drift that is no straight line, {HURTS_SOURCE}",
    ]
    return "\n".join(["orders:", *lines])


def _orders(measure: MeasurePlan, chance: float) -> list[str]:
    """Write what each order can exclude."""
    sized = measure.repeatability is not None
    unit = ("kPa" if measure.unit == "Pa" else "%") if sized else "repeatabilities"
    last = "chance at the margin" if sized else f"repeatability for {100 * chance:.0f} %"
    lines = [f"  {'order':<14}{'excludes, ' + unit + ' (80 / 90 / 95 %)':<44}{last}"]
    for row in measure.orders:
        figures = " / ".join(_bare(measure, each, sized=sized) for each in row.smallest)
        known = [each for each in (row.chance, row.chance_checked) if each is not None]
        end = chance_words(min(known)) if known else "-"
        if not sized and row.largest_repeatability is not None:
            end = f"at most {size(measure, row.largest_repeatability, loss=False)}"
        mark = " (a bad one)" if row.trap else ""
        lines.append(f"  {row.order:<14}{figures:<44}{end}{mark}")
    return lines


def _bare(measure: MeasurePlan, value: float, *, sized: bool) -> str:
    """Write a figure without its unit."""
    if not math.isfinite(value):
        return "none"
    return size(measure, value).split("\u00a0")[0] if sized else f"{value:.2f}"


def _steps(plan: SessionPlan, measure: MeasurePlan) -> list[str]:
    """Write what each step costs and which to improve first."""
    lines = [f"  steps, {measure.instruments}:"]
    for step in measure.steps[:MOST_STEPS]:
        share = (
            "share not known" if step.share is None else f"{100 * step.share:5.1f} % of variance"
        )
        kind = "a run" if step.of_a_run else "the difference"
        without = (
            ""
            if not math.isfinite(step.smallest_without)
            else f"; without it {size(measure, step.smallest_without)}"
        )
        mark = " (assumed)" if step.assumed else ""
        lines.append(
            f"    {share}  {step.name}: {size(measure, step.u, loss=False)} in {kind}"
            f"{without}{mark}"
        )
    lines.append(f"  improve first: {first_words(plan, measure)}")
    return lines


def first_words(plan: SessionPlan, measure: MeasurePlan) -> str:
    """
    Say which step to improve first.

    Parameters
    ----------
    plan : SessionPlan
        For the order.
    measure : MeasurePlan
        Of a measure.

    Returns
    -------
    str
        One sentence.
    """
    first = measure.first_step
    if first is None:
        return "declare a repeatability; without one nothing else can be ranked."
    if first.name == SCATTER:
        best = min(
            (each for each in measure.steps if math.isfinite(each.smallest_without)),
            key=lambda each: each.smallest_without,
            default=None,
        )
        other = (
            ""
            if best is None
            else " The best that any instrument could buy is"
            f" {size(measure, best.smallest_without)} ({best.name} made perfect)."
        )
        return (
            "the scatter from run to run, by more runs, not by a better instrument: one more run of"
            f" each brings the smallest margin from {size(measure, first.smallest_now)} to"
            f" {size(measure, first.smallest_with_more_runs)} (90 % or as asked).{other}"
        ).replace("(90 % or as asked)", f"({100 * plan.chance:.0f}\u00a0% chance)")
    return (
        f"{first.name}: made perfect it brings the smallest margin from"
        f" {size(measure, first.smallest_now)} to {size(measure, first.smallest_if_perfect)}, more"
        f" than one more run of each ({size(measure, first.smallest_with_more_runs)})."
    )


def _what_ifs(measure: MeasurePlan) -> list[str]:
    """Write the what-ifs."""
    lines = ["  what other instruments would exclude:"]
    for each in measure.what_ifs:
        parts = []
        if each.u_run > 0.0:
            parts.append(f"{size(measure, each.u_run, loss=False)} in a run")
        if each.u_shared > 0.0:
            parts.append(f"{size(measure, each.u_shared, loss=False)} in the difference")
        smallest = size(measure, each.smallest)
        if smallest == "none":
            smallest = "not known"
        share = "" if each.share is None else f"; {100 * each.share:.0f} % of variance"
        lines.append(f"    {smallest:>10}  {each.title} (u {', '.join(parts)}{share})")
    return lines


def _looks(plan: SessionPlan) -> str:
    """Offer looks while runs are still added."""
    option = plan.sequential
    listed = ", ".join(str(each) for each in option.looks)
    return (
        f"instead: look after {listed} runs of each and stop at the first look that passes, each"
        f" limit at {100 * option.confidence:.0f}\u00a0%. A loss of exactly the margin then passes"
        f" with {option.false_accept:.3f}, a kit without loss with {option.power:.2f} (one look at"
        f" {option.looks[-1]} of each: {option.single_look_power:.2f}), in"
        f" {option.mean_runs:.1f} runs on average instead of {2 * option.looks[-1]}, added in the"
        f" order {dashed(option.order)} (alternating: {option.mean_runs_alternating:.1f})"
        f" ({option.source}; margin {option.margin_in_repeatabilities:g} repeatabilities,"
        f" {option.archive_dof:g} degrees of freedom). Declare the looks with the margins"
        f" ([margins] looks = [{listed}]): the same looks undeclared pass it with"
        f" {option.undeclared_false_accept:.3f}."
    )


def window_words(window: Window, *, named: bool = True) -> str:
    """
    Say how far runs may be apart in one condition.

    Parameters
    ----------
    window : Window
        The condition.
    named : bool
        Begin with its name.

    Returns
    -------
    str
        Two sentences.
    """
    name, unit, factor, digits = {
        "fuel_temperature": ("fuel temperature at the pump inlet", "K", 1.0, 1),
        "fuel_level": ("fuel level", "% of the tank", 100.0, 1),
        "ambient_pressure": ("ambient pressure", "kPa", 1e-3, 1),
    }[window.condition]
    head = f"{name}: " if named else ""
    moves = window.moves_pa / factor / 1e3
    per = {"K": "K", "% of the tank": "% of the tank", "kPa": "kPa"}[unit]
    alike = (
        ""
        if window.as_it_is is None or window.as_it_is >= window.corrected
        else f"within {_figure(factor * window.as_it_is, digits)}\u00a0{unit} runs compare as they"
        " are; "
    )
    return (
        f"{head}{alike}up to {_figure(factor * window.corrected, digits)}\u00a0{unit} apart they"
        f" are corrected through the model, beyond that the comparison is refused ({window.why})."
        f" One {per} moves the bare line by {moves:+.3f}\u00a0kPa."
    )


def _figure(value: float, digits: int) -> str:
    """Write a window, cut rather than rounded up."""
    scale = 10.0**digits
    return f"{math.floor(value * scale + 1e-9) / scale:.{max(digits, 0)}f}"
