"""An inlet pressure is one depression, in whatever form it was logged, with its sensor's ends."""

from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.log import Log
from feedproof.case.run import Channel, ChannelMap
from feedproof.evidence.inlet import sensor_range, with_depressions
from tests.evidence.run_logs import make_case

AMBIENT = 91e3


def _log(channel: Channel, values: list[float]) -> Log:
    series = np.array(values)
    return Log(
        instrument="logger",
        name="log.csv",
        time_s=np.arange(series.size) / 50.0,
        values={channel: series},
    )


@pytest.mark.parametrize(
    ("channel", "values"),
    [
        (Channel.INLET_DEPRESSION, [10e3, 20e3]),
        (Channel.INLET_PRESSURE_GAUGE, [-10e3, -20e3]),
        (Channel.INLET_PRESSURE_ABS, [81e3, 71e3]),
    ],
)
def test_every_form_becomes_the_same_depression(channel: Channel, values: list[float]) -> None:
    (log,) = with_depressions([_log(channel, values)], AMBIENT)

    assert list(log.values) == [Channel.INLET_DEPRESSION]
    assert log.values[Channel.INLET_DEPRESSION] == pytest.approx([10e3, 20e3])


@pytest.mark.parametrize(
    ("channel", "floor", "ceiling"),
    [
        (Channel.INLET_DEPRESSION, -2e3, 44e3),
        (Channel.INLET_PRESSURE_GAUGE, -44e3, 2e3),
        (Channel.INLET_PRESSURE_ABS, 47e3, 93e3),
    ],
)
def test_the_low_end_of_a_pressure_is_the_ceiling_of_the_depression(
    channel: Channel, floor: float, ceiling: float
) -> None:
    case = make_case()
    entry = ChannelMap(channel=channel, column="p", floor=floor, ceiling=ceiling)
    logger = replace(case.instruments["logger"], channels=(entry,))
    case = replace(case, instruments={**case.instruments, "logger": logger})
    found = sensor_range(case, "logger", Channel.INLET_DEPRESSION, AMBIENT)

    assert found.ceiling == pytest.approx(44e3)
    assert found.floor == pytest.approx(-2e3)
