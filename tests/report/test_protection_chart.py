"""
The protection picture shows what it was given: places, shapes, names, water and the plain list.

Outside checks: a decade is a tenth of a number, wherever it is drawn; letters of 13 px or more; no
two configurations share shape, colour or dash; a width of 340 px holds all.
"""

import re
from dataclasses import replace

import numpy as np
import pytest

from feedproof.report.protection_chart import Scale, mark, protection_svg, scale_of
from feedproof.report.protection_model import (
    ProtectionLine,
    ProtectionPicture,
    percent,
    sentence,
    share,
    table,
)
from feedproof.report.svg import NARROW
from tests.report.drawing import SVG, parsed, strokes, type_sizes, words
from tests.report.protection_pictures import UNSTOPPED, five

EDGES = (2e-6, 4e-6, 6e-6)
narrow_or_wide = pytest.mark.parametrize("narrow", [False, True])


def two(second: list[list[float]], **others: object) -> ProtectionPicture:
    """Compare one kit in two bands."""
    said = {"name": "kit", **others}
    kit = ProtectionLine(relative=np.array(second), **said)  # type: ignore[arg-type]
    base = ProtectionLine(name="bare", relative=np.ones((3, 2)), water_carried=(1.0, 1.0, 1.0))
    return ProtectionPicture(title="Test", edges_m=EDGES, lines=(base, kit), unstopped=UNSTOPPED)


@narrow_or_wide
def test_every_name_tick_and_unstopped_thing_is_written_in_the_picture(narrow: bool) -> None:
    shown = five()
    told = words(protection_svg(shown, narrow=narrow))
    for line in shown.lines:
        assert line.name in told
    for band in shown.bands:
        assert band in told
    for item in UNSTOPPED:
        assert item in told
    assert "What no filter stops" in told
    assert "5 % (2 to 21)" in told
    assert "cannot tell" in told
    assert "µm(c)" in told


@narrow_or_wide
def test_letters_can_be_read_and_nothing_leaves_the_picture(narrow: bool) -> None:
    svg = protection_svg(five(), narrow=narrow)
    assert min(type_sizes(svg)) >= 13.0
    root = parsed(svg)
    width, height = float(root.get("width", "0")), float(root.get("height", "0"))
    assert width == NARROW or not narrow
    for element in root.iter(f"{SVG}text"):
        x, y = float(element.get("x", "0")), float(element.get("y", "0"))
        size = float(element.get("font-size", "14"))
        wide = 0.55 * size * len("".join(element.itertext()))
        left = {"start": x, "middle": x - 0.5 * wide, "end": x - wide}[
            element.get("text-anchor", "start")
        ]
        assert left >= -1.0, "".join(element.itertext())
        assert left + wide <= width + 1.0, "".join(element.itertext())
        assert y <= height


@narrow_or_wide
def test_no_two_configurations_share_a_dash_or_a_shape(narrow: bool) -> None:
    svg = protection_svg(five(), narrow=narrow)
    lines = {
        (element.get("stroke"), element.get("stroke-dasharray", ""))
        for element in parsed(svg).iter(f"{SVG}path")
        if element.get("stroke-width") == "1.2"
    }
    assert len(lines) == len({dash for _, dash in lines}) == 5
    # Shapes without their colours: ring and disc differ in their fill of paper.
    shapes = {
        re.sub(r"#(?!fbfaf7)[0-9A-Fa-f]{6}", "#", mark(place, 0.0, 0.0)) for place in range(5)
    }
    assert len(shapes) == 5
    assert strokes(svg, 1.9)


def test_a_tenth_is_a_decade_away_everywhere() -> None:
    scale = Scale(4, 1.0, 100.0, 500.0)
    assert scale.at(1.0) == 500.0
    assert scale.at(1e-4) == pytest.approx(100.0)
    for value in (1.0, 0.3, 0.02):
        assert scale.at(value) - scale.at(value / 10.0) == pytest.approx(100.0)


@narrow_or_wide
def test_marks_stand_at_the_numbers(narrow: bool) -> None:
    shown = two([[0.5, 0.05], [0.4, 0.04], [0.6, 0.06]], water_carried=(0.25, 0.2, 0.3))
    svg = protection_svg(shown, narrow=narrow)
    discs = [
        (float(each.get("cx", "0")), float(each.get("cy", "0")))
        for each in parsed(svg).iter(f"{SVG}circle")
        if each.get("fill") != "#fbfaf7"
    ]
    rings = [
        (float(each.get("cx", "0")), float(each.get("cy", "0")))
        for each in parsed(svg).iter(f"{SVG}circle")
        if each.get("fill") == "#fbfaf7"
    ]
    along = 0 if narrow else 1
    one, half, twentieth = rings[0][along], discs[0][along], discs[1][along]
    # log10 2 and log10 20 below the top, in the same pixels for each decade; water lies flat.
    assert (one - twentieth) / (one - half) == pytest.approx(np.log10(20) / np.log10(2), rel=0.02)
    assert rings[0][along] == rings[1][along]
    water, full = discs[-1][0], rings[-1][0]
    track = next(
        float(each.get("x1", "0"))
        for each in parsed(svg).iter(f"{SVG}line")
        if float(each.get("y1", "0")) == discs[-1][1] and each.get("stroke-width") == "1"
    )
    assert (water - track) / (full - track) == pytest.approx(0.25, abs=0.01)


