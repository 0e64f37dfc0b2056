"""How sure an order is: vehicles drawn over all that is not known, and scored one by one."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.choice_ground import NO_KIT, Ground, media_of
from feedproof.app.choice_rating import Rater, over_baseline
from feedproof.app.choice_result import RatedKit, Wishes
from feedproof.app.progress import Progress
from feedproof.app.rated import EDGES_M
from feedproof.case.parts import Element
from feedproof.case.supply import Rating
from feedproof.kits.candidates import Candidate
from feedproof.kits.filters import HARSH, MILD, penetrations, taken_as
from feedproof.kits.front import score, whole_cost
from feedproof.kits.life_samples import follow_samples
from feedproof.kits.passage import Passage, passage
from feedproof.kits.protection import in_the_long_run
from feedproof.kits.service import FUEL_USE_SPREAD, level_ratio
from feedproof.physics.blocking import BlockingLaw

FloatArray = NDArray[np.float64]

DRAWS = 400
SEED = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawn:
    """
    One candidate in all draws.

    Parameters
    ----------
    scores : array, shape (n,)
        Smaller is better; infinite where its clean line breaks a limit. [-]
    keeps : array of bool, shape (n,)
        True where it keeps every limit up to its interval.
    exposure : array, shape (n,)
        Over that without a kit in the same vehicle. [-]
    """

    scores: FloatArray
    keeps: NDArray[np.bool_]
    exposure: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class _Draw:
    """One vehicle."""

    factors: tuple[float, float, float]
    normal: FloatArray
    uniform: FloatArray
    level_ratio: float


class Drawer:
    """
    Draws vehicles, the same ones for every candidate.

    Parameters
    ----------
    rater : Rater
        For ground, wishes and what lines bear.
    draws : int
        How many.
    """

    def __init__(self, rater: Rater, draws: int = DRAWS) -> None:
        self.rater = rater
        rng = np.random.default_rng(SEED)
        columns = len(rater.ground.columns)
        shares = rng.random((draws, 3))
        normal = rng.standard_normal((draws, 2 + columns))
        uniform = rng.random((draws, columns))
        level = level_ratio(rater.ground.supply, rng.standard_normal(draws))
        self.draws = [
            _Draw(factors=_between(share), normal=one, uniform=other, level_ratio=float(ratio))
            for share, one, other, ratio in zip(shares, normal, uniform, level, strict=True)
        ]

    def score_all(
        self, finalists: Sequence[tuple[Candidate, RatedKit]], progress: Progress
    ) -> dict[str, Drawn]:
        """
        Score candidates in every draw.

        Parameters
        ----------
        finalists : sequence of (Candidate, RatedKit)
            Those whose order is asked about.
        progress : Progress
            Told after every draw.

        Returns
        -------
        dict of str to Drawn
            By candidate.
        """
        rows: dict[str, list[tuple[float, bool, float]]] = {kit.id: [] for _, kit in finalists}
        setups = [_Setup(self.rater, candidate, kit) for candidate, kit in finalists]
        bare = _Setup(self.rater, NO_KIT, None)
        for done, draw in enumerate(self.draws):
            progress(done, len(self.draws), "drawing vehicles")
            let_pass: dict[str, FloatArray] = {}
            base = in_the_long_run(bare.way(draw, let_pass), self.rater.ground.filling)
            for setup in setups:
                way = setup.way(draw, let_pass)
                ratio = over_baseline(in_the_long_run(way, self.rater.ground.filling), base)
                rows[setup.id].append((*setup.scored(draw, way, ratio), ratio))
        progress(len(self.draws), len(self.draws), "drawing vehicles")
        return {
            name: Drawn(
                scores=np.array([row[0] for row in found]),
                keeps=np.array([row[1] for row in found], dtype=np.bool_),
                exposure=np.array([row[2] for row in found]),
            )
            for name, found in rows.items()
        }


class _Setup:
    """A candidate made ready for the draws."""

    def __init__(self, rater: Rater, candidate: Candidate, kit: RatedKit | None) -> None:
        self.ground: Ground = rater.ground
        self.wishes: Wishes = rater.wishes
        self.kit = kit
        self.id = candidate.id
        self.candidate = candidate
        self.ratings: dict[str, Rating] = self.ground.ratings(candidate)
        self.elements: list[Element] = list(self.ground.loading(candidate).values())
        self.columns = [self.ground.column(each) for each in self.elements]
        self.circuit = replace(self.ground.circuit, line=self.ground.line(candidate))
        plan = self.ground.plan(candidate)
        self.still = plan.media_per_m3 - sum(media_of(each) for each in self.elements)
        self.borne = rater.bears(candidate)
        self.media = np.array([media_of(each) for each in self.elements])
        ranges = [self._range(each) for each in self.elements]
        self.low = np.array([low for low, _ in ranges])
        self.high = np.array([high for _, high in ranges])

    def _range(self, element: Element) -> tuple[float, float]:
        """Give the range of an element's media, over the value used."""
        for fitted in self.candidate.fitted:
            if fitted.element_id == element.id:
                used = fitted.item.element.media_resistance_per_m
                return fitted.item.media_low_per_m / used, fitted.item.media_high_per_m / used
        known = self.ground.case.values.get(f"line[{element.id}].media_resistance")
        if known is None or known.low is None or known.high is None:
            return 1.0, 1.0
        return known.low / known.value, known.high / known.value

    def way(self, draw: _Draw, let_pass: dict[str, FloatArray]) -> Passage:
        """Give one pass of the feed in a drawn vehicle."""
        for name, rating in self.ratings.items():
            if name not in let_pass:
                let_pass[name] = penetrations(taken_as(rating, draw.factors), name, EDGES_M)
        mine = {name: let_pass[name] for name in self.ratings}
        return passage(self.circuit, self.ground.state, mine or {"": np.ones(len(EDGES_M) - 1)})

    def scored(self, draw: _Draw, way: Passage, ratio: float) -> tuple[float, bool]:
        """Score a drawn vehicle, and say whether it keeps its limits up to the interval."""
        assert self.kit is not None
        low, high = np.log(self.low), np.log(self.high)
        media = self.media * np.exp(low + draw.uniform[self.columns] * (high - low))
        if self.still + float(media.sum()) > self.borne:
            return math.inf, False
        planned = self.kit.interval_m
        life = self._life_m(draw, way, media, planned)
        cost = whole_cost(
            self.kit.bought_cost,
            self.kit.joints,
            self.wishes.joint_cost,
            sum(each.item.element_cost for each in self.candidate.fitted),
            self.wishes.change_cost,
            min(life, planned),
        )
        return score(cost, ratio, self.wishes.halving_worth), life >= planned

    def _life_m(self, draw: _Draw, way: Passage, media: FloatArray, planned_m: float) -> float:
        """Follow a drawn vehicle as far as the planned interval."""
        if not self.elements:
            return math.inf
        ground, vehicles = self.ground, self.ground.vehicles
        catching = ground.catching(way, [each.id for each in self.elements])
        supply, duty = ground.supply, ground.duty
        spread = np.array([[ground.service.capacity_spread]])
        density = ground.circuit.fluid.density_kg_per_m3
        dirt = supply.contamination_fraction * density * draw.level_ratio
        reached, _, _ = follow_samples(
            np.array([dirt * math.exp(supply.contamination_spread * draw.normal[0])]),
            vehicles.feed_m3_per_s[:1],
            vehicles.injected_m3_per_s[:1],
            np.array([duty.fuel_use_m2 * math.exp(FUEL_USE_SPREAD * draw.normal[1])]),
            np.array([[each.loading_scale_kg for each in self.elements]])
            * np.exp(spread * draw.normal[[2 + column for column in self.columns]]),
            ground.mass_share,
            ground.entering_kg_per_m3,
            catching.through,
            np.ascontiguousarray(catching.catch),
            media,
            np.array([int(BlockingLaw[each.loading_law.upper()]) for each in self.elements]),
            np.array([ground.filling.low_m3, ground.filling.high_m3]),
            self.borne - self.still,
            np.array([0.0, planned_m]),
        )
        return float(reached[0])


def _between(share: FloatArray) -> tuple[float, float, float]:
    """Draw how a vehicle treats ratings: sizes and slopes evenly, the bypass evenly by decades."""
    size, slope = (
        MILD[place] + float(share[place]) * (HARSH[place] - MILD[place]) for place in (0, 1)
    )
    bypass = MILD[2] * (HARSH[2] / MILD[2]) ** float(share[2])
    return size, slope, bypass
