"""Pictures of a live page: drawn for their width, readable, reachable, true to their figures."""

import re
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest

from feedproof.app import api
from feedproof.app.what_if import PreparedCase, prepared_case
from feedproof.app.what_if_asked import WhatIf
from feedproof.app.what_if_pictures import (
    curves_of,
    envelope_figures,
    feed_line_figure,
    feed_line_of,
    speed_figure,
    staircase_figure,
    width_drawn,
)
from feedproof.app.what_if_result import WhatIfAnswer
from feedproof.report.feed_line_picture import feed_line_svg
from feedproof.report.live import VARIABLES, Figure, for_page
from feedproof.report.notation import DECIMALS, REPORT, Notation
from feedproof.report.ruler_picture import ruler_svg
from feedproof.report.speed_chart import speed_svg, y_range
from feedproof.report.speed_words import SpeedMeasure
from feedproof.report.svg import stroke_of, wrapped
from tests.app.test_network_case import made, network_text
from tests.report.drawing import SVG, outside, overlaps, parsed, type_sizes, words
from tests.report.publications import publication

WIDTHS = (328.0, 360.0, 480.0, 608.0, 736.0, 960.0, 1280.0)
KITS = ("secondary", "primary")


@cache
def prepared() -> PreparedCase:
    """Prepare the demonstration."""
    return prepared_case(api.PACKAGED_DEMO)


@cache
def answered() -> WhatIfAnswer:
    """Ask the demonstration with two kits, loaded."""
    return prepared().answer(WhatIf(kits=KITS, loading_share=0.8, altitude_m=1500.0))


@pytest.fixture(scope="module")
def branched(tmp_path_factory: pytest.TempPathFactory) -> WhatIfAnswer:
    """Ask the branched case with a kit in one branch."""
    folder = Path(made(tmp_path_factory.mktemp("branched") / "case", network_text()))
    return prepared_case(folder).answer(WhatIf(kits=("badly_plumbed",)))


def figures(answer: WhatIfAnswer, width: float, notation: Notation = REPORT) -> list[Figure]:
    """Draw everything that needs no converter."""
    return [
        staircase_figure(answer, width, notation),
        *(speed_figure(answer, measure, width, notation=notation) for measure in SpeedMeasure),
        *(feed_line_figure(each, width, notation) for each in answer.configurations),
    ]


@pytest.mark.parametrize("width", WIDTHS)
def test_every_picture_is_as_wide_as_its_container_with_readable_type(width: float) -> None:
    for figure in figures(answered(), width):
        root = parsed(figure.svg)
        assert float(root.get("width", "0")) == width
        assert root.get("viewBox", "").split()[2] == f"{width:g}"
        assert min(type_sizes(figure.svg)) >= 12.0
        assert "transform" not in root.attrib


@pytest.mark.parametrize("width", WIDTHS)
def test_no_label_lies_over_another_or_leaves_its_picture(
    width: float, branched: WhatIfAnswer
) -> None:
    for answer in (answered(), branched):
        for figure in figures(answer, width):
            assert overlaps(figure.svg) == [], figure.name
            assert outside(figure.svg) == [], figure.name


@pytest.mark.parametrize("width", [328.0, 736.0])
@pytest.mark.parametrize("pressure", DECIMALS)
def test_labels_stand_apart_in_every_unit(
    width: float, pressure: str, branched: WhatIfAnswer
) -> None:
    notation = replace(REPORT, pressure=pressure, beside="", flow="mL/min", speed="mph")
    for answer in (answered(), branched):
        for figure in figures(answer, width, notation):
            assert overlaps(figure.svg) == [], figure.name
            assert outside(figure.svg) == [], figure.name
    report = publication()
    for outcome in report.verdicts[0].outcomes:
        svg = ruler_svg(report, "secondary", outcome, width=width, notation=notation)
        assert overlaps(svg) == []
        assert outside(svg) == []


