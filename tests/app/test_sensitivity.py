"""
What a prediction hangs on, on planted truths.

A long laminar pipe loses in proportion to its length and to the viscosity (Hagen-Poiseuille), so
the shares of the variance are known in closed form.
"""

import json
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import jsonschema
import numpy as np
import pytest

from feedproof.app.cli import main
from feedproof.app.schemas import schema
from feedproof.app.sensitivity import sensitivity_case
from feedproof.app.sensitivity_result import RoomVerdict, Sensitivity
from feedproof.app.sensitivity_text import sensitivity_text
from feedproof.case.case import Case
from feedproof.case.line import Line
from feedproof.case.parts import Pipe
from feedproof.core.values import SourcedValue

LENGTH_M, BORE_M = 6.0, 0.012


def planted(case: Case, **ranges: float) -> Case:
    """Make a case of one wide pipe whose length and bore have ranges, given in per cent."""
    pipe = Pipe(id="pipe", length_m=LENGTH_M, bore_m=BORE_M)
    values = {
        f"line[pipe].{name}": SourcedValue(
            value=middle,
            text=f"{middle} m",
            low=middle * (1.0 - percent / 100.0),
            high=middle * (1.0 + percent / 100.0),
            source="planted",
        )
        for name, percent in ranges.items()
        for middle in ({"length": LENGTH_M, "bore": BORE_M}[name],)
    }
    body = replace(case.vehicle, line=Line(parts=(pipe,)))
    return replace(case, vehicle=body, kits={}, runs=(), worst=(), values=values)


def asked(case: Case, **options: object) -> Sensitivity:
    """Ask the baseline only, with cold fuel so that the pipe is laminar throughout."""
    changes = {"fuel_temperature_k": 278.15}
    return sensitivity_case(case, kits=(), changes=changes, **options)


def effects(found: Sensitivity, quantity: str = "depression") -> dict[str, object]:
    """Give the effects on one quantity by input."""
    (each,) = found.configurations
    return {
        one.path: next(effect for effect in one.effects if effect.quantity == quantity)
        for one in each.inputs
    }


def test_shares_follow_the_powers_of_the_laminar_law(demo: SimpleNamespace) -> None:
    """Loss ~ L/d^4: a bore of +-1 % weighs (4 x 1)^2 against a length of +-3 %, 3^2."""
    found = effects(asked(planted(demo.case, length=3.0, bore=1.0)))

    assert found["line[pipe].bore"].first == pytest.approx(16.0 / 25.0, abs=0.04)
    assert found["line[pipe].length"].first == pytest.approx(9.0 / 25.0, abs=0.04)
    assert found["friction_transition"].total == pytest.approx(0.0, abs=0.01)


def test_local_slopes_are_those_of_the_law(demo: SimpleNamespace) -> None:
    found = asked(planted(demo.case, length=3.0, bore=1.0))
    (each,) = found.configurations
    (part,) = each.parts
    by_length = effects(found)["line[pipe].length"].per_unit

    assert by_length == pytest.approx(part.loss_pa / LENGTH_M, rel=0.01)


def test_the_interval_is_that_of_an_independent_simulation(demo: SimpleNamespace) -> None:
    found = asked(planted(demo.case, length=10.0, bore=4.0))
    (each,) = found.configurations
    interval = next(one for one in each.intervals if one.quantity == "depression")
    rng = np.random.default_rng(7)
    length = rng.uniform(0.9, 1.1, 200_000)
    bore = rng.uniform(0.96, 1.04, 200_000)
    (part,) = each.parts
    rest = interval.as_given - part.loss_pa
    low, high = np.quantile(rest + part.loss_pa * length / bore**4, [0.05, 0.95])

    assert interval.low == pytest.approx(low, abs=0.02 * (high - low))
    assert interval.high == pytest.approx(high, abs=0.02 * (high - low))


def test_the_same_seed_gives_the_same_and_another_nearly_the_same(demo: SimpleNamespace) -> None:
    case = planted(demo.case, length=3.0, bore=1.0)
    first, again, other = (asked(case, samples=256, seed=seed) for seed in (1, 1, 2))

    assert effects(first)["line[pipe].bore"] == effects(again)["line[pipe].bore"]
    one, two = (effects(each)["line[pipe].bore"] for each in (first, other))
    assert one.first != two.first
    assert one.first == pytest.approx(two.first, abs=0.1)


def test_without_a_limit_the_room_is_no_verdict(demo: SimpleNamespace) -> None:
    case = planted(demo.case, length=3.0)
    unknown = replace(case.vehicle.pump, maker_limit_abs_pa=None)
    found = asked(replace(case, vehicle=replace(case.vehicle, pump=unknown)), samples=64)

    assert found.configurations[0].verdict is RoomVerdict.NO_LIMIT_KNOWN
    assert "No limit known" in sensitivity_text(found) or "no limit" in sensitivity_text(found)


def test_a_room_that_straddles_the_limit_cannot_be_told(demo: SimpleNamespace) -> None:
    case = planted(demo.case, length=20.0, bore=5.0)
    (each,) = asked(case, samples=64).configurations
    middle = next(one for one in each.intervals if one.quantity == "room").as_given
    limit = case.vehicle.pump.maker_limit_abs_pa + middle
    pump = replace(case.vehicle.pump, maker_limit_abs_pa=limit)
    found = asked(replace(case, vehicle=replace(case.vehicle, pump=pump)), samples=256)

    assert found.configurations[0].verdict is RoomVerdict.CANNOT_TELL


def test_the_document_is_what_its_schema_says(
    demo: SimpleNamespace, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    case = demo.folder.copy_to(tmp_path / "case").path

    code = main(["sensitivity", str(case), "--kit", "secondary", "--samples", "64", "--json"])
    document = json.loads(capsys.readouterr().out)
    assert code == 0
    jsonschema.validate(document, schema("sensitivity"))


@pytest.mark.parametrize(
    ("words", "place"),
    [(("--samples", "100"), "--samples"), (("--seed", "-1"), "--seed"), (("--kit", "no"), "no")],
)
def test_what_cannot_be_sampled_is_refused(
    demo: SimpleNamespace,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    words: tuple[str, str],
    place: str,
) -> None:
    case = demo.folder.copy_to(tmp_path / "case").path

    assert main(["sensitivity", str(case), *words]) != 0
    assert place in capsys.readouterr().err
