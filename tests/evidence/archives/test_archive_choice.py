"""
Which figure of the archive a case may use.

Promised: never its own sessions, nothing written, replaced or withdrawn after its first run with a
kit, nothing of another rig or procedure, never a figure that lacks what varies in the case; and
what the case declares stands unless its source is the archive.
"""

import math
from datetime import timedelta

import pytest

from feedproof.case.margin import Measure, Repeatability
from feedproof.evidence.archive import JUDGED_TAG, archive_of, settle_scatter
from feedproof.evidence.archives.choice import (
    Asked,
    Plumbing,
    eligible,
    figures_for,
    with_archive,
)
from feedproof.evidence.archives.lines import standing
from tests.evidence.archives.archive_sessions import (
    START,
    figure_of,
    line_of,
    session_data,
)

POWER = Measure.WHEEL_POWER
KIT_RUN = START + timedelta(days=30)


def asked(**changes) -> Asked:
    """Ask as a case that declares nothing and opens nothing."""
    facts = {
        "rig": "cell 1",
        "procedure": "full-load pull",
        "plumbing": Plumbing.ONE,
        "marks": (),
        "before": KIT_RUN,
        "declared": {},
    }
    return Asked(**{**facts, **changes})


def declared(source: str, dof: float = 8.0) -> dict[Measure, Repeatability]:
    """Declare a repeatability of power."""
    return {
        POWER: Repeatability(
            measure=POWER,
            standard_deviation=0.5,
            degrees_of_freedom=dof,
            source=source,
            drift_per_run=0.2,
        )
    }


def power(lines, question: Asked):
    """Give the figure of power."""
    return next(each for each in figures_for(lines, question) if each.measure is POWER)


def numbers(lines, question: Asked) -> list[int]:
    """Give the lines that count."""
    return [line.number for line in eligible(lines, question)]


def test_only_what_was_written_before_the_first_run_with_a_kit_counts() -> None:
    lines = [
        line_of(2, session_data(0)),
        line_of(3, session_data(1), day=40),
        line_of(4, session_data(50)),
    ]

    assert numbers(lines, asked()) == [2]
    assert numbers(lines, asked(before=None)) == [2, 3, 4]


def test_a_line_written_at_that_very_moment_is_too_late() -> None:
    assert numbers([line_of(2, session_data(0), day=30)], asked()) == []


def test_a_session_withdrawn_or_replaced_afterwards_counts_as_it_stood() -> None:
    first, second = line_of(2, session_data(0)), line_of(3, session_data(1))
    gone = line_of(4, None, day=40, instead_of=first.sha256)
    other = line_of(5, session_data(1), day=41, instead_of=second.sha256)
    lines = [first, second, gone, other]

    assert numbers(lines, asked()) == [2, 3]
    assert [line.number for line in standing(lines)] == [5]
    assert numbers(lines, asked(before=START + timedelta(days=60))) == [5]


def test_its_own_sessions_never_count_even_from_a_copy_of_the_case() -> None:
    own = session_data(0, case="a copy under another title")
    shared_log = tuple(run.__class__(number=9, started=run.started, sha256="0" * 64, logs=run.logs)
                       for run in own.runs[:1])  # fmt: skip
    lines = [line_of(2, own), line_of(3, session_data(1))]

    assert numbers(lines, asked(marks=own.runs)) == [3]
    assert numbers(lines, asked(marks=shared_log)) == [3]


@pytest.mark.parametrize("key", ["rig", "procedure"])
def test_another_rig_or_procedure_never_counts(key: str) -> None:
    lines = [line_of(2, session_data(0, **{key: "another"}))]
    found = power(lines, asked())

    assert not found.used
    assert found.standard_deviation is None
    assert "no session" in found.reason


def test_what_the_case_declares_stands_and_the_archives_figure_is_shown_beside() -> None:
    lines = [line_of(2, session_data(0))]
    own = declared("11 repeats in spring")
    found = power(lines, asked(declared=own))

    assert not found.used
    assert found.standard_deviation is not None
    assert with_archive(own, figures_for(lines, asked(declared=own))) == own


@pytest.mark.parametrize("source", ["archive", " Archive "])
def test_a_declared_figure_whose_source_is_the_archive_gives_way(source: str) -> None:
    lines = [line_of(2, session_data(0)), line_of(3, session_data(1))]
    question = asked(declared=declared(source))
    found = with_archive(question.declared, figures_for(lines, question))[POWER]

    assert found.standard_deviation == pytest.approx(figure_of().standard_deviation)
    assert found.degrees_of_freedom == 2
    assert found.drift_per_run == 0.2
    assert "2 sessions, 2026-03-02 to 2026-03-03" in found.source


def test_where_nothing_is_declared_the_archive_is_used_and_its_lines_are_kept() -> None:
    lines = [line_of(2, session_data(0)), line_of(3, session_data(1))]
    found = power(lines, asked())

    assert found.used
    assert found.lines == (lines[0].sha256, lines[1].sha256)
    assert POWER in with_archive({}, figures_for(lines, asked()))
    assert Measure.CAUGHT_RETURN not in with_archive({}, figures_for(lines, asked()))


OPENED = figure_of((0.0, 3.0, -2.0, 1.0), setups=("a", "b", "c", "d"))
LOOP = figure_of((0.0, 0.3, -0.2, 0.1))


@pytest.mark.parametrize(
    ("figures", "plumbing", "used", "replumbed"),
    [
        ([LOOP], Plumbing.ONE, True, False),
        ([LOOP], Plumbing.EACH, False, False),
        ([LOOP], Plumbing.SHARED, True, False),
        ([OPENED], Plumbing.ONE, False, False),
        ([OPENED], Plumbing.EACH, True, True),
        ([OPENED], Plumbing.SHARED, False, False),
        ([LOOP, OPENED], Plumbing.EACH, True, True),
        ([LOOP, OPENED], Plumbing.ONE, True, False),
    ],
)
def test_the_figure_holds_what_varies_in_the_case(figures, plumbing, used, replumbed) -> None:
    lines = [line_of(n + 2, session_data(n, [each])) for n, each in enumerate(figures)]
    found = power(lines, asked(plumbing=plumbing))

    assert (found.used, found.replumbed) == (used, replumbed)


def test_scatter_of_opening_the_line_is_the_difference_of_the_two_kinds() -> None:
    lines = [line_of(2, session_data(0, [LOOP])), line_of(3, session_data(1, [OPENED]))]
    question = asked(plumbing=Plumbing.SHARED)
    expected = math.sqrt(OPENED.standard_deviation**2 - LOOP.standard_deviation**2)
    found = with_archive({}, figures_for(lines, question))[POWER]

    assert found.standard_deviation == LOOP.standard_deviation
    assert found.setup_standard_deviation == pytest.approx(expected, rel=1e-12)
    assert len(power(lines, question).lines) == 2


@pytest.mark.parametrize(("dof", "counts"), [(8.0, 4.0), (4.0, 4.0), (2.0, 2.0)])
def test_a_judged_figure_says_that_it_counts_for_less(dof: float, counts: float) -> None:
    archive = archive_of(declared("judged by the foreman", dof)[POWER])
    assert archive is not None
    for rss, own in ((0.0, 0), (0.5, 2)):
        scatter = settle_scatter(rss, own, archive, 1.0)
        said = any(
            "judged, not measured" in each and "for 4 degrees" in each for each in scatter.reasons
        )

        assert scatter.degrees_of_freedom == counts + own
        assert (JUDGED_TAG in scatter.tags) is said is (dof > 4.0)