@pytest.mark.parametrize("pressure", [each for each in DECIMALS if each != "kPa"])
def test_a_unit_moves_nothing_but_ticks_and_words(pressure: str) -> None:
    notation = replace(REPORT, pressure=pressure, beside="")
    shapes = re.compile(r"<(?:path|rect|circle)[^>]*>")
    for usual, other in zip(
        figures(answered(), 736.0), figures(answered(), 736.0, notation), strict=True
    ):
        assert shapes.findall(other.svg) == shapes.findall(usual.svg)
        assert len(other.table.rows) == len(usual.table.rows)


@pytest.mark.parametrize("width", [328.0, 600.0, 760.0, 1208.0])
def test_rulers_hold_their_words_at_every_width(width: float) -> None:
    report = publication()
    for outcome in report.verdicts[0].outcomes:
        svg = ruler_svg(report, "secondary", outcome, width=width)
        assert float(parsed(svg).get("width", "0")) == width
        assert min(type_sizes(svg)) >= 12.0
        assert overlaps(svg) == []
        assert outside(svg) == []


def test_turned_labels_of_the_staircase_stand_apart() -> None:
    for width in range(328, 1281, 24):
        svg = staircase_figure(answered(), float(width)).svg
        turned = [e for e in parsed(svg).iter(f"{SVG}text") if e.get("transform")]
        xs = [float(e.get("x", "nan")) for e in turned]
        # sin(42 deg) of the distance along the axis is that between two lines of type of 13 px.
        assert all((b - a) * 0.669 >= 13.0 for a, b in pairwise(xs))


def test_every_picture_has_a_name_a_sentence_and_a_table() -> None:
    for figure in figures(answered(), 736.0):
        root = parsed(figure.svg)
        title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert title is not None
        assert description is not None
        assert description.text == figure.sentence
        assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"
        assert figure.table.rows
        assert all(len(row) == len(figure.table.head) for row in figure.table.rows)


def test_ids_are_unique_among_the_pictures_of_a_page() -> None:
    ids = [
        element.get("id")
        for figure in figures(answered(), 736.0)
        for element in parsed(figure.svg).iter()
        if element.get("id")
    ]

    assert len(ids) == len(set(ids))


def test_a_live_picture_has_no_fixed_colour_and_no_style(branched: WhatIfAnswer) -> None:
    for figure in (*figures(answered(), 736.0), *figures(branched, 328.0)):
        for element in parsed(figure.svg).iter():
            assert element.get("style") is None
            for name in ("fill", "stroke"):
                colour = element.get(name, "none")
                assert colour == "none" or re.fullmatch(r"var\(--[a-z0-9-]+, #\w{6}\)", colour)


def test_colours_for_a_page_are_those_of_paper_where_a_sheet_says_nothing() -> None:
    colour = stroke_of(1).colour

    assert for_page(f'<path stroke="{colour}"/>') == (
        f'<path stroke="var({VARIABLES[colour]}, {colour})"/>'
    )
    assert for_page('<path stroke="none"/>') == '<path stroke="none"/>'


def test_every_part_is_a_button_that_tells_its_numbers(branched: WhatIfAnswer) -> None:
    found = branched.configurations[1]
    root = parsed(feed_line_figure(found, 736.0).svg)
    buttons = {e.get("data-part"): e for e in root.iter(f"{SVG}g") if e.get("role") == "button"}
    steps = {step.part.id: step for leg in found.legs for step in leg.steps}

    assert root.get("role") == "group"
    assert buttons.keys() == steps.keys()
    for part_id, button in buttons.items():
        label = (button.get("aria-label") or "").replace("\u00a0", " ")
        assert button.get("tabindex") == "0"
        assert f"{abs(steps[part_id].loss_pa) / 1e3:.2f} kPa" in label
        assert "L/h" in label
    assert "part of kit badly plumbed" in (buttons["small_element"].get("aria-label") or "")
    assert "adds" in (buttons["electric_pump"].get("aria-label") or "")
    assert "in the return line" in (buttons["cooler"].get("aria-label") or "")


