"""A chart is the same bytes each time, and its ids are its own."""

import re

from feedproof.report.vega import drawn, framed

SPEC = {
    **framed(
        [{"mark": {"type": kind, "clip": True}} for kind in ("line", "area")], "Room", "A line.", 12
    ),
    "data": {"values": [{"x": 0, "y": 1}, {"x": 1, "y": 3}]},
    "encoding": {
        "x": {"field": "x", "type": "quantitative"},
        "y": {"field": "y", "type": "quantitative", "scale": {"domain": [0, 2]}},
    },
    "width": 100,
    "height": 80,
}


def test_a_chart_that_is_drawn_again_is_the_same_bytes() -> None:
    assert drawn(SPEC, "room", "Room", "A line.") == drawn(SPEC, "room", "Room", "A line.")


def test_what_clips_a_chart_is_its_own_and_is_there() -> None:
    first, second = (drawn(SPEC, name, "Room", "A line.") for name in ("first", "second"))
    for name, svg in (("first", first), ("second", second)):
        used = set(re.findall(r"url\(#([^)]+)\)", svg))
        assert used == {each for each in re.findall(r'id="([^"]+)"', svg) if "clip" in each}
        assert used
        assert all(each.startswith(f"{name}-") for each in used)
