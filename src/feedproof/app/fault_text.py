"""Faults and their signs as text for a console."""

from feedproof.app.faulting import FaultTable
from feedproof.app.text import findings_text, table
from feedproof.core.units import from_si

HEAD = (
    "fault",
    "severity",
    "inlet",
    "behind pick-up",
    "ahead of filter",
    "standing",
    "return",
    "slow return",
    "slow gas",
    "knee",
    "signs",
    "fits",
)


def fault_text(told: FaultTable) -> str:
    """
    Write the table for a console.

    Parameters
    ----------
    told : FaultTable
        The table.

    Returns
    -------
    str
        Changes from the vehicle's own baseline, their signs and what they leave open.
    """
    rows = []
    for line in told.lines:
        change = line.change
        rows.append(
            [
                line.fault.replace("_", " "),
                f"{line.severity:g}",
                *(
                    _kpa(value)
                    for value in (
                        change.depression_pa,
                        change.pickup_side_pa,
                        change.filter_side_pa,
                        change.standing_pa,
                    )
                ),
                _percent(change.return_percent),
                _percent(change.slow_return_percent),
                f"{100 * change.slow_gas_fraction:+.0f} %",
                _kpa(change.knee_pa),
                line.signs,
                ", ".join(each.replace("_", " ") for each in line.fitting) or "no single fault",
            ]
        )
    sound = told.sound
    return "\n".join(
        [
            told.title,
            told.note,
            f"{told.vehicle}; {told.configuration.replace('+', ' + ')}",
            "",
            f"Sound: {_kpa(sound.depression_pa).lstrip('+')} kPa depression at the pump inlet at"
            f" rated speed, {_kpa(sound.standing_pa).lstrip('+')} kPa standing.",
            "Changes from the vehicle's own baseline: depressions and knee in kPa at full load,"
            " rated speed; return and slow return in log-percent; gas without load.",
            table(list(HEAD), rows),
            "Signs: + rises, - falls, 0 less than the readings can show. Several faults that fit"
            " mean: cannot tell.",
            findings_text(told.findings),
        ]
    )


def _kpa(value_pa: float) -> str:
    """Write a change of pressure."""
    return f"{from_si(value_pa, 'kPa', 'pressure'):+.1f}"


def _percent(value: float) -> str:
    """Write a change of a flow; one that has all but ceased is gone."""
    return "gone" if value < -300.0 else f"{value:+.0f}"
