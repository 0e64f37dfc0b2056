"""The fit as text for a console: two sentences first, then tables."""

from collections.abc import Sequence

from feedproof.app.fit_result import FittedParameter, LineFit
from feedproof.app.text import findings_text, kpa, litres_per_hour, table
from feedproof.evidence.fit.disagreement import Check, Overall
from feedproof.evidence.fit.foreseen import Foreseen

STANDING_WORDS = {
    "within_runs": "no more than the runs leave open",
    "within_both": "more than the runs leave open",
    "beyond": "BEYOND what both allow",
}

PROVE_DIFFERS = (
    "These come from the fitted parameters. The verb prove judges the worst conditions by the"
    " description moved by the measured difference, so its figures differ."
)
"""What the predictions of ``fit`` rest on, beside those of ``prove``."""


def fit_text(fit: LineFit) -> str:
    """
    Write a fit for a console.

    Parameters
    ----------
    fit : LineFit
        The fit.

    Returns
    -------
    str
        What was learned and what not, then the tables.
    """
    parts = [fit.learned, fit.not_learned, *filter(None, (fit.caution, fit.bias)), "", fit.title]
    if fit.note:
        parts.append(fit.note)
    parts += [f"Kit not as described. {each.sentence}" for each in fit.misdescribed]
    parts += ["", "Parameters, 5 to 95 %, before and after the runs:", _parameters(fit.parameters)]
    parts += _together(fit)
    parts += ["", "Runs against the line as described:", _checks(fit.before)]
    parts.append(_overall(fit.before_overall))
    parts += ["", "Runs against the fitted line:", _checks(fit.after), _overall(fit.after_overall)]
    if fit.elements:
        parts += ["", *(each.sentence for each in fit.elements)]
    parts += ["", "Inlet pressure at the top of the pull, 5 to 95 %:", _foreseen(fit.foreseen)]
    parts += [PROVE_DIFFERS, *_beyond(fit.foreseen)]
    parts += ["", *fit.scatter]
    parts.append(
        f"{fit.sample.draws} draws worth {fit.sample.effective:.0f} independent ones, R-hat"
        f" {fit.sample.r_hat:.3f}, {100 * fit.sample.acceptance:.0f} % of the proposals taken."
    )
    if fit.findings:
        parts += ["", findings_text(fit.findings)]
    return "\n".join(parts)


def _parameters(parameters: Sequence[FittedParameter]) -> str:
    """Lay out the parameters."""
    head = ("", "unit", "before", "after", "best", "sd after/before", "")
    rows = []
    for one in parameters:
        word = one.word
        if one.partners:
            word += f" with {', '.join(one.partners)}"
        rows.append(
            (
                one.name,
                one.unit,
                f"{_digits(one, one.before.low)} to {_digits(one, one.before.high)}",
                f"{_digits(one, one.after.low)} to {_digits(one, one.after.high)}",
                _digits(one, one.best),
                f"{one.ratio:.2f}",
                word,
            )
        )
    return table(head, rows)


def _digits(one: FittedParameter, value: float) -> str:
    """Write a value of a parameter."""
    if one.unit == "Pa":
        return f"{value:.0f}"
    return f"{value:.3f}"


def _together(fit: LineFit) -> list[str]:
    """Name the pairs of which only a combination is known."""
    lines = [
        f"Only the {'sum' if each.correlation < 0 else 'difference'} of {each.first} and"
        f" {each.second} is known (correlation {each.correlation:.2f})."
        for each in fit.inseparable
    ]
    informed = sum(value > 1.0 for value in fit.information)
    lines.append(
        f"Of {len(fit.information)} independent combinations the runs inform {informed} better than"
        " they were known before."
    )
    return lines


def _checks(checks: Sequence[Check]) -> str:
    """Lay out runs against a prediction."""
    head = ("session", "configuration", "measure", "runs", "difference", "2 u runs", "2 u both", "")
    rows = []
    for each in checks:
        rows.append(
            (
                each.session,
                each.configuration,
                each.measure,
                ",".join(map(str, each.runs)),
                ("+" if each.difference > 0 else "") + _amount(each, each.difference),
                _amount(each, 2.0 * each.runs_u),
                _amount(each, 2.0 * each.both_u),
                STANDING_WORDS[each.standing.value],
            )
        )
    return table(head, rows)


def _amount(check: Check, value: float) -> str:
    """Write a difference of a check."""
    return f"{value:.1f} %" if check.measure == "return" else f"{value / 1e3:.2f} kPa"


def _overall(overall: Overall) -> str:
    """Say what all checks come to."""
    word = "as expected" if overall.agrees else "more than expected"
    return (
        f"All together: chi-square {overall.chi_square:.1f} with {overall.degrees_of_freedom}"
        f" degrees of freedom, {word} (95 %: {overall.expected_below:.1f})."
    )


def _foreseen(foreseen: Sequence[Foreseen]) -> str:
    """Lay out the predictions."""
    head = (
        "condition",
        "configuration",
        "described kPa",
        "before the runs",
        "after the runs",
        "return L/h",
        "feed margin",
        "below limit",
        "",
    )
    rows = []
    for each in foreseen:
        chance = "no limit known" if each.below_limit is None else _chance(each.below_limit)
        after = f"{kpa(each.fitted.low)} to {kpa(each.fitted.high)}"
        note = "beyond the tests" if each.beyond_tests else ""
        if each.withheld:
            after, chance, note = "withheld", "withheld", each.withheld
        rows.append(
            (
                each.condition,
                each.configuration,
                kpa(each.described_abs_pa),
                f"{kpa(each.unfitted.low)} to {kpa(each.unfitted.high)}",
                after,
                litres_per_hour(each.return_m3_per_s.middle),
                f"{each.feed_margin.middle:.2f}",
                chance,
                note,
            )
        )
    return table(head, rows)


def _chance(share: float) -> str:
    """Write a chance without claiming more than the sample can show."""
    if share < 0.001:
        return "< 0.1 %"
    if share > 0.999:
        return "> 99.9 %"
    return f"{100.0 * share:.1f} %"


def _beyond(foreseen: Sequence[Foreseen]) -> list[str]:
    """Say in what the predictions lie outside the tests."""
    by_condition: dict[str, dict[str, None]] = {}
    for each in foreseen:
        told = by_condition.setdefault(each.condition, {})
        told.update(dict.fromkeys(each.beyond_tests))
    return [
        f"Beyond the tests at {name}: {'; '.join(told)}."
        for name, told in by_condition.items()
        if told
    ]
