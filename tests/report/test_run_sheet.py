"""
Run sheet: everything that a driver must know, on a page and on paper, for eye and screen reader.

Outside checks: WCAG 2.2 (names of pictures, headers of tables, headings, contrast of the printed
grey computed after its formula) and PDF/UA by the tags that pypdf reads.
"""

import base64
import hashlib
import io
import re
from dataclasses import replace
from datetime import UTC, datetime
from itertools import pairwise

import pypdf
import pytest

from feedproof.app.api import PACKAGED_DEMO
from feedproof.app.plan_result import SessionPlan
from feedproof.app.plan_sheet import run_sheet
from feedproof.app.planning import plan_case
from feedproof.case.case import Case
from feedproof.case.vehicle import Topology
from feedproof.records.folder import CaseFolder
from feedproof.report.cautions import CAUTIONS
from feedproof.report.loop_picture import loop_svg
from feedproof.report.run_sheet import sheet_html, sheet_pdf
from feedproof.report.run_sheet_model import COLUMNS, RunSheet
from tests.report.drawing import SVG, parsed, strokes, type_sizes, words
from tests.report.test_page import Reader, read
from tests.report.test_paper import squeezed

WHEN = datetime(2026, 3, 4, 5, 6, tzinfo=UTC)


@pytest.fixture(scope="module")
def case() -> Case:
    return CaseFolder(PACKAGED_DEMO).load().case


@pytest.fixture(scope="module")
def plan(case: Case) -> SessionPlan:
    return plan_case(case, kits=("secondary", "primary"), runs_each=3)


@pytest.fixture(scope="module")
def sheet(case: Case, plan: SessionPlan) -> RunSheet:
    return run_sheet(case, plan, WHEN)


@pytest.fixture(scope="module")
def html(sheet: RunSheet) -> str:
    return sheet_html(sheet)


@pytest.fixture(scope="module")
def page(html: str) -> Reader:
    return read(html)


@pytest.fixture(scope="module")
def pdf(sheet: RunSheet) -> bytes:
    return sheet_pdf(sheet)


def test_runs_stand_in_the_planned_order_behind_discarded_ones(sheet: RunSheet) -> None:
    first, second, control = sheet.sessions

    assert [run.letter for run in first.runs] == ["S", "W", "W", *"ABABAB"]
    assert [run.letter for run in second.runs] == ["W", "W", *"ABABAB"]
    assert [run.letter for run in control.runs] == ["W", *"ACA"]
    for session in sheet.sessions:
        counted = [run for run in session.runs if run.counts]
        assert [run.number for run in counted] == [str(n + 1) for n in range(len(counted))]
        assert all("discarded" in run.words for run in session.runs if run.letter == "W")
    assert "true stock" in first.runs[0].words
    assert "lever straight" in first.runs[3].words
    assert "lever through the kit" in first.runs[4].words


def test_every_reading_that_a_run_needs_has_a_box(page: Reader, sheet: RunSheet) -> None:
    heads = " | ".join(head for head, _ in COLUMNS)
    for wanted in (
        "Start",
        "Inlet fuel",
        "Fuel level",
        "Zero before",
        "Zero after",
        "Air pressure",
        "Air",
        "Humidity",
        "File name",
        "Caught",
        "Catch time",
        "Fuel in measure",
        "Remarks",
    ):
        assert wanted in heads
    blanks = [each for each in page.named("td") if "blank" in each.get("class", "")]
    runs = sum(len(session.runs) for session in sheet.sessions)
    assert len(blanks) == runs * (len(COLUMNS) - 3)


@pytest.mark.parametrize(
    "part",
    [
        "INVENTED demonstration data",
        "Margins dated before the first candidate run",
        "the comparison is refused",
        "4.5 km/h/s",
        "Same gear, tyre pressure and strap tension",
        "The same gauge, in the same place, at the same height, on the same hose",
        "Note its serial",
        "Fan, air conditioning and electrical load alike",
        "No regeneration within a run",
        "Read stored codes before and after",
        "with the line to it full",
        "Hold 3000 rpm in neutral for 60",
        "never by hand beside a moving vehicle",
        "true stock condition",
        "A test that has never found a loss",
        "one and a half margins",
        "surgical emergency",
        "Rollers, exhaust and noise",
        "out of scope",
    ],
)
def test_page_and_paper_say_what_must_be_known(page: Reader, pdf: bytes, part: str) -> None:
    paper = " ".join(each.extract_text() for each in pypdf.PdfReader(io.BytesIO(pdf)).pages)

    assert squeezed(part) in squeezed(" ".join(page.text))
    assert squeezed(part) in squeezed(paper)


def test_every_caution_is_on_the_page(page: Reader) -> None:
    text = squeezed(" ".join(page.text))

    for head, body in CAUTIONS:
        assert squeezed(head) in text
        assert squeezed(body) in text


def test_the_page_is_whole_and_asks_for_nothing_outside_itself(html: str, page: Reader) -> None:
    assert not page.faults
    assert not page.open
    assert not page.named("script")
    assert not re.findall(r"""(?:src|href)=["'](?!#|data:)""", html)
    policy = next(each for each in page.named("meta") if "http-equiv" in each)["content"]
    style = re.search(r"<style>(.*?)</style>", html, re.DOTALL)
    assert style is not None
    digest = base64.b64encode(hashlib.sha256(style.group(1).encode()).digest()).decode()
    assert f"style-src 'sha256-{digest}'" in policy
    assert not re.search(r"<[^>]+\sstyle=", html)


