"""The life fan shows the readings that it was given, in words and in numbers too."""

import math

import numpy as np
import pytest

from feedproof.report.life_chart import LifeFan, life_spec, life_svg, sentence, table
from tests.report.drawing import words

SHARES = (0.05, 0.25, 0.5, 0.75, 0.95)
NORMAL = (-1.645, -0.674, 0.0, 0.674, 1.645)


def fan() -> LifeFan:
    """Make the fan of elements whose resistance grows by e in a lognormal distance."""
    distance = np.linspace(0.0, 8e7, 61)
    grown = [np.expm1(distance / (6.6e7 * math.exp(-0.76 * z))) for z in NORMAL]
    return LifeFan(
        title="Secondary",
        distance_m=distance,
        share=SHARES,
        depression_pa=15e3 + 4e3 * np.array(grown),
        change_out_pa=27.6e3,
        alarm_pa=28.8e3,
        interval_m=3.1e7,
        where="at 3000 rpm in neutral with fuel at 40 °C",
    )


def test_the_sentence_reads_the_fan_at_the_interval() -> None:
    shown = fan()
    said = sentence(shown)
    for share in (0.05, 0.5, 0.95):
        value = np.interp(shown.interval_m, shown.distance_m, shown.row(share)) / 1e3
        assert f"{value:.1f}" in said
    assert "31\u202f000 km" in said
    assert "27.6 kPa" in said


@pytest.mark.parametrize("narrow", [False, True])
def test_levels_and_edges_have_their_names_on_them(narrow: bool) -> None:
    drawn = words(life_svg(fan(), narrow=narrow))
    for name in ("alarm 28.8", "change the elements 27.6", "interval", "half below"):
        assert name in drawn


def test_the_chart_holds_every_point_of_the_fan() -> None:
    shown = fan()
    points = life_spec(shown)["layer"][0]["data"]["values"]
    assert len(points) == shown.distance_m.size
    assert points[7]["middle"] == pytest.approx(shown.row(0.5)[7] / 1e3)


def test_the_table_begins_with_new_elements() -> None:
    rows = table(fan()).rows
    assert rows[0] == ("0", "15.0", "15.0", "15.0", "15.0", "15.0")
    assert rows[-1][0] == "80\u202f000"
