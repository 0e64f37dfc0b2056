"""The envelope map agrees with the solved states and with the reference vehicle's figures."""

from dataclasses import replace

import numpy as np
import pytest

from feedproof.feedline.envelope import ORDER, EnvelopeLimits, envelope
from feedproof.feedline.pull import engine_speeds
from feedproof.physics.atmosphere import standard_pressure
from feedproof.physics.friction import FrictionRule
from feedproof.report.envelope_chart import (
    ROOM_STEPS,
    altitude_of,
    envelope_spec,
    envelope_svg,
)
from feedproof.report.envelope_words import edge_altitude_m, sentence, table
from feedproof.report.iso_lines import iso_lines
from feedproof.report.model import EnvelopeMap, Publication
from feedproof.report.notation import REPORT, Notation
from feedproof.report.page import envelope_html, page_html
from feedproof.report.paper import paper_pdf
from feedproof.report.svg import PAPER, RULE
from tests.feedline.reference import PULL, circuit, conditions, fuel_of, kit, vehicle
from tests.report.publications import publication as sample

TEMPERATURES_K = np.linspace(263.15, 343.15, 17)
ALTITUDES_M = np.linspace(0.0, 4000.0, 17)
TOP = PULL.stop_m_per_s


def mapped(*kits: str, limit: float | None = 50500.0) -> EnvelopeMap:
    """Survey the reference vehicle at the top of its pull, clean and loaded."""
    body = vehicle()
    gearing = circuit(*kits)
    found = envelope(
        body,
        body.line.with_kits([kit(name) for name in kits]),
        fuel_of("summer"),
        conditions(),
        "+".join(kits) or "baseline",
        fuel_temperature_k=TEMPERATURES_K,
        ambient_pressure_abs_pa=np.array([float(standard_pressure(z)) for z in ALTITUDES_M]),
        engine_speed_rev_per_s=engine_speeds(gearing, np.array([TOP])),
        loadings=[("clean", {}), ("loaded", {"oe_filter": 8e-3})],
        limits=EnvelopeLimits(least_pressure_abs_pa=limit, most_free_gas_fraction=1.0),
        rule=FrictionRule.BLEND_BLASIUS,
    )
    order = np.moveaxis(found.binding[..., 0], 2, 0)
    return EnvelopeMap(
        configuration=found.configuration,
        fuel_temperature_k=TEMPERATURES_K,
        altitude_m=ALTITUDES_M,
        loadings=found.loadings,
        room_pa=np.moveaxis(found.room_pa[..., 0], 2, 0),
        slack=np.moveaxis(found.slack[..., 0], 2, 0),
        binding=tuple(tuple(tuple(ORDER[b].value for b in row) for row in m) for m in order),
        cloud_point_k=fuel_of("summer").cloud_point_k,
    )


def published(*maps: EnvelopeMap, limit: float | None = 50500.0) -> Publication:
    """Make a report of maps."""
    return replace(sample(), envelopes=maps, reference=conditions(), limit_abs_pa=limit, worst=())


@pytest.mark.parametrize(
    ("kits", "altitude_m"), [((), 3180.0), (("K1", "K2"), 2720.0)], ids=["bare", "both"]
)
def test_the_edge_is_where_the_reference_computation_breaks_the_limit(kits, altitude_m) -> None:
    """Summer fuel at 40 degC, 50.5 kPa absolute: figures of an independent computation."""
    assert edge_altitude_m(mapped(*kits), 0, 313.15) == pytest.approx(altitude_m, abs=25.0)


def test_the_edge_parts_what_holds_from_what_does_not() -> None:
    found = mapped("K1", "K2")
    for loading in (0, 1):
        field = found.slack[loading]
        for line in iso_lines(TEMPERATURES_K, ALTITUDES_M, field, 0.0):
            for x, y in line:
                i = min(int(np.searchsorted(TEMPERATURES_K, x, "right")) - 1, 15)
                j = min(int(np.searchsorted(ALTITUDES_M, y, "right")) - 1, 15)
                corners = field[max(i - 1, 0) : i + 2, max(j - 1, 0) : j + 2]
                assert corners.min() < 0.0 <= corners.max()


