"""
The feed line as a function of the parameters, for all that is asked of it at once.

A chain is taken apart into the sums that each parameter multiplies, once; then any number of
parameter sets is one compiled call.  Networks and lines that are marched cell by cell are built
anew for each set: slower, and the same physics.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from feedproof.case.case import Case
from feedproof.case.conditions import Conditions
from feedproof.case.parts import Element
from feedproof.evidence.fit.groups import changed_case, groups_of_case, viscosity_name
from feedproof.evidence.fit.line_kernel import solve_asks
from feedproof.evidence.fit.parameters import HEIGHT, Values
from feedproof.feedline.chain_circuit import ChainCircuit
from feedproof.feedline.circuit import FeedCircuit, build_circuit
from feedproof.feedline.plan import pipe_row
from feedproof.physics.kinematics import head_pressure

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ask:
    """
    Points of one configuration under one set of conditions.

    Parameters
    ----------
    kits : tuple of str
        Kit ids.
    conditions : Conditions
        The conditions.
    engine_speed_rev_per_s : array, shape (n,)
        Engine speeds. [rev/s]
    load_fraction : array, shape (n,)
        Fuel wanted over that of full load. [-]
    """

    kits: tuple[str, ...]
    conditions: Conditions
    engine_speed_rev_per_s: FloatArray
    load_fraction: FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class _Chain:
    """One ask's chain, taken apart: sums by parameter, rows in the order of `names`."""

    crack_pa: float
    viscous: FloatArray
    media: FloatArray
    inertial: FloatArray
    loaded: tuple[tuple[int, str, float, float], ...]
    pipes: FloatArray
    pipe_group: tuple[int, ...]


class LineModel:
    """
    States of all asks under any set of parameters.

    Parameters
    ----------
    case : Case
        The case.
    asks : sequence of Ask
        What is asked.
    """

    def __init__(self, case: Case, asks: Sequence[Ask]) -> None:
        self.case = case
        self.asks = tuple(asks)
        self.circuits = tuple(circuit_of(case, ask) for ask in asks)
        self.injected = tuple(
            circuit.full_load(ask.engine_speed_rev_per_s)[1] * ask.load_fraction
            for circuit, ask in zip(self.circuits, self.asks, strict=True)
        )
        self.rule = self.circuits[0].rule if self.circuits else 0
        self._tables = _tables_of(case, self) if self._all_chains() else None

    def _all_chains(self) -> bool:
        """Say whether every ask is a chain in sums."""
        return all(
            isinstance(each, ChainCircuit) and each.plan.cells.shape[0] == 0
            for each in self.circuits
        )

    @property
    def point_count(self) -> int:
        """Count the points of all asks."""
        return sum(ask.engine_speed_rev_per_s.size for ask in self.asks)

    @property
    def compiled(self) -> bool:
        """Say whether all sets of parameters are one call."""
        return self._tables is not None

    def states(self, values: Values, rule: int | None = None) -> FloatArray:
        """
        Solve every point of every ask.

        Parameters
        ----------
        values : Values
            Parameters, m sets.
        rule : int, optional
            Another friction rule than the case's.

        Returns
        -------
        array, shape (m, n_points, 9)
            Points of one ask after the other; states in the order of `FeedState`.
        """
        rule = self.rule if rule is None else rule
        if self._tables is not None:
            return self._tables.solve(values, rule)
        found = np.empty((values.table.shape[0], self.point_count, 9))
        for row in range(found.shape[0]):
            changed = changed_case(self.case, values.at(row))
            found[row] = np.concatenate(
                [
                    circuit_of(changed, ask).at_many(ask.engine_speed_rev_per_s, wanted, rule=rule)
                    for ask, wanted in zip(self.asks, self.injected, strict=True)
                ]
            )
        return found


def circuit_of(case: Case, ask: Ask) -> FeedCircuit:
    """
    Lower what is asked about.

    Parameters
    ----------
    case : Case
        The case.
    ask : Ask
        For kits and conditions.

    Returns
    -------
    FeedCircuit
        Ready to be asked.
    """
    fuel = case.fuels[ask.conditions.fuel]
    line = case.line_with(ask.kits)
    return build_circuit(case.vehicle, line, fuel, ask.conditions, case.friction_rule)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tables:
    """All asks of a model as arrays."""

    names: tuple[str, ...]
    chains: tuple[_Chain, ...]
    pipes: FloatArray
    pipe_group: IntArray
    first_pipe: IntArray
    first_point: IntArray
    fluids: FloatArray
    fuels: tuple[str, ...]
    walther: FloatArray
    arounds: FloatArray
    per_height: FloatArray
    pump: FloatArray
    demands: FloatArray

    def solve(self, values: Values, rule: int) -> FloatArray:
        """Solve all points for all sets of parameters."""
        factors = values.factors(self.names)
        sets = factors.shape[0]
        sums = np.empty((sets, len(self.chains), 4))
        for i, chain in enumerate(self.chains):
            sums[:, i, 0] = chain.crack_pa
            sums[:, i, 1] = factors @ chain.viscous
            sums[:, i, 2] = factors @ chain.media
            sums[:, i, 3] = factors @ chain.inertial
            for group, loading, clean, exponent in chain.loaded:
                grown = np.exp(np.minimum(exponent * values.of(loading), 700.0))
                sums[:, i, 2] += factors[:, group] * clean * grown
        thicker = np.stack([values.of(viscosity_name(fuel)) for fuel in self.fuels], axis=1)
        arounds = np.repeat(self.arounds[None], sets, axis=0)
        arounds[:, :, 0] += values.of(HEIGHT, 0.0)[:, None] * self.per_height
        pumps = np.repeat(self.pump[None], sets, axis=0)
        for column, name in _PUMP_COLUMNS:
            pumps[:, column] *= values.of(name)
        pumps[:, _RELEASE] = np.minimum(pumps[:, _RELEASE], 1.0)
        return solve_asks(
            sums,
            self.pipes,
            np.ascontiguousarray(factors[:, self.pipe_group]),
            self.first_pipe,
            self.fluids,
            self.walther,
            thicker,
            arounds,
            pumps,
            self.demands,
            self.first_point,
            rule,
        )


