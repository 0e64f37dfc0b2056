"""The trade-off front shows each kit where its numbers stand, by shape and letter, not colour."""

import itertools
import re

import pytest

from feedproof.report.front_chart import (
    SHAPES,
    Front,
    FrontPoint,
    front_spec,
    front_svg,
    sentence,
    table,
)
from tests.report.drawing import words


def point(sign: str, kind: str, cost: float, slack: float, exposure: float) -> FrontPoint:
    """Make a kit of the front."""
    return FrontPoint(
        sign=sign,
        kind=kind,
        name=f"name of {sign}",
        title=f"title of {sign}",
        cost=cost,
        slack=slack,
        end_slack=0.5 * slack,
        exposure=exposure,
        interval_m=3.5e7,
        best=sign == "B",
    )


FRONT = Front(
    title="Kits",
    currency="crowns",
    points=(
        point("A", "none", 81.0, 0.13, 1.0),
        point("B", "secondary", 291.0, 0.10, 0.11),
        point("C", "primary", 262.0, 0.11, 1.0),
        point("D", "both", 458.0, 0.07, 0.11),
    ),
)


def test_each_kit_stands_where_its_numbers_are() -> None:
    layers = front_spec(FRONT)["layer"]
    signs = [each for each in layers if each["mark"]["type"] == "point"]
    for mine, drawn in zip(FRONT.points, signs, strict=True):
        (value,) = drawn["data"]["values"]
        assert value["cost"] == mine.cost
        assert value["slack"] == pytest.approx(100 * mine.slack)
        assert drawn["mark"]["shape"] == SHAPES[mine.kind][0]


def test_colour_is_never_the_only_sign() -> None:
    assert len({shape for shape, _ in SHAPES.values()}) == len(SHAPES)
    for narrow in (False, True):
        layers = front_spec(FRONT, narrow=narrow)["layer"]
        labels = [each["mark"]["text"] for each in layers if each["mark"]["type"] == "text"]
        letters = [re.search(r"\b[A-D]\b", text) for text in labels]
        assert [found.group() for found in letters if found] == ["A", "B", "C", "D"]


@pytest.mark.parametrize("narrow", [False, True])
def test_the_picture_names_axes_kinds_and_the_best(narrow: bool) -> None:
    said = words(front_svg(FRONT, narrow=narrow))
    for expected in ("crowns over", "nearest limit left when clean", "▲ secondary", "◆ both"):
        assert expected in said
    if not narrow:
        assert "best: B name of B, 11 in 100" in said


def test_labels_do_not_cover_each_other_where_many_kits_crowd() -> None:
    crowd = tuple(
        point(chr(65 + row), "both", 400.0 + 4.0 * row, 0.08 + 0.001 * (row % 3), 0.11)
        for row in range(20)
    )
    for narrow in (False, True):
        spec = front_spec(Front(title="Kits", currency="cost", points=crowd), narrow=narrow)
        boxes = []
        domain_x = spec["layer"][0]["encoding"]["x"]["scale"]["domain"]
        domain_y = spec["layer"][0]["encoding"]["y"]["scale"]["domain"]
        for each in spec["layer"]:
            if each["mark"]["type"] != "text" or len(each["mark"]["text"]) < 2:
                continue
            (value,) = each["data"]["values"]
            mark = each["mark"]
            x = value["cost"] / domain_x[1] * spec["width"] + mark["dx"]
            up = (domain_y[1] - value["slack"]) / (domain_y[1] - domain_y[0])
            y = up * spec["height"] + mark["dy"]
            length = 0.5 * mark["fontSize"] * len(mark["text"])
            left = x - {"left": 0.0, "right": 1.0, "center": 0.5}[mark["align"]] * length
            boxes.append((left, y - 6, left + length, y + 6))
        for one, other in itertools.combinations(boxes, 2):
            across = one[0] < other[2] and other[0] < one[2]
            upright = one[1] < other[3] and other[1] < one[3]
            assert not (across and upright)


def test_words_and_table_hold_the_same_numbers() -> None:
    assert "Best by the rule is B" in sentence(FRONT)
    assert "Least passes B" in sentence(FRONT)
    assert "left by A" in sentence(FRONT)
    rows = table(FRONT).rows
    assert [row[0][0] for row in rows] == ["A", "B", "C", "D"]
    assert rows[1][1:] == ("11 in 100", "10 %", "5 %", "35\u202f000", "291")


def test_one_kit_alone_can_be_drawn() -> None:
    alone = Front(title="Kits", currency="cost", points=(point("A", "none", 0.0, 0.1, 1.0),))
    assert "A name of A" in words(front_svg(alone))
