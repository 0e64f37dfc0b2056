"""What all candidates stand on: the vehicle under its worst conditions, its fuel and its duty."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.rated import (
    EDGES_M,
    duty_point,
    filling_of,
    mass_shares,
    penetrations_of,
    supply_and_duty,
)
from feedproof.app.service_dirt import dirt_by_band, dust_by_band, with_soft
from feedproof.app.servicing import FOLLOWED_M, loader_of
from feedproof.case.case import Case
from feedproof.case.line import Line
from feedproof.case.parts import Element
from feedproof.case.supply import Duty, Rating, Service, Supply
from feedproof.feedline.chain_circuit import ChainCircuit
from feedproof.feedline.plan import LinePlan, lower_rows, merge_rows
from feedproof.feedline.pump_state import FeedState
from feedproof.kits.bench import Bench, bench_of
from feedproof.kits.candidates import Candidate, factory_element
from feedproof.kits.life import Vehicles, follow
from feedproof.kits.passage import Passage, passage
from feedproof.kits.protection import Filling
from feedproof.kits.service import sample_vehicles

FloatArray = NDArray[np.float64]

SAMPLES = 1000
GRID_POINTS = 241
ADDED = ("primary", "secondary")
"""Columns of capacities of added elements, behind those of the vehicle's own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """
    What all candidates share.

    Parameters
    ----------
    case, supply, duty, service : Case, Supply, Duty, Service
        As declared.
    factory : Element
        The factory element.
    bench : Bench
        The worst conditions.
    circuit : ChainCircuit
        The line without a kit at the reference conditions.
    state : FeedState
        It at the duty's mean point; taken for every candidate: one that keeps its limits
        differs there by a few thousandths in flow.
    filling : Filling
        The tank.
    mass_share : array, shape (n_b + 1,)
        Of the dirt by band of size, soft matter last, as what it blocks like. [-]
    entering_kg_per_m3 : array, shape (n_b + 1,)
        Dust of the breather. [kg/m3]
    vehicles : Vehicles
        The same samples for every candidate.
    columns : tuple of str
        Elements of the samples' capacities: the vehicle's own, then `ADDED`.
    grid_m : array
        Distances along which they are followed. [m]
    """

    case: Case
    supply: Supply
    duty: Duty
    service: Service
    factory: Element
    bench: Bench
    circuit: ChainCircuit
    state: FeedState
    filling: Filling
    mass_share: FloatArray
    entering_kg_per_m3: FloatArray
    vehicles: Vehicles
    columns: tuple[str, ...]
    grid_m: FloatArray

    def line(self, candidate: Candidate) -> Line:
        """
        Let a candidate into the line.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        Line
            Tank to pump inlet.
        """
        kit = candidate.kit(self.factory.id)
        return self.case.vehicle.line if kit is None else self.case.vehicle.line.with_kit(kit)

    def case_with(self, candidate: Candidate) -> tuple[Case, tuple[str, ...]]:
        """
        Give the case with a candidate as one of its kits.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        tuple of Case and tuple of str
            The case, and the ids of the kits that are let in.
        """
        kit = candidate.kit(self.factory.id)
        if kit is None:
            return self.case, ()
        return replace(self.case, kits={**self.case.kits, kit.id: kit}), (kit.id,)

    def plan(self, candidate: Candidate) -> LinePlan:
        """
        Lower a candidate's clean line to its sums.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        LinePlan
            For the bench.
        """
        return merge_rows(lower_rows(self.line(candidate), {}))

    def ratings(self, candidate: Candidate) -> dict[str, Rating]:
        """
        Give the rated elements of a candidate's line.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        dict of str to Rating
            In the order of the line.
        """
        return {
            each.id: each.rating
            for each in self.line(candidate).elements
            if each.rating is not None
        }

    def loading(self, candidate: Candidate) -> dict[str, Element]:
        """
        Give the elements of a candidate's line that fill.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        dict of str to Element
            In the order of the line.
        """
        return {
            each.id: each
            for each in self.line(candidate).elements
            if each.rating is not None and not math.isinf(each.loading_scale_kg)
        }

    def way(self, candidate: Candidate, ratings: dict[str, Rating]) -> Passage:
        """
        Give one pass of the feed at the duty's mean point.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.
        ratings : dict of str to Rating
            How its elements are taken to filter.

        Returns
        -------
        Passage
            Shares by band of size.
        """
        circuit = replace(self.circuit, line=self.line(candidate))
        let_pass = penetrations_of(ratings) or {"": np.ones(len(EDGES_M) - 1)}
        return passage(circuit, self.state, let_pass)

    def catching(self, way: Passage, elements: Sequence[str]) -> Passage:
        """
        Give the same pass for what is weighed: of elements that fill, soft matter as a last band.

        Parameters
        ----------
        way : Passage
            By size.
        elements : sequence of str
            Those that fill.

        Returns
        -------
        Passage
            Soft matter is caught like the finest particles.
        """
        catch = way.catch[[way.elements.index(name) for name in elements]]
        return Passage(
            through=with_soft(way.through, way.through[:1]),
            elements=tuple(elements),
            catch=with_soft(catch, catch[:, :1]),
            drawn_m3_per_s=way.drawn_m3_per_s,
            injected_m3_per_s=way.injected_m3_per_s,
        )

    def column(self, element: Element) -> int:
        """
        Find the capacities of an element among the samples.

        Parameters
        ----------
        element : Element
            One that fills.

        Returns
        -------
        int
            An added element has the column of its role, so that sizes are compared on the same
            samples.
        """
        own = element.id in self.columns[: -len(ADDED)]
        return self.columns.index(element.id if own else element.role)

    def trajectories(self, candidate: Candidate, way: Passage) -> FloatArray:
        """
        Follow the samples with a candidate.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.
        way : Passage
            By size.

        Returns
        -------
        array, shape (n, n_g)
            Sum of the media that fill, along the grid. [1/m3]
        """
        loading = self.loading(candidate)
        elements = list(loading.values())
        if not elements:
            return np.zeros((self.vehicles.fuel_use_m2.size, self.grid_m.size))
        columns = [self.column(each) for each in elements]
        return follow(
            replace(self.vehicles, capacity_ratio=self.vehicles.capacity_ratio[:, columns]),
            mass_share=self.mass_share,
            entering_kg_per_m3=self.entering_kg_per_m3,
            passage=self.catching(way, list(loading)),
            media_per_m3=np.array([media_of(each) for each in elements]),
            scale_kg=np.array([each.loading_scale_kg for each in elements]),
            laws=[each.loading_law for each in elements],
            volume_m3=(self.filling.low_m3, self.filling.high_m3),
            allowed_per_m3=math.inf,
            grid_m=self.grid_m,
        ).sum_per_m3

    def takes_water(self, candidate: Candidate) -> bool:
        """
        Say whether a candidate's line takes out free water at the flows of the vehicle.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        bool
            True with a separator rated for the largest flow of the line without a kit: faster
            flow carries drops along that a rating was never shown to catch.
        """
        return any(
            each.separator is not None
            and each.separator.flow_m3_per_s >= self.bench.largest_feed_m3_per_s()
            for each in self.line(candidate).elements
        )


def media_of(element: Element) -> float:
    """
    Give the resistance of an element's clean media.

    Parameters
    ----------
    element : Element
        An element.

    Returns
    -------
    float
        Over its area. [1/m3]
    """
    return element.media_resistance_per_m / element.face_area_m2


def ground_of(case: Case, *, samples: int = SAMPLES) -> Ground:
    """
    Lay the ground.

    Parameters
    ----------
    case : Case
        With supply, duty and worst conditions.
    samples : int
        Vehicles that are drawn.

    Returns
    -------
    Ground
        For every candidate.

    Raises
    ------
    MissingError
        No supply or duty.
    InputError
        No worst conditions, no factory element, or a line that is no chain in sums.
    """
    supply, duty = supply_and_duty(case, "choose")
    factory = factory_element(case.vehicle.line)
    service = case.service or Service(source="assumed")
    bench = bench_of(loader_of(case, (), {factory.id: 1.0}), case.worst)
    point = duty_point(case, (), duty)
    if not isinstance(point.circuit, ChainCircuit):
        raise AssertionError("bench_of has refused every line that is no chain")
    shares = mass_shares(supply)
    own = tuple(
        each.id
        for each in case.vehicle.line.elements
        if each.rating is not None and not math.isinf(each.loading_scale_kg)
    )
    longest = service.longest_distance_m
    return Ground(
        case=case,
        supply=supply,
        duty=duty,
        service=service,
        factory=factory,
        bench=bench,
        circuit=point.circuit,
        state=point.state,
        filling=filling_of(case, supply, duty),
        mass_share=dirt_by_band(supply, shares),
        entering_kg_per_m3=dust_by_band(supply, shares),
        vehicles=sample_vehicles(
            supply,
            duty,
            fuel_density_kg_per_m3=point.circuit.fluid.density_kg_per_m3,
            feed_m3_per_s=point.state.feed_m3_per_s,
            injected_m3_per_s=point.state.injected_m3_per_s,
            elements=len(own) + len(ADDED),
            capacity_spread=service.capacity_spread,
            count=samples,
        ),
        columns=(*own, *ADDED),
        grid_m=np.linspace(0.0, min(FOLLOWED_M, 4.0 * (longest or 1e9)), GRID_POINTS),
    )


NO_KIT = Candidate(fitted=())