def test_headings_tables_and_pictures_can_be_read_aloud(page: Reader) -> None:
    levels = [int(tag[1]) for tag, _ in page.tags if re.fullmatch("h[1-6]", tag)]
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in pairwise(levels))
    assert page.named("html")[0]["lang"] == "en"
    assert len(page.named("caption")) == len(page.named("table")) == 3
    assert all(each.get("scope") in ("col", "row") for each in page.named("th"))
    regions = [each for each in page.named("div") if each.get("role") == "region"]
    assert all(each.get("aria-label") and each.get("tabindex") == "0" for each in regions)
    ids = [attributes["id"] for _, attributes in page.tags if "id" in attributes]
    assert len(set(ids)) == len(ids)
    for picture in page.named("svg"):
        assert picture["role"] == "img"
        assert all(name in ids for name in picture["aria-labelledby"].split())
    targets = [each["href"][1:] for each in page.named("a")]
    assert targets
    assert set(targets) <= set(ids)


def test_the_page_prints_on_a4_and_in_grey(html: str) -> None:
    assert "@page { size: A4 landscape" in html
    assert "prefers-color-scheme: dark" in html
    # Discarded runs stay told apart without colour: their words say so, and their grey is light
    # enough for ink. Contrast after WCAG 2.2: (L1 + 0.05) / (L2 + 0.05).
    grey = (0xEE / 255 + 0.055) / 1.055
    assert (grey**2.4 + 0.05) / 0.05 > 7.0


def test_the_paper_is_a_tagged_a4_in_landscape_with_a_named_picture(pdf: bytes) -> None:
    reader = pypdf.PdfReader(io.BytesIO(pdf))
    root = reader.trailer["/Root"]

    assert root["/MarkInfo"]["/Marked"]
    assert root["/Lang"] == "en"
    assert reader.metadata is not None
    assert reader.metadata.creation_date == WHEN
    assert "Run sheet" in (reader.metadata.title or "")
    for page in reader.pages:
        assert float(page.mediabox.width) == pytest.approx(841.89, abs=0.1)
        assert float(page.mediabox.height) == pytest.approx(595.28, abs=0.1)


def test_the_same_sheet_gives_the_same_bytes(sheet: RunSheet, pdf: bytes) -> None:
    assert sheet_pdf(sheet) == pdf


def test_words_from_a_case_cannot_become_markup(sheet: RunSheet) -> None:
    html = sheet_html(replace(sheet, title="<b>x</b> & #y *z* $w$"))

    assert "<b>x</b>" not in html
    assert "&lt;b&gt;x" in html
    paper = pypdf.PdfReader(io.BytesIO(sheet_pdf(replace(sheet, title="#y *z* $w$"))))
    assert "#y*z*$w$" in squeezed(paper.pages[0].extract_text())


@pytest.mark.parametrize("narrow", [False, True])
def test_the_loop_shows_both_ways_the_lever_and_the_catch(narrow: bool) -> None:
    svg = loop_svg("kit: secondary", narrow=narrow)
    label = words(svg)

    for part in ("V1", "V2", "V3", "A: straight", "kit:", "measure", "return to the tank"):
        assert part in label
    assert "lever" in label
    # The two ways differ by dash as well as by colour.
    ways = strokes(svg, 2.9)
    assert len({dash for _, dash in ways}) > 1
    assert {colour for colour, _ in ways} == {"#1b1f23", "#0072B2"}
    assert min(type_sizes(svg)) >= 12.0
    root = parsed(svg)
    assert root.find(f"{SVG}title") is not None
    assert len(root.find(f"{SVG}desc").text or "") > 40  # type: ignore[union-attr]
    assert float(root.get("width", "0")) == (340 if narrow else 960)


@pytest.mark.parametrize("narrow", [False, True])
def test_nothing_of_the_loop_stands_outside_the_picture(narrow: bool) -> None:
    root = parsed(loop_svg("kit: badly plumbed", narrow=narrow))
    width, height = (float(root.get(each, "0")) for each in ("width", "height"))

    for box in root.iter(f"{SVG}rect"):
        x, y, w, h = (float(box.get(each, "0")) for each in ("x", "y", "width", "height"))
        assert 0 <= x <= x + w <= width
        assert 0 <= y <= y + h <= height
    for each in root.iter(f"{SVG}text"):
        size = float(each.get("font-size", "14"))
        # Letters of this typeface are about half as wide as high.
        half = 0.27 * size * len(each.text or "")
        assert half <= float(each.get("x", "0")) <= width - half
        assert size <= float(each.get("y", "0")) <= height


def test_undeclared_margins_stand_in_capitals(case: Case, plan: SessionPlan) -> None:
    bare = replace(plan, margins=replace(plan.margins, declared=None))

    assert run_sheet(case, bare, WHEN).margins_date.startswith("NOT DECLARED YET")


def test_where_the_line_is_opened_there_is_no_loop_but_what_to_do_instead(case: Case) -> None:
    plan = plan_case(case, kits=("secondary",), runs_each=2, replumbed=True)
    sheet = run_sheet(case, plan, WHEN)
    html = sheet_html(sheet)

    assert "<svg" not in html
    assert "Every change opens the line" in html
    assert "lever" not in " ".join(run.words for run in sheet.sessions[0].runs)
    assert sheet_pdf(sheet).startswith(b"%PDF")


def test_a_pump_that_keeps_its_surplus_is_caught_at_load_with_a_caution(case: Case) -> None:
    pump = replace(case.vehicle.pump, topology=Topology.INTERNAL_RECIRCULATION)
    other = replace(case, vehicle=replace(case.vehicle, pump=pump), runs=())
    text = " ".join(
        run_sheet(other, plan_case(other, kits=("secondary",), runs_each=2), WHEN).catch
    )

    assert "a minute at full load overheats brakes, tyres and gearbox" in text
    assert "Not in neutral" in text
    assert "for no more than 30" in text