_RELEASE = 9
_PUMP_COLUMNS = (
    (1, "pump.displacement"),
    (3, "pump.slip"),
    (5, "pump.half_pressure"),
    (6, "pump.softness"),
    (_RELEASE, "pump.gas_release"),
)


def _tables_of(case: Case, model: LineModel) -> _Tables:
    """Take all chains apart."""
    groups = groups_of_case(case)
    names = tuple(
        dict.fromkeys(name for group in groups.values() for name in (group.viscous, group.inertial))
    )
    chains = []
    for circuit, ask in zip(model.circuits, model.asks, strict=True):
        assert isinstance(circuit, ChainCircuit)
        chains.append(_chain_of(case, circuit, ask, names))
    counts = [ask.engine_speed_rev_per_s.size for ask in model.asks]
    revs = np.concatenate([ask.engine_speed_rev_per_s for ask in model.asks])
    per_rev = np.concatenate(
        [
            np.full(count, circuit.backleak_m3_per_rev)
            for circuit, count in zip(model.circuits, counts, strict=True)
        ]
    )
    first = model.circuits[0]
    demands = np.stack(
        [
            revs * case.vehicle.pump.speed_ratio,
            np.concatenate(model.injected),
            revs * per_rev,
        ]
    )
    return _Tables(
        names=names,
        chains=tuple(chains),
        pipes=np.concatenate([chain.pipes for chain in chains]),
        pipe_group=np.array([g for chain in chains for g in chain.pipe_group], dtype=np.int64),
        first_pipe=_starts([len(chain.pipe_group) for chain in chains]),
        first_point=_starts(counts),
        fluids=np.array([tuple(circuit.fluid) for circuit in model.circuits]),
        fuels=tuple(ask.conditions.fuel for ask in model.asks),
        walther=np.array([_walther_row(case, ask) for ask in model.asks]),
        arounds=np.array([tuple(circuit.around) for circuit in model.circuits]),
        per_height=np.array(
            [
                head_pressure(circuit.fluid.density_kg_per_m3, 1.0)
                * math.cos(circuit.conditions.road_pitch_rad)
                for circuit in model.circuits
            ]
        ),
        pump=np.array([float(each) for each in first.pump]),
        demands=demands,
    )


def _walther_row(case: Case, ask: Ask) -> tuple[float, ...]:
    """Give what the viscosity of an ask's fuel is made of."""
    fuel = case.fuels[ask.conditions.fuel]
    return (
        fuel.temperature_cool_k,
        fuel.viscosity_cool_m2_per_s,
        fuel.temperature_warm_k,
        fuel.viscosity_warm_m2_per_s,
        ask.conditions.fuel_temperature_k,
    )


def _starts(counts: Sequence[int]) -> IntArray:
    """Give where each group begins, and the end."""
    return np.concatenate([[0], np.cumsum(counts)]).astype(np.int64)


def _chain_of(case: Case, circuit: ChainCircuit, ask: Ask, names: tuple[str, ...]) -> _Chain:
    """Take one chain apart into what each parameter multiplies."""
    groups = groups_of_case(case)
    viscous, media, inertial = (np.zeros(len(names)) for _ in range(3))
    loaded, pipes, pipe_group = [], [], []
    for part, row in zip(circuit.line.parts, circuit.rows, strict=True):
        mine = groups[part.id]
        by, dense = names.index(mine.viscous), names.index(mine.inertial)
        viscous[by] += row.viscous_per_m3
        inertial[dense] += row.inertial_per_m4
        held = ask.conditions.captured_mass_kg.get(part.id, 0.0)
        if isinstance(part, Element) and held > 0.0 and math.isfinite(part.loading_scale_kg):
            clean = part.media_resistance_per_m / part.face_area_m2
            loaded.append((by, mine.loading, clean, held / part.loading_scale_kg))
        else:
            media[by] += row.media_per_m3
        if row.length_m > 0.0:
            pipes.append(pipe_row(row.bore_m, row.length_m, row.roughness_m))
            pipe_group.append(by)
    return _Chain(
        crack_pa=math.fsum(row.crack_pa for row in circuit.rows),
        viscous=viscous,
        media=media,
        inertial=inertial,
        loaded=tuple(loaded),
        pipes=_merged(pipes, pipe_group)[0],
        pipe_group=_merged(pipes, pipe_group)[1],
    )


def _merged(
    pipes: Sequence[tuple[float, ...]], groups: Sequence[int]
) -> tuple[FloatArray, tuple[int, ...]]:
    """Add up pipes of one bore, roughness and parameter."""
    lengths: dict[tuple[int, float, float], float] = {}
    rows: dict[tuple[int, float, float], tuple[float, ...]] = {}
    for row, group in zip(pipes, groups, strict=True):
        key = (group, row[0], row[2])
        lengths[key] = lengths.get(key, 0.0) + row[1]
        rows[key] = row
    merged = [(row[0], lengths[key], *row[2:]) for key, row in rows.items()]
    table = np.array(merged, dtype=np.float64).reshape(len(merged), 8)
    return table, tuple(key[0] for key in rows)