def test_the_way_comes_first_in_the_order_of_the_tab_key(branched: WhatIfAnswer) -> None:
    root = parsed(feed_line_figure(branched.configurations[0], 328.0).svg)

    order = [e.get("data-part") for e in root.iter(f"{SVG}g") if e.get("data-part")]

    # Most fuel goes through the larger filter; the branch and the return follow.
    way = ["electric_pump", "steel_line", "primer", "factory_filter", "hose_to_pump"]
    assert order == [*way, "small_filter", "cooler", "return_pipe"]


def test_paper_gets_no_buttons() -> None:
    svg = feed_line_svg(feed_line_of(answered().configurations[0]), 736.0, buttons=False)

    assert "button" not in svg
    assert "tabindex" not in svg
    assert "var(" not in svg
    assert parsed(svg).get("role") == "img"


def test_the_line_is_thickest_where_most_is_lost_and_the_words_say_so() -> None:
    found = answered().configurations[1]
    line = feed_line_of(found)
    root = parsed(feed_line_figure(found, 736.0).svg)
    thick = {
        group.get("data-part"): max(
            float(e.get("stroke-width", "0")) for e in group.iter(f"{SVG}line")
        )
        for group in root.iter(f"{SVG}g")
        if group.get("data-part")
    }
    worst = line.worst
    assert worst is not None

    way = {s.part.id: s.loss_pa for leg in found.legs if leg.on_way for s in leg.steps}
    ranked = sorted(way, key=lambda part_id: way[part_id])
    assert ranked[-1] == worst.part.id
    assert [thick[each] for each in ranked] == sorted(thick[each] for each in ranked)
    assert thick[ranked[0]] < thick[ranked[-1]]
    share = f"{100 * worst.loss_pa / found.state.depression_pa:.0f}\u00a0% of the depression"
    assert share in words(feed_line_figure(found, 1280.0).svg)
    assert share in feed_line_figure(found, 736.0).sentence


def test_shares_of_a_line_add_up_to_the_whole_even_where_a_pump_adds(
    branched: WhatIfAnswer,
) -> None:
    for found in (*answered().configurations, *branched.configurations):
        line = feed_line_of(found)
        losses = [s.loss_pa for leg in found.legs if leg.on_way for s in leg.steps]
        shares = [line.share(loss) for loss in (line.lift_pa, *losses) if loss > 0.0]
        assert sum(shares) == pytest.approx(1.0, rel=1e-9)


def test_sentences_carry_the_figures_that_are_drawn() -> None:
    answer = answered()
    curves = curves_of(answer)
    kit = answer.configurations[1]

    depression = speed_figure(answer, SpeedMeasure.DEPRESSION, 736.0)
    told = depression.sentence.replace("\u00a0", " ")
    assert f"{kit.short} {kit.state.depression_pa / 1e3:.2f} kPa" in told
    assert f"{kit.state.depression_pa / 1e3:.2f}" in words(depression.svg)
    assert depression.table.rows[-1][3] == f"{kit.state.depression_pa / 1e3:.2f}"
    limit = (answer.conditions.ambient_pressure_abs_pa - (curves.limit_abs_pa or 0.0)) / 1e3
    assert f"{limit:.1f} kPa" in told
    stairs = staircase_figure(answer, 736.0)
    assert f"{kit.state.pressure_abs_pa / 1e3:.1f}" in words(stairs.svg)