@narrow_or_wide
def test_what_is_below_the_axis_gets_an_arrow_and_its_number_in_the_table(narrow: bool) -> None:
    plain = protection_svg(two([[0.5, 0.2], [0.4, 0.1], [0.6, 0.3]]), narrow=narrow)
    deep = two([[0.5, 1e-7], [0.4, 0.0], [0.6, 1e-6]])
    arrows = [
        svg.count('stroke-width="1.5" stroke-linejoin')
        for svg in (plain, protection_svg(deep, narrow=narrow))
    ]
    assert arrows == [0, 1]
    assert table(deep).rows[1][2] == "1.0e-07 (0 to 1.0e-06)"
    assert scale_of(deep, 0.0, 1.0).decades == 4


def test_bands_without_particles_are_said_and_not_drawn() -> None:
    shown = five()
    assert table(shown).rows[-2][-1].startswith("no particles")
    svg = protection_svg(shown)
    assert "nan" not in svg.lower().replace(UNSTOPPED[0], "")


def test_sentence_and_table_hold_the_same_numbers() -> None:
    shown = two([[0.5, 0.05], [0.4, 0.04], [0.6, 0.06]], water_carried=(0.25, 0.2, 0.3))
    said = sentence(shown)
    assert "kit: from 0.050 at 4–6 µm(c) to 0.50 at 2–4 µm(c)" in said  # noqa: RUF001
    assert "kit 25 % (20 to 30)" in said
    assert "No filter stops petrol" in said
    found = table(shown)
    assert found.rows[0] == ("2–4 µm(c)", "1.00", "0.50 (0.40 to 0.60)")  # noqa: RUF001
    assert found.rows[-1] == ("free water carried over", "100 %", "25 % (20 to 30)")
    assert "nothing about the life" in found.note


@pytest.mark.parametrize(
    ("value", "told"),
    [(1.0, "1.00"), (0.996, "1.00"), (0.167, "0.17"), (0.0, "0"), (1e-5, "1.0e-05")],
)
def test_numbers_have_two_digits(value: float, told: str) -> None:
    assert share(value) == told


def test_small_shares_of_water_do_not_become_none() -> None:
    assert [percent(each) for each in (0.0, 0.0004, 0.052, 0.62, 1.0)] == [
        "0",
        "0.04",
        "5.2",
        "62",
        "100",
    ]


@pytest.mark.parametrize(
    ("second", "words_of_it"),
    [
        ([[0.5, 0.5], [0.6, 0.4], [0.7, 0.6]], "not in order"),
        ([[0.5, 0.5], [-0.1, 0.4], [0.7, 0.6]], "not in order"),
        ([[0.5], [0.4], [0.6]], "need typical"),
    ],
)
def test_what_cannot_be_is_refused(second: list[list[float]], words_of_it: str) -> None:
    with pytest.raises(ValueError, match=words_of_it):
        two(second)


def test_shares_of_water_and_the_number_of_configurations_are_checked() -> None:
    with pytest.raises(ValueError, match="from 0 to 1"):
        two([[1.0, 1.0]] * 3, water_carried=(5.0, 2.0, 21.0))
    shown = five()
    with pytest.raises(ValueError, match="1 to 5"):
        replace(shown, lines=(*shown.lines, shown.lines[-1]))
    with pytest.raises(ValueError, match="do not rise"):
        replace(shown, edges_m=shown.edges_m[::-1])


@narrow_or_wide
def test_a_long_name_does_not_run_into_its_bar_of_water(narrow: bool) -> None:
    shown = two(
        [[0.5, 0.05], [0.4, 0.04], [0.6, 0.06]],
        water_carried=(0.07, 0.03, 0.24),
        name="secondary + primary",
    )
    root = parsed(protection_svg(shown, narrow=narrow))
    name = [e for e in root.iter(f"{SVG}text") if e.text == "secondary + primary"][-1]
    right = float(name.get("x", "0")) + 0.58 * 13.0 * len("secondary + primary")
    y = float(name.get("y", "0"))
    bars = [e for e in root.iter(f"{SVG}line") if e.get("stroke-width") == "3"]

    assert bars
    for bar in bars:
        beside = abs(float(bar.get("y1", "0")) - y) < 10.0
        assert not beside or float(bar.get("x1", "0")) > right
