"""A feed line that is one chain: its direct solution."""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.feedline.cells import Cell, cell_loss
from feedproof.feedline.feed_circuit import FeedCircuit, Leg, PartStep
from feedproof.feedline.line_loss import part_loss
from feedproof.feedline.network_nodes import INLET, RETURN, TANK
from feedproof.feedline.plan import LinePlan, PartRow, lower_rows
from feedproof.feedline.pump_state import FeedState
from feedproof.feedline.solve import operating_point, operating_points

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainCircuit(FeedCircuit):
    """
    A circuit whose feed line is one chain.

    Parameters
    ----------
    rows : tuple of PartRow
        One for each part.
    plan : LinePlan
        Their sum, or their cells.
    cells_of_part : tuple of int
        How many cells each part has; empty where the chain is summed.
    """

    rows: tuple[PartRow, ...]
    plan: LinePlan
    cells_of_part: tuple[int, ...] = ()

    def at(
        self, engine_speed_rev_per_s: float, injected_m3_per_s: float, *, rule: int | None = None
    ) -> FeedState:
        """Solve one operating point: see `FeedCircuit.at`."""
        return operating_point(
            self.plan,
            self.around,
            self.pump,
            self.fluid,
            self.demand(float(engine_speed_rev_per_s), float(injected_m3_per_s)),
            self.rule if rule is None else rule,
        )

    def at_many(
        self,
        engine_speed_rev_per_s: FloatArray,
        injected_m3_per_s: FloatArray,
        *,
        rule: int | None = None,
    ) -> FloatArray:
        """Solve many operating points: see `FeedCircuit.at_many`."""
        speeds = np.ascontiguousarray(engine_speed_rev_per_s, dtype=np.float64)
        return operating_points(
            self.plan,
            self.around,
            self.pump,
            self.fluid,
            speeds * self.vehicle.pump.speed_ratio,
            np.ascontiguousarray(injected_m3_per_s, dtype=np.float64),
            speeds * self.backleak_m3_per_rev,
            self.rule if rule is None else rule,
        )

    def steps(self, state: FeedState, through: Collection[str] = ()) -> tuple[PartStep, ...]:
        """Lay a solved point out part by part: see `FeedCircuit.steps`; a chain is one way."""
        del through
        flow = state.feed_m3_per_s
        if self.cells_of_part:
            losses = self._marched(flow)
        else:
            losses = [part_loss(flow, row, self.fluid, self.rule) for row in self.rows]
        return tuple(
            PartStep(part=part, loss_pa=loss)
            for part, loss in zip(self.line.parts, losses, strict=True)
        )

    def legs(self, state: FeedState, through: Collection[str] = ()) -> tuple[Leg, ...]:
        """Lay a solved point out with its return line: see `FeedCircuit.legs`."""
        feed = Leg(first=TANK, second=INLET, steps=self.steps(state, through))
        back = self.vehicle.return_line
        if not back.parts:
            return (feed,)
        flow, whole = state.return_m3_per_s, state.feed_m3_per_s
        share = flow / whole if whole > 0.0 else 1.0
        steps = tuple(
            PartStep(
                part=part,
                loss_pa=part_loss(flow, row, self.return_fluid, self.rule),
                flow_fraction=share,
            )
            for part, row in zip(back.parts, lower_rows(back, {}), strict=True)
        )
        return feed, Leg(first=RETURN, second=TANK, steps=steps, on_way=False, in_return=True)

    def _marched(self, flow_m3_per_s: float) -> list[float]:
        """Add up the cells of each part."""
        depression = self.around.static_pa
        losses = []
        first = 0
        for count in self.cells_of_part:
            before = depression
            for row in self.plan.cells[first : first + count]:
                cell = Cell(*(float(value) for value in row))
                flow = flow_m3_per_s * self.fluid.density_kg_per_m3 / cell.density_kg_per_m3
                depression += cell_loss(flow, cell, depression, self.rule)
            losses.append(depression - before)
            first += count
        return losses
