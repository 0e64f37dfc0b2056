"""What a prediction's states make worth saying."""

from dataclasses import dataclass, replace
from types import SimpleNamespace

from feedproof.app.predicting import predict_case
from feedproof.app.prediction_findings import state_findings
from feedproof.case.line import Line
from feedproof.case.parts import Pipe


@dataclass(frozen=True)
class Stated:
    configuration: str
    vapour_margin_pa: float
    back_pressure_pa: float


def test_boiling_and_back_pressure_are_said_and_calm_states_are_not(demo: SimpleNamespace) -> None:
    bad = list(state_findings(demo.case, [Stated("kit", -1500.0, 25e3)], demo.case.reference))
    calm = list(state_findings(demo.case, [Stated("kit", 60e3, 5e3)], demo.case.reference))

    assert ["boils" in bad[0].message, "25.0 kPa" in bad[1].message] == [True, True]
    assert not calm


def test_a_narrow_return_line_is_found_by_a_prediction(demo: SimpleNamespace) -> None:
    """Turbulent loss goes with the fifth power of the bore: 8 to 4 mm is 32-fold."""
    narrow = Line(parts=(Pipe(id="return_pipe", length_m=4.8, bore_m=0.004),))
    case = replace(demo.case, vehicle=replace(demo.case.vehicle, return_line=narrow))
    told = predict_case(case, kits=())
    before = predict_case(demo.case, kits=()).configurations[0].back_pressure_pa

    assert told.configurations[0].back_pressure_pa > 15.0 * before > 0.0
    assert any("return line" in each.message for each in told.findings)
    assert told.configurations[0].vapour_margin_pa > 0.0
