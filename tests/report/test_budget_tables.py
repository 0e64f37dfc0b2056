"""
Uncertainty budgets in the report: line by line, in the units that people read.

Promised: the figures of the worked gauge (by hand: 0.590 kPa) stand in its table; what was assumed
is named; page and paper have the section only where there is a budget.
"""

from dataclasses import replace

from feedproof.evidence.budget.depression import depression, gauge_class
from feedproof.evidence.budget.doubt import limit, standard, step
from feedproof.evidence.budget.monte_carlo import full_budget
from feedproof.report.budget_tables import budget_table
from feedproof.report.page import page_html
from feedproof.report.paper import paper_pdf
from tests.report.publications import publication

GAUGE = full_budget(
    depression(
        reading_pa=15e3,
        scale=gauge_class(1.6, 60e3),
        resolution=step(500.0),
        zero=limit(200.0),
        height=standard(0.010, "10 mm", assumed=True),
        density_kg_per_m3=835.0,
    )
)


def test_a_budget_is_shown_line_by_line() -> None:
    table = budget_table(GAUGE)
    rows = {row[0]: row[1:] for row in table.rows}

    assert table.caption.endswith("15.000 kPa")
    assert rows["class of the gauge"][:5] == (
        "±\u00a00.960 kPa", "rectangle", "1.732", "1.00", "0.554",
    )  # fmt: skip
    # 835 kg/m3 x 9.80665 m/s2 is 8.19 Pa for each mm.
    assert rows["height of the gauge above the inlet"][3] == "-0.00819 kPa/mm"
    assert rows["class of the gauge"][6] == "88.3 %"
    assert rows["standard uncertainty"][4] == "0.590 kPa"
    assert rows["expanded, 95 %, k = 1.96"][4] == "1.16 kPa"
    assert table.note.startswith("Monte Carlo of ")
    assert "Assumed, since the case does not declare it: height of the gauge" in table.note


def test_page_and_paper_have_the_section_where_there_is_a_budget() -> None:
    without = publication()
    with_budget = replace(without, budgets=(budget_table(GAUGE),))

    assert "Uncertainty budgets" in page_html(with_budget)
    assert "0.590 kPa" in page_html(with_budget)
    assert "Uncertainty budgets" not in page_html(without)
    assert len(paper_pdf(with_budget)) > len(paper_pdf(without))