def test_without_a_limit_curves_say_no_limit_known(tmp_path: Path) -> None:
    text = (api.PACKAGED_DEMO / "case.toml").read_text(encoding="utf-8").partition("[[run]]")[0]
    without = re.sub(r"(?m)^maker_limit_.*\n", "", text)
    answer = prepared_case(Path(made(tmp_path / "case", without))).answer(WhatIf())
    assert answer.limit_abs_pa is None

    for measure in (SpeedMeasure.DEPRESSION, SpeedMeasure.PRESSURE):
        figure = speed_figure(answer, measure, 328.0)
        assert "no limit known" in figure.sentence
        assert "no limit known" in words(figure.svg)
    assert answer.configurations[0].room_low_pa is None


def test_an_axis_that_is_handed_in_stands_still_until_a_curve_would_leave_it() -> None:
    curves = curves_of(answered())
    low, high = y_range(curves, SpeedMeasure.DEPRESSION)

    held = speed_svg(curves, SpeedMeasure.DEPRESSION, 736.0, axis=(0.0, 3.0 * high))
    free = speed_svg(curves, SpeedMeasure.DEPRESSION, 736.0)
    short = speed_svg(curves, SpeedMeasure.DEPRESSION, 736.0, axis=(low, 0.3 * high))

    assert held != free
    # Nothing may be drawn outside its axis, so the axis grows again.
    assert short == free


def test_figures_of_a_picture_differ_by_dash_and_carry_their_names() -> None:
    for width in (328.0, 736.0):
        svg = speed_figure(answered(), SpeedMeasure.DEPRESSION, width).svg
        dashes = {
            e.get("stroke-dasharray", "")
            for e in parsed(svg).iter(f"{SVG}path")
            if e.get("stroke-linejoin")
        }
        assert dashes == {stroke_of(i).dash for i in range(3)}
        for name in ("no kit", "secondary", "primary"):
            assert name in words(svg)


def test_maps_are_drawn_for_their_container() -> None:
    for width in (328.0, 1208.0):
        drawn = envelope_figures(prepared(), WhatIf(kits=("secondary",)), width)
        assert len(drawn) == 2
        for figure in drawn:
            assert float(parsed(figure.svg).get("width", "0")) == pytest.approx(width, abs=1.0)
            assert min(type_sizes(figure.svg)) >= 11.0
            assert "var(--ink" in figure.svg
            assert figure.note
            assert "holds" in figure.sentence


def test_a_width_that_cannot_be_read_is_brought_to_one_that_can() -> None:
    assert width_drawn(float("nan")) == width_drawn(1.0) == 280.0
    assert width_drawn(1e9) == 1600.0
    assert width_drawn(735.9) == 728.0


def test_a_number_keeps_its_unit_when_words_are_broken() -> None:
    assert wrapped("room left: 25.3\u00a0kPa (7.5\u00a0inHg)", 14) == [
        "room left:",
        "25.3\u00a0kPa",
        "(7.5\u00a0inHg)",
    ]


def test_no_part_is_said_to_take_more_than_the_lift_where_the_lift_takes_most(
    branched: WhatIfAnswer,
) -> None:
    figure = feed_line_figure(branched.configurations[1], 736.0)
    line = feed_line_of(branched.configurations[1])
    worst = line.worst
    assert worst is not None
    assert line.lift_pa > worst.loss_pa

    told = figure.sentence.replace("\u00a0", " ")
    assert f"Of the parts, steel line along the frame takes most: {worst.loss_pa / 1e3:.2f}" in told
    assert f"{100 * line.share(line.lift_pa):.0f} %" in words(figure.svg).replace("\u00a0", " ")
    labels = [e.get("aria-label") or "" for e in parsed(figure.svg).iter(f"{SVG}g")]
    assert sum("the most of all parts" in label for label in labels) == 1


def test_nodes_at_the_edge_of_a_row_are_drawn_whole(branched: WhatIfAnswer) -> None:
    for width in WIDTHS:
        root = parsed(feed_line_figure(branched.configurations[1], width).svg)
        for circle in root.iter(f"{SVG}circle"):
            assert float(circle.get("cx", "nan")) >= float(circle.get("r", "nan"))
