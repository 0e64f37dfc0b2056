"""Planted runs with and without an added element, for the checks of its fit."""

from dataclasses import dataclass

import numpy as np

from feedproof.evidence.fit.element_run import ElementRun

KPA = 1e3
L_PER_H = 1.0 / 3.6e6
# a and b of the planted element: 2.4 + 0.72 = 3.12 kPa at 120 L/h.
TRUE_A = 0.02 * KPA / L_PER_H
TRUE_B = 5.0e-5 * KPA / L_PER_H**2
LINE_C, LINE_A, LINE_B = 3.0 * KPA, 0.04 * KPA / L_PER_H, 2.0e-4 * KPA / L_PER_H**2


@dataclass(frozen=True, kw_only=True)
class Plant:
    """How a set of runs is made; flows in L/h, pressures in kPa."""

    order: str = "AABB"
    lowest: float = 50.0
    highest: float = 150.0
    points: int = 12
    flow_sd: float = 1.0
    depression_sd: float = 0.1
    scale_sd: float = 0.0
    offset_sd: float = 0.0
    shared_scale_sd: float = 0.0
    declared_scale_u: float | None = None
    a: float = TRUE_A
    b: float = TRUE_B

    def runs(self, rng: np.random.Generator | None) -> list[ElementRun]:
        """Make the runs; without a generator there is no noise."""
        shared = 0.0 if rng is None else self.shared_scale_sd * rng.standard_normal()
        return [self._run(rng, i, kind, shared) for i, kind in enumerate(self.order)]

    def _run(
        self, rng: np.random.Generator | None, place: int, kind: str, shared: float
    ) -> ElementRun:
        true = np.linspace(self.lowest, self.highest, self.points) * L_PER_H
        fitted = float(kind == "B")
        p = LINE_C + (LINE_A + fitted * self.a) * true + (LINE_B + fitted * self.b) * true**2
        flow = true
        if rng is not None:
            scale = self.scale_sd * rng.standard_normal()
            flow = true * (1.0 + scale) * (1.0 + shared)
            flow = flow + self.flow_sd * L_PER_H * rng.standard_normal(self.points)
            p = p + self.depression_sd * KPA * rng.standard_normal(self.points)
            p = p + self.offset_sd * KPA * rng.standard_normal()
        declared = self.scale_sd if self.declared_scale_u is None else self.declared_scale_u
        return ElementRun(
            name=f"{place + 1}{kind}",
            candidate=kind == "B",
            flow_m3_per_s=flow,
            depression_pa=p,
            flow_u_m3_per_s=self.flow_sd * L_PER_H,
            depression_u_pa=self.depression_sd * KPA,
            flow_scale_u=declared,
            depression_offset_u_pa=self.offset_sd * KPA,
            fuel_temperature_k=313.15,
        )
