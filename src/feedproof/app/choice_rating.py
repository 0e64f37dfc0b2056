"""Every candidate held against limits, wishes and the others."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from feedproof.app.choice_ground import NO_KIT, Ground, media_of
from feedproof.app.choice_order import broken, objectives_of, place_of
from feedproof.app.choice_result import RatedKit, Wishes
from feedproof.app.progress import Progress
from feedproof.app.rated import EDGES_M
from feedproof.app.service_dirt import dirt_shares_of
from feedproof.app.service_guard import guarded
from feedproof.app.servicing import loader_of
from feedproof.case.supply import Rating
from feedproof.kits.bench import Bench
from feedproof.kits.candidates import Candidate
from feedproof.kits.filters import HARSH, MILD, taken_as
from feedproof.kits.front import front_of, score, whole_cost
from feedproof.kits.passage import Passage
from feedproof.kits.protection import Exposure, in_the_long_run
from feedproof.kits.service import YEAR_S, Rule
from feedproof.physics.fuel_water import water_volume
from feedproof.physics.size_bins import bin_middles
from feedproof.physics.wear_exposure import relative_exposure

FloatArray = NDArray[np.float64]

COUNTED_FROM_M = 4e-6
"""Smallest size that a code counts, by ISO 4406. [m]"""
_COUNTED = np.array(EDGES_M[:-1]) >= COUNTED_FROM_M * (1.0 - 1e-9)


@dataclass(frozen=True, slots=True, kw_only=True)
class Filtering:
    """
    What a set of elements does, whatever hose they hang on.

    Parameters
    ----------
    exposure, exposure_low, exposure_high : float
        Over that without a kit. [-]
    injected_per_l : float
        Particles of 4 um(c) and larger. [1/L]
    sum_per_m3 : array, shape (n, n_g)
        Media that fill, of the samples along the grid. [1/m3]
    still_per_m3 : float
        Media that do not fill. [1/m3]
    """

    exposure: float
    exposure_low: float
    exposure_high: float
    injected_per_l: float
    sum_per_m3: FloatArray
    still_per_m3: float


def reached_m(grid_m: FloatArray, sum_per_m3: FloatArray, allowed_per_m3: float) -> FloatArray:
    """
    Read off where samples reach a sum of media resistances.

    Parameters
    ----------
    grid_m : array, shape (n_g,)
        Distances. [m]
    sum_per_m3 : array, shape (n, n_g)
        Sums along them, not falling. [1/m3]
    allowed_per_m3 : float
        The sum that is borne. [1/m3]

    Returns
    -------
    array, shape (n,)
        Straight between points of the grid; infinite beyond it. [m]
    """
    over = sum_per_m3 >= allowed_per_m3
    place = np.argmax(over, axis=1)
    rows = np.arange(place.size)
    before = np.maximum(place - 1, 0)
    low, high = sum_per_m3[rows, before], sum_per_m3[rows, place]
    rise = np.where(high > low, high - low, 1.0)
    share = np.where(place > 0, (allowed_per_m3 - low) / rise, 0.0)
    found = grid_m[before] + share * (grid_m[place] - grid_m[before])
    reached: FloatArray = np.where(over[rows, place], found, math.inf)
    return reached


def sums_at(grid_m: FloatArray, sum_per_m3: FloatArray, distance_m: float) -> FloatArray:
    """
    Read samples off at a distance.

    Parameters
    ----------
    grid_m, sum_per_m3
        As for `reached_m`.
    distance_m : float
        On the grid. [m]

    Returns
    -------
    array, shape (n,)
        Sums; infinite where a sample is shut by the next point of the grid. [1/m3]
    """
    place = min(max(int(np.searchsorted(grid_m, distance_m)), 1), grid_m.size - 1)
    share = (distance_m - grid_m[place - 1]) / (grid_m[place] - grid_m[place - 1])
    low, high = sum_per_m3[:, place - 1], sum_per_m3[:, place]
    if share <= 0.0:
        return low
    found: FloatArray = low + share * (high - low)
    return found


def over_baseline(found: Exposure, bare: Exposure) -> float:
    """
    Give the exposure of the clearance band over that of another line.

    Parameters
    ----------
    found, bare : Exposure
        With a kit, and without.

    Returns
    -------
    float
        Ratio. [-]
    """
    return relative_exposure(bin_middles(EDGES_M), list(found.pump_per_m3), list(bare.pump_per_m3))


def interval_and_rule(ground: Ground, life_m: float) -> tuple[float, Rule]:
    """
    Set an interval.

    Parameters
    ----------
    ground : Ground
        For what bounds it besides life.
    life_m : float
        Distance that the asked share of vehicles reaches. [m]

    Returns
    -------
    tuple of float and Rule
        The shortest of life, wish and calendar; how far was followed where nothing bounds it.
    """
    service, duty = ground.service, ground.duty
    bounds = {
        Rule.LIFE: life_m,
        Rule.LONGEST_DISTANCE: service.longest_distance_m or math.inf,
        Rule.CALENDAR: math.inf
        if service.longest_duration_s is None
        else service.longest_duration_s / YEAR_S * duty.distance_per_year_m,
        Rule.NONE: float(ground.grid_m[-1]),
    }
    rule = min(bounds, key=lambda each: bounds[each])
    return bounds[rule], rule


class Rater:
    """
    Rates candidates, remembering what they share.

    Parameters
    ----------
    ground : Ground
        What all stand on.
    wishes : Wishes
        What is asked.
    """

    def __init__(self, ground: Ground, wishes: Wishes) -> None:
        self.ground = ground
        self.wishes = wishes
        self._filtering: dict[tuple[str, ...], Filtering] = {}
        self._bears: dict[str, float] = {}
        self._guards: dict[str, float] = {}
        self._bare = {
            factors: self._long_run(NO_KIT, factors)[1] for factors in (None, MILD, HARSH)
        }

    def _long_run(
        self, candidate: Candidate, factors: tuple[float, float, float] | None
    ) -> tuple[Passage, Exposure]:
        """Follow the fill that repeats itself, in a typical, mild or harsh vehicle."""
        ratings: dict[str, Rating] = self.ground.ratings(candidate)
        if factors is not None:
            ratings = {name: taken_as(rating, factors) for name, rating in ratings.items()}
        way = self.ground.way(candidate, ratings)
        return way, in_the_long_run(way, self.ground.filling)

    def filtering(self, candidate: Candidate) -> Filtering:
        """
        Give what a candidate's elements do.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        Filtering
            The same for every hose and place.
        """
        if candidate.elements not in self._filtering:
            way, found = self._long_run(candidate, None)
            exposures = [over_baseline(found, self._bare[None])] + [
                over_baseline(self._long_run(candidate, each)[1], self._bare[each])
                for each in (MILD, HARSH)
            ]
            fills = sum(media_of(each) for each in self.ground.loading(candidate).values())
            self._filtering[candidate.elements] = Filtering(
                exposure=exposures[0],
                exposure_low=min(exposures),
                exposure_high=max(exposures),
                injected_per_l=float(np.sum(found.injected_per_m3[_COUNTED])) * 1e-3,
                sum_per_m3=self.ground.trajectories(candidate, way),
                still_per_m3=self.ground.plan(candidate).media_per_m3 - fills,
            )
        return self._filtering[candidate.elements]

    def guard_pa(self, candidate: Candidate) -> float:
        """
        Give what the prediction of a candidate's line may be off, as `service` keeps it.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        float
            Kept from the maker's limit. [Pa]
        """
        if candidate.id not in self._guards:
            ground = self.ground
            way = ground.way(candidate, ground.ratings(candidate))
            shares = dirt_shares_of(way, ground.loading(candidate), ground.supply)
            case, kits = ground.case_with(candidate)
            loader = loader_of(case, kits, shares or {ground.factory.id: 1.0})
            self._guards[candidate.id] = guarded(case, kits, loader)[1]
        return self._guards[candidate.id]

    def bench(self, candidate: Candidate) -> Bench:
        """
        Give the worst conditions with a candidate's guard kept from the limit.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        Bench
            To ask about its line.
        """
        return self.ground.bench.guarded(self.guard_pa(candidate))

    def bears(self, candidate: Candidate) -> float:
        """
        Give the sum of media resistances that a candidate's line bears.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        float
            With its guard kept. [1/m3]
        """
        if candidate.id not in self._bears:
            plan = self.ground.plan(candidate)
            self._bears[candidate.id] = self.bench(candidate).bears(plan)
        return self._bears[candidate.id]

    def rate(self, candidate: Candidate) -> RatedKit:
        """
        Rate a candidate.

        Parameters
        ----------
        candidate : Candidate
            No kit, or one.

        Returns
        -------
        RatedKit
            With the wishes and limits that it breaks; not yet held against the others.
        """
        ground, wishes = self.ground, self.wishes
        filtering = self.filtering(candidate)
        plan = ground.plan(candidate)
        bench = self.bench(candidate)
        clean = bench.ask(plan, plan.media_per_m3)
        borne = self.bears(candidate)
        chance = ground.service.chance_fraction
        reached = np.sort(
            reached_m(ground.grid_m, filtering.sum_per_m3, borne - filtering.still_per_m3)
        )
        life = float(reached[min(int((1.0 - chance) * reached.size + 1e-9), reached.size - 1)])
        interval, rule = interval_and_rule(ground, life if clean.slack >= 0.0 else 0.0)
        sums = np.sort(sums_at(ground.grid_m, filtering.sum_per_m3, interval))
        loaded = filtering.still_per_m3 + float(sums[min(int(chance * sums.size), sums.size - 1)])
        # Where life sets the interval, the line is at its limit there by the meaning of life.
        end = bench.ask(plan, min(loaded, borne) if clean.slack >= 0.0 else loaded)
        cost = whole_cost(
            candidate.cost,
            candidate.joints,
            wishes.joint_cost,
            sum(each.item.element_cost for each in candidate.fitted),
            wishes.change_cost,
            interval,
        )
        rated = RatedKit(
            id=candidate.id,
            kind=candidate.kind,
            title=title_of(candidate),
            elements=candidate.elements,
            joints=candidate.joints,
            bought_cost=candidate.cost,
            whole_cost=cost,
            space_m3=candidate.space_m3,
            exposure=filtering.exposure,
            exposure_low=filtering.exposure_low,
            exposure_high=filtering.exposure_high,
            injected_per_l=filtering.injected_per_l,
            clean_slack=clean.slack,
            end_slack=end.slack,
            guard_pa=self.guard_pa(candidate),
            end_pressure_abs_pa=end.pressure_abs_pa,
            end_feed_margin=end.feed_margin,
            end_place=bench.names[end.place],
            interval_m=interval,
            interval_rule=rule.value,
            takes_water=ground.takes_water(candidate),
            sensor_distance_m=_sensor_distance_m(ground, candidate),
            score=score(cost, filtering.exposure, wishes.halving_worth),
        )
        return replace(rated, why_not=broken(rated, wishes))


def _sensor_distance_m(ground: Ground, candidate: Candidate) -> float | None:
    """Give the distance in which all free water that comes fills a bowl to its sensor."""
    sensors = [
        each.separator.sensor_m3
        for each in ground.line(candidate).elements
        if each.separator is not None and each.separator.sensor_m3 is not None
    ]
    water_m3_per_m = water_volume(
        ground.duty.fuel_use_m2,
        ground.circuit.fluid.density_kg_per_m3,
        ground.supply.free_water_fraction,
    )
    if not sensors or water_m3_per_m == 0.0:
        return None
    return sensors[0] / water_m3_per_m


def title_of(candidate: Candidate) -> str:
    """
    Write a candidate in words.

    Parameters
    ----------
    candidate : Candidate
        No kit, or one.

    Returns
    -------
    str
        Elements, places, hose and fittings.
    """
    if not candidate.fitted:
        return "no kit"
    filters = " and ".join(f"{each.item.title} {each.place.title}" for each in candidate.fitted)
    first = candidate.fitted[0]
    each = " each" if len(candidate.fitted) > 1 else ""
    return f"{filters}, {1e3 * first.hose.bore_m:g} mm hose, {first.fittings} fittings{each}"


def rate_all(
    rater: Rater, candidates: Sequence[Candidate], progress: Progress
) -> tuple[RatedKit, ...]:
    """
    Rate every candidate and find the front.

    Parameters
    ----------
    rater : Rater
        With the ground and the wishes.
    candidates : sequence of Candidate
        No kit among them.
    progress : Progress
        Told after every candidate.

    Returns
    -------
    tuple of RatedKit
        Those that break nothing first, in the order of `place_of`.
    """
    rated = []
    for done, each in enumerate(candidates):
        progress(done, len(candidates), "rating candidates")
        rated.append(rater.rate(each))
    progress(len(candidates), len(candidates), "rating candidates")
    fitting = [each for each in rated if not each.why_not]
    front = front_of(objectives_of(fitting))
    kept = {each.id for each, on in zip(fitting, front.tolist(), strict=True) if on}
    return tuple(
        sorted(
            (replace(each, on_front=each.id in kept) for each in rated),
            key=lambda each: place_of(each, rater.wishes),
        )
    )