def test_a_loaded_element_and_a_kit_only_ever_take_room() -> None:
    bare, both = mapped(), mapped("K1", "K2")

    assert np.all(bare.slack[1] <= bare.slack[0])
    assert np.all(both.slack <= bare.slack + 1e-12)


def test_the_sentence_and_the_table_say_what_is_drawn() -> None:
    found = mapped("K1", "K2")
    report = published(found)

    height = edge_altitude_m(found, 0, 313.15)
    assert f"clean it holds up to about {round(height, -1):.0f} m" in sentence(report, found)
    rows = table(report, found).rows
    assert len(rows) == 2 * len(TEMPERATURES_K)
    assert rows[0][-1].endswith(" p")


def test_where_no_limit_is_known_the_map_says_so_and_shows_slack() -> None:
    found = mapped(limit=None)
    spec = envelope_spec(published(found, limit=None), found)

    assert "no limit known" in str(spec["title"]["text"])


def test_edges_differ_by_dash_and_name_and_broken_points_carry_letters() -> None:
    found = mapped("K1", "K2")
    layers = envelope_spec(published(found), found)["layer"]
    heavy = [each for each in layers if each["mark"].get("strokeWidth") == 3.0]
    words = {row["words"] for each in layers for row in each["data"]["values"] if "words" in row}

    assert heavy
    assert {"edge, clean", "edge, loaded", "p", "cloud point", "reference"} <= words


def test_in_other_units_every_edge_point_and_letter_is_at_the_same_place() -> None:
    found = mapped("K1", "K2")
    report = published(found)
    other = replace(REPORT, pressure="psi", beside="", temperature="degF", length="ft")

    def places(notation: Notation) -> list[tuple[float, float]]:
        layers = envelope_spec(report, found, notation=notation)["layer"]
        # Lines of equal room stand at other rooms in another unit.
        kept = [
            row
            for each in layers
            if each["mark"].get("color") not in {RULE, PAPER}
            for row in each["data"]["values"]
            if not row.get("words", "").partition(" ")[0].replace(".", "").isdigit()
        ]
        return [(row["x"], row["y"]) for row in kept]

    metric, chosen = places(REPORT), places(other)
    assert len(metric) == len(chosen) > 100
    expected = [(1.8 * x + 32.0, y / 0.3048) for x, y in metric]
    assert np.allclose(chosen, expected, rtol=1e-9, atol=1e-9)


def test_lines_of_equal_room_are_named_by_round_figures_of_the_chosen_unit() -> None:
    found = mapped()
    report = published(found)
    for unit, step in ROOM_STEPS.items():
        notation = replace(REPORT, pressure=unit, beside="")
        layers = envelope_spec(report, found, notation=notation)["layer"]
        words = {
            row["words"] for each in layers for row in each["data"]["values"] if "words" in row
        }
        figures = {float(each) for each in words if each[0].isdigit()}
        assert figures
        assert all(each / step == pytest.approx(round(each / step)) for each in figures)
        assert f"limit, {unit}" in envelope_spec(report, found, notation=notation)["title"]["text"]
        assert sentence(report, found, notation) == sentence(report, found)


def test_the_picture_has_a_name_and_a_description_and_no_style_attribute() -> None:
    found = mapped()
    for narrow in (False, True):
        svg = envelope_svg(published(found), found, narrow=narrow)
        assert "<title" in svg
        assert "<desc" in svg
        assert " style=" not in svg


@pytest.mark.parametrize("altitude_m", [-200.0, 0.0, 1000.0, 2500.0, 4000.0])
def test_an_altitude_comes_back_from_its_pressure(altitude_m: float) -> None:
    assert altitude_of(float(standard_pressure(altitude_m))) == pytest.approx(altitude_m, abs=1e-6)


def test_page_and_paper_carry_the_maps_and_a_report_without_them_no_empty_section() -> None:
    report = published(mapped())

    assert 'id="envelope"' in page_html(report)
    assert 'id="envelope"' not in page_html(replace(report, envelopes=()))
    assert "where it holds" in envelope_html(report)
    assert paper_pdf(report).startswith(b"%PDF")
