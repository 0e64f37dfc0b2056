"""
Promise: the bench gives what solving each line by itself gives.

Outside check: the reference vehicle's own depressions under cold fuel from a second computation
(figures of the reference scenario, to 3 %); the search of `kits.life` over circuits built one by
one; a line whose limit is reached holds it, and not with one part in a thousand more.
"""

import math
from dataclasses import replace

import numpy as np
import pytest

from feedproof.case.parts import Pipe
from feedproof.core.errors import InputError
from feedproof.feedline.grid import GridLimits
from feedproof.feedline.plan import lower_rows, merge_rows
from feedproof.kits.bench import bench_of
from feedproof.kits.life import allowed_media
from feedproof.kits.loading import Loader
from tests.feedline.reference import conditions, fuel_of, kit, vehicle

SPEED = 3407.0 / 60.0
LIMIT = GridLimits(50500.0, math.nan, 1e9, 1e-9)
WORST = [conditions(40.0, ambient_pa=80000.0), conditions(0.0)]


def loader(*kits: str, bore_m: float | None = None) -> Loader:
    """Give the reference vehicle with kits."""
    body = vehicle(bore_m=bore_m)
    return Loader(
        vehicle=body,
        line=body.line.with_kits([kit(name) for name in kits]),
        fuels={"summer": fuel_of("summer")},
        rule="blend_blasius",
        shares={"oe_filter": 1.0},
        engine_speed_rev_per_s=np.array([0.8 * SPEED, SPEED]),
        limits=LIMIT,
    )


def test_a_kit_on_the_bench_is_the_kit_in_the_line() -> None:
    bench = bench_of(loader(), WORST)
    for names in ((), ("K1",), ("K2",), ("K1", "K2")):
        mine = loader(*names)
        plan = merge_rows(lower_rows(mine.line, {}))
        found = bench.ask(plan, plan.media_per_m3)
        assert found.slack == pytest.approx(min(mine.slack(each, 0.0) for each in WORST), rel=1e-9)
        known = allowed_media(mine, WORST)
        assert bench.bears(plan) == pytest.approx(known.per_m3, rel=1e-7)
        assert bench.ask(plan, bench.bears(plan)).slack >= 0.0
        assert bench.ask(plan, 1.001 * bench.bears(plan)).slack < 0.0


def test_cold_depressions_are_those_of_the_reference_scenario() -> None:
    # 0 degC summer fuel: 33.8 kPa without a kit, 41.2 with both; 66.5 with the undersized one.
    bench = bench_of(loader(), [conditions(0.0)])
    for names, told_kpa in (((), 33.8), (("K1", "K2"), 41.2), (("K2-small",), 66.5)):
        plan = merge_rows(lower_rows(loader(*names).line, {}))
        found = bench.ask(plan, plan.media_per_m3)
        assert found.depression_pa / 1e3 == pytest.approx(told_kpa, rel=0.03)
        assert (found.slack < 0.0) == (told_kpa > 50.8)


def test_the_share_used_is_depression_over_what_is_allowed() -> None:
    bench = bench_of(loader(), [conditions(0.0)])
    plan = merge_rows(lower_rows(loader().line, {}))
    share, place = bench.share_used(plan)
    assert (share, place) == (pytest.approx(33.8 / (101.325 - 50.5), rel=0.03), 0)
    unknown = replace(bench, limits=GridLimits(math.nan, math.nan, 1e9, 1e-9))
    assert math.isnan(unknown.share_used(plan)[0])


def test_a_line_that_breaks_its_limit_clean_bears_less_than_it_has() -> None:
    narrow = loader(bore_m=0.006)
    bench = bench_of(narrow, [conditions(0.0)])
    plan = merge_rows(lower_rows(narrow.line, {}))
    assert bench.ask(plan, plan.media_per_m3).slack < 0.0
    assert bench.bears(plan) < plan.media_per_m3


def test_a_line_that_depends_on_the_place_along_it_is_refused() -> None:
    mine = loader()
    soft = tuple(
        replace(part, collapse_depression_pa=10e3) if isinstance(part, Pipe) else part
        for part in mine.line.parts
    )
    with pytest.raises(InputError, match="soft hoses"):
        bench_of(replace(mine, line=replace(mine.line, parts=soft)), WORST)


def test_without_worst_conditions_none_are_guessed() -> None:
    with pytest.raises(InputError, match="none are guessed"):
        bench_of(loader(), [])
