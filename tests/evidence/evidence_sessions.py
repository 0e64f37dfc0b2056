"""Invented sessions for the tests of answers: reduced runs with their records."""

from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

import numpy as np

from feedproof.case.margin import Margins, Measure, Repeatability
from feedproof.case.run import Role, Run
from feedproof.evidence.reduced import ReducedRun
from feedproof.evidence.trial import Trial

START = datetime(2024, 5, 6, 9, 0, tzinfo=UTC)
KIT = "secondary"


def reduced_run(number: int, letter: str, **figures: Any) -> ReducedRun:
    """Make a reduced run without curves."""
    empty = np.empty(0)
    settings = {
        "configuration": KIT if letter == "B" else "baseline",
        "session": "monday",
        "setup": "loop",
        "role": Role.COMPARE,
        "position": float(number - 1),
        **figures,
    }
    return ReducedRun(
        number=number,
        speed_m_per_s=empty,
        wheel_power_w=empty,
        corrected_power_w=empty,
        depression_pa=empty,
        rail_deviation_pa=empty,
        **settings,
    )


def record(run: ReducedRun, **changes: Any) -> Run:
    """Make the record behind a reduced run."""
    made = Run(
        number=run.number,
        kits=() if run.configuration == "baseline" else (run.configuration,),
        session=run.session,
        started=START + timedelta(minutes=10 * run.number),
        role=run.role,
        setup=run.setup,
        logs=(),
        ambient_pressure_abs_pa=101_000.0,
        air_temperature_k=298.0,
        relative_humidity_fraction=0.4,
        fuel_level_fraction=0.6,
        fuel="summer",
        elements={"factory_filter": "F-1"},
    )
    return replace(made, **changes)


def trial(order: str, margins: Margins | None = None, **columns: list[Any]) -> Trial:
    """Make a trial from an order and one list for each figure."""
    runs = tuple(
        reduced_run(i + 1, letter, **{name: column[i] for name, column in columns.items()})
        for i, letter in enumerate(order)
    )
    return Trial(
        configuration=KIT,
        reduced=runs,
        records=tuple(record(run) for run in runs),
        margins=margins or Margins(declared=START),
        factory_elements=("factory_filter",),
    )


def repeatability(measure: Measure, standard_deviation: float, **changes: Any) -> Repeatability:
    """Make a declared repeatability with eight degrees of freedom."""
    settings = {"degrees_of_freedom": 8.0, "source": "invented repeats", **changes}
    return Repeatability(measure=measure, standard_deviation=standard_deviation, **settings)
