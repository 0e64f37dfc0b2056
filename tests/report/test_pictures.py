"""Pictures: named, readable at their drawn width, told apart by dash as well as by colour."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from syrupy.assertion import SnapshotAssertion
from syrupy.extensions.image import SVGImageSnapshotExtension

from feedproof.case.margin import Measure
from feedproof.case.outcome import Answer
from feedproof.report import overlay_chart, ruler_picture, staircase_words
from feedproof.report.model import Publication
from feedproof.report.overlay_chart import overlay_spec, overlay_svg
from feedproof.report.overlay_curves import kept_curves
from feedproof.report.overlay_layers import thinned
from feedproof.report.ruler_picture import ruler_svg
from feedproof.report.ruler_reading import reading_of
from feedproof.report.staircase_picture import staircase_svg
from feedproof.report.svg import NARROW, STROKES, VERMILION, spread, stroke_of
from tests.report.drawing import SVG, parsed, strokes, type_sizes, words
from tests.report.publications import depression_outcome, power_outcome, publication, stairs

CURVES = (Measure.WHEEL_POWER, Measure.INLET_DEPRESSION)


def all_pictures(report: Publication, *, narrow: bool) -> list[str]:
    drawn = [staircase_svg(report, narrow=narrow)]
    drawn += [overlay_svg(kept_curves(report, measure), narrow=narrow) for measure in CURVES]
    drawn += [
        ruler_svg(report, verdict.configuration, outcome, narrow=narrow)
        for verdict in report.verdicts
        for outcome in verdict.outcomes
    ]
    return drawn


@pytest.fixture
def drawn_as(snapshot: SnapshotAssertion) -> SnapshotAssertion:
    return snapshot.use_extension(SVGImageSnapshotExtension)


@pytest.mark.parametrize("narrow", [False, True])
def test_the_staircase_is_drawn_as_before(
    report: Publication, drawn_as: SnapshotAssertion, narrow: bool
) -> None:
    assert staircase_svg(report, narrow=narrow) == drawn_as


@pytest.mark.parametrize("narrow", [False, True])
def test_rulers_are_drawn_as_before(
    report: Publication, drawn_as: SnapshotAssertion, narrow: bool
) -> None:
    for outcome in report.verdicts[0].outcomes:
        assert ruler_svg(report, "secondary", outcome, narrow=narrow) == drawn_as


@pytest.mark.parametrize("narrow", [False, True])
def test_every_picture_has_a_name_and_a_description(report: Publication, narrow: bool) -> None:
    for svg in all_pictures(report, narrow=narrow):
        root = parsed(svg)
        title, description = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
        assert root.get("role") == "img"
        assert title is not None
        assert description is not None
        assert title.text
        assert description.text
        assert root.get("aria-labelledby") == f"{title.get('id')} {description.get('id')}"


def test_ids_are_unique_among_all_pictures_of_a_page(report: Publication) -> None:
    ids = [
        element.get("id")
        for narrow in (False, True)
        for svg in all_pictures(report, narrow=narrow)
        for element in parsed(svg).iter()
        if element.get("id")
    ]

    assert len(ids) == len(set(ids))


def test_narrow_pictures_fit_a_phone_and_stay_readable(report: Publication) -> None:
    for svg in all_pictures(report, narrow=True):
        assert float(parsed(svg).get("width", "inf")) <= NARROW
        assert min(type_sizes(svg)) >= 11.0


def test_no_picture_carries_what_the_page_forbids(report: Publication) -> None:
    for svg in [*all_pictures(report, narrow=False), *all_pictures(report, narrow=True)]:
        for element in parsed(svg).iter():
            assert element.get("style") is None
            assert element.tag not in (f"{SVG}style", f"{SVG}script", f"{SVG}image")
            assert not [key for key in element.keys() if key.endswith("href")]  # noqa: SIM118


def test_no_two_configurations_share_a_colour_or_a_dash() -> None:
    assert len({stroke.colour for stroke in STROKES}) == len(STROKES)
    assert len({stroke.dash for stroke in STROKES}) == len(STROKES)
    assert VERMILION not in {stroke.colour for stroke in STROKES}
    many = [(stroke_of(i).colour, stroke_of(i).dash) for i in range(12)]
    assert len(set(many)) == 12


@pytest.mark.parametrize("narrow", [False, True])
def test_the_staircases_lines_differ_by_dash(report: Publication, narrow: bool) -> None:
    svg = staircase_svg(report, narrow=narrow)

    drawn = [pair for pair in strokes(svg, 1.75) if pair[0] in {s.colour for s in STROKES[:3]}]

    assert {stroke_of(i).dash for i in range(3)} <= {dash for _, dash in drawn}


def test_means_of_an_overlay_differ_by_dash(report: Publication) -> None:
    thick = strokes(overlay_svg(kept_curves(report, Measure.INLET_DEPRESSION)), 3.0)

    assert len({dash for _, dash in thick}) == 3


@pytest.mark.parametrize("narrow", [False, True])
def test_the_limits_line_carries_its_name(report: Publication, narrow: bool) -> None:
    svg = staircase_svg(report, narrow=narrow)

    assert any(colour == VERMILION and dash for colour, dash in strokes(svg, 3.0))
    told = words(svg).replace(" | ", " ")
    assert "limit of the pump's maker: 48.0\u00a0kPa" in told


@pytest.mark.parametrize("narrow", [False, True])
def test_without_a_limit_the_staircase_says_so(narrow: bool) -> None:
    lines = ("baseline", "secondary")
    report = publication(staircases=tuple(stairs(name, None) for name in lines), limit_abs_pa=None)

    text = words(staircase_svg(report, narrow=narrow))

    assert "no limit known" in text
    assert "no source" in text
    assert "left" not in text.replace("left open", "")


def test_a_pressure_below_the_limit_is_called_beyond() -> None:
    report = publication(
        staircases=tuple(stairs(name, 72.0e3) for name in ("baseline", "secondary"))
    )

    text = words(staircase_svg(report)).replace("\u00a0", " ")

    assert "0.3 kPa (0.1 inHg) beyond" in text
    assert "1.9 kPa (0.5 inHg) left" in text


def test_the_staircase_ends_where_the_line_ends(report: Publication) -> None:
    words_of_table = staircase_words.table(report)

    assert words_of_table.rows[-2][0] == "whole line"
    assert words_of_table.rows[-2][1].startswith("17.15")
    assert words_of_table.rows[-1][1] == "25.85"


def test_kit_parts_stand_in_line_order(report: Publication) -> None:
    order = [step.part_id for step in staircase_words.columns(report.staircases)]

    assert order.index("primer") < order.index("primary_element") < order.index("factory_filter")
    assert order.index("factory_filter") < order.index("secondary_element")


def test_the_sign_and_the_words_of_an_answer_are_on_its_ruler(report: Publication) -> None:
    signs = set()
    for answer in (
        Answer.NO_LOSS_WITHIN,
        Answer.SMALL_LOSS,
        Answer.LOSS_BEYOND,
        Answer.LOSS_UNSETTLED,
        Answer.CANNOT_TELL,
    ):
        svg = ruler_svg(report, "secondary", power_outcome(answer))
        signs.add(svg.split("</desc>")[1].split("<text")[0])
    assert len(signs) == 5


def test_a_ruler_holds_its_interval_and_its_margin(report: Publication) -> None:
    outcome = power_outcome(Answer.LOSS_BEYOND, estimate=9.0, lower=7.0, upper=11.0)

    root = parsed(ruler_svg(report, "secondary", outcome))

    bars = [e for e in root.iter(f"{SVG}rect") if e.get("fill-opacity")]
    assert len(bars) == 1
    start = float(bars[0].get("x", "nan"))
    assert 0.0 < start < start + float(bars[0].get("width", "nan")) < 960.0


def test_depression_is_read_on_the_room_that_is_left(report: Publication) -> None:
    reading = reading_of(report, "secondary", depression_outcome())

    assert reading.mark == pytest.approx(25.3)
    assert reading.estimate == pytest.approx(2.39)
    assert reading.upper == pytest.approx(2.96)
    assert "room left without a kit" in reading.mark_name


def test_depression_without_a_limit_says_no_limit_known() -> None:
    report = publication(staircases=(stairs("baseline", None),), limit_abs_pa=None)

    svg = ruler_svg(report, "secondary", depression_outcome(Answer.NO_LIMIT_KNOWN))

    assert "no limit known" in words(svg)
    assert not [colour for colour, _ in strokes(svg, 1.0) if colour == VERMILION]


def test_a_censored_depression_is_a_lower_bound(report: Publication) -> None:
    outcome = replace(depression_outcome(), tags=("censored_lower_bound",), upper=None)

    reading = reading_of(report, "secondary", outcome)

    assert reading.upper is None
    assert reading.figures.startswith("at least ")


def test_an_overlay_draws_every_run_but_warm_ups(report: Publication) -> None:
    spec = overlay_spec(kept_curves(report, Measure.INLET_DEPRESSION))

    thin = [x for x in spec["layer"] if x["mark"].get("strokeWidth") == 0.8]

    assert len(thin) == 7


def test_an_overlay_shows_the_predictions_range(report: Publication) -> None:
    spec = overlay_spec(kept_curves(report, Measure.INLET_DEPRESSION))

    areas = [x["mark"]["opacity"] for x in spec["layer"] if x["mark"]["type"] == "area"]

    assert sorted(areas) == [0.1] * 3 + [0.2] * 3


def test_a_gap_in_a_run_stays_a_gap(report: Publication) -> None:
    run = report.runs[1]
    holed = replace(run, depression_pa=np.where(np.arange(14) == 5, np.nan, run.depression_pa))

    spec = overlay_spec(kept_curves(replace(report, runs=(holed,)), Measure.INLET_DEPRESSION))

    assert spec["layer"][0]["data"]["values"][5]["value"] is None


def test_only_measured_curves_are_drawn(report: Publication) -> None:
    unpowered = tuple(replace(run, wheel_power_w=np.full(14, np.nan)) for run in report.runs)
    bands = tuple(band for band in report.bands if band.measure is Measure.INLET_DEPRESSION)

    found = overlay_chart.measures(replace(report, runs=unpowered, bands=bands))

    assert found == (Measure.INLET_DEPRESSION,)


def test_thinning_keeps_a_single_spike_and_a_single_dip() -> None:
    y = np.zeros(20_000)
    y[[4321, 15_000]] = 9.0, -7.0

    x, kept = thinned(np.arange(20_000.0), y)

    assert len(kept) <= 1200
    assert (kept.max(), kept.min()) == (9.0, -7.0)
    assert np.all(np.diff(x) > 0)


def test_labels_move_apart_without_changing_places() -> None:
    places = spread([50.0, 51.0, 52.0], 20.0, 0.0, 200.0)

    assert all(b - a >= 20.0 for a, b in pairwise(places))


def test_sessions_with_bins_a_little_apart_share_the_rows_of_the_table(
    report: Publication,
) -> None:
    moved = tuple(
        replace(band, speed_m_per_s=band.speed_m_per_s + 0.2)
        if band.configuration == "secondary"
        else band
        for band in report.bands
    )

    table = overlay_chart.table(kept_curves(replace(report, bands=moved), Measure.WHEEL_POWER))

    assert len(table.rows) == 14
    assert table.rows[0][0] == "54.0 to 54.7"
    assert all(all(row) for row in table.rows)


def test_every_picture_has_its_numbers_as_a_table(report: Publication) -> None:
    outcomes = report.verdicts[0].outcomes

    tables = [
        staircase_words.table(report),
        *(overlay_chart.table(kept_curves(report, measure)) for measure in CURVES),
        ruler_picture.table(report, "secondary", outcomes),
    ]

    for table in tables:
        assert table.rows
        assert all(len(row) == len(table.head) for row in table.rows)


def test_a_speed_that_a_session_did_not_compare_has_a_dash_and_not_nothing(
    report: Publication,
) -> None:
    first, *others = report.bands
    keep = np.arange(first.speed_m_per_s.size) != 1
    cut = replace(
        first,
        **{
            name: getattr(first, name)[keep] for name in ("speed_m_per_s", "mean", "lower", "upper")
        },
    )

    table = overlay_chart.table(kept_curves(replace(report, bands=(cut, *others)), first.measure))

    assert any("\u2013" in row for row in table.rows)
    assert all(cell for row in table.rows for cell in row)
    assert "A dash" in table.note
