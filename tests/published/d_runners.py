"""How each row of filtration is computed by the project."""

from feedproof.core import units
from feedproof.physics import (
    blocking,
    cleanliness,
    dust,
    fibre,
    filtration,
    fuel_water,
    granular,
    particle_sizes,
    settling,
)
from tests.published.rows import Result, Runner

PER_ML = 1e6
FIBRE = {"thickness": 0.6e-3, "fibre": 8e-6, "face": 0.5e-3, "mu": 2.5e-3}
SOLIDITY = 0.08


def codes(*per_ml: float) -> Runner:
    """Wait to give the code of three counts."""
    return lambda: cleanliness.codes_of_counts([count * PER_ML for count in per_ml])


def classes(*per_ml: float) -> Runner:
    """Wait to give the classes of counts, one by one: they need not fall."""
    return lambda: tuple(float(cleanliness.class_of_count(count * PER_ML)) for count in per_ml)


def limits(*names: int) -> Result:
    """Give the limits of classes, per millilitre."""
    return tuple(limit / PER_ML for name in names for limit in cleanliness.class_limits(name))


def efficiency(beta: float) -> Runner:
    """Wait to give the efficiency of a filtration ratio, in percent."""
    return lambda: 100.0 * filtration.efficiency_of_ratio(beta)


def two_in_series() -> Result:
    """Give ratio and efficiency of ratios 2 and 20 one behind the other."""
    passed = filtration.series_penetration([1.0 / 2.0, 1.0 / 20.0])
    return 1.0 / passed, 100.0 * filtration.efficiency_of_ratio(1.0 / passed)


def below(grade: str, size_m: float) -> Runner:
    """Wait to give the volume of a dust below a size, in percent."""
    return lambda: 100.0 * dust.volume_below(dust.dust(grade), size_m)


def litres_per_hour(ends: tuple[float, float]) -> Result:
    """Give the ends of a range of flow."""
    return tuple(units.from_si(end, "L/h") for end in ends)


def factors(solidity: float) -> Runner:
    """Wait to give both factors of cell models."""
    return lambda: (fibre.kuwabara_factor(solidity), fibre.happel_factor(solidity))


def drags(solidity: float) -> Runner:
    """Wait to give the drag by Davies and by both cell models."""
    return lambda: (
        fibre.davies_drag(solidity),
        fibre.cell_drag(solidity, fibre.kuwabara_factor(solidity)),
        fibre.cell_drag(solidity, fibre.happel_factor(solidity)),
    )


def davies_layer() -> float:
    """Lose pressure in a layer of fibres."""
    return fibre.layer_pressure_loss(
        FIBRE["face"], FIBRE["thickness"], FIBRE["fibre"], FIBRE["mu"], fibre.davies_drag(SOLIDITY)
    )


def diffusing() -> tuple[float, float]:
    """Give diffusivity and Peclet number of a particle of one micrometre."""
    diffusivity = fibre.stokes_einstein_diffusivity(1e-6, 298.15, FIBRE["mu"])
    return diffusivity, fibre.fibre_peclet(FIBRE["face"], FIBRE["fibre"], diffusivity)


def lee_liu() -> Result:
    """Catch by diffusion a small particle, by interception one of 5 um."""
    factor = fibre.kuwabara_factor(SOLIDITY)
    return (
        fibre.lee_liu_diffusion(SOLIDITY, factor, diffusing()[1]),
        fibre.lee_liu_interception(SOLIDITY, factor, 5.0 / 8.0),
    )


def hermia(law: blocking.BlockingLaw) -> Runner:
    """Wait to give flow and volume at constant pressure, Q0 = 1, k = 0.1, t = 5."""
    return lambda: (
        blocking.constant_pressure_flow(5.0, 1.0, 0.1, int(law)),
        blocking.constant_pressure_volume(5.0, 1.0, 0.1, int(law)),
    )


def growth(law: blocking.BlockingLaw) -> Runner:
    """Wait to give the growth at a normalised load of 0.3."""
    return lambda: blocking.blocking_growth(0.3, 1.0, int(law))


def sinking() -> Result:
    """Let a drop of water and a grain of dust sink in diesel."""
    return (
        settling.stokes_settling_speed(100e-6, 998.0, 830.0, 2.5e-3),
        settling.stokes_settling_speed(20e-6, 2650.0, 830.0, 2.5e-3),
    )


LAW = blocking.BlockingLaw
SIZES_1997 = {"D019": 1, "D020": 2, "D021": 3, "D023": 5, "D024": 7, "D025": 10, "D026": 20,
              "D028": 80, "D029": 120}  # fmt: skip
SIZES_2016 = {"D030": 0.97, "D031": 1.38, "D032": 2.75, "D033": 5.5, "D034": 11, "D035": 22,
              "D036": 44, "D037": 88}  # fmt: skip
SIZES_A1 = {"D038": 0.97, "D038B": 1.38, "D038C": 2.75, "D038D": 5.5, "D038E": 11, "D038F": 22}

RUNNERS: dict[str, Runner] = {
    "D001": codes(3000, 500, 7),
    "D002": codes(2500, 640, 80),
    "D003": codes(2501, 641, 81),
    "D004": codes(1300, 320, 40),
    "D005": classes(0.64, 0.641, 0.01),
    "D007": codes(19999, 4999.9, 160.1),
    "D009": lambda: limits(18, 16, 13),
    "D010": efficiency(2.0),
    "D011": efficiency(10.0),
    "D012": efficiency(75.0),
    "D013": efficiency(100.0),
    "D015": efficiency(1000.0),
    "D016": efficiency(1.5),
    "D017": lambda: filtration.ratio_of_efficiency(units.to_si(99.7, "%")),
    "D018": two_in_series,
    **{name: below("a2_1997", size * 1e-6) for name, size in SIZES_1997.items()},
    **{f"{name}M": below("a3_1997", size * 1e-6) for name, size in SIZES_1997.items()},
    **{name: below("a2_2016", size * 1e-6) for name, size in SIZES_2016.items()},
    **{name: below("a1_2016", size * 1e-6) for name, size in SIZES_A1.items()},
    "D039": lambda: particle_sizes.DUST_DENSITY_KG_PER_M3,
    "D040": lambda: litres_per_hour(filtration.ISO_19438_FLOW_M3_PER_S),
    "D041": lambda: litres_per_hour(fuel_water.ISO_16332_FLOW_M3_PER_S),
    "D042": lambda: tuple(float(code) for code in cleanliness.CHARTER_CODE),
    "D043": factors(0.01),
    "D044": drags(0.01),
    "D045": factors(0.05),
    "D046": drags(0.05),
    "D047": factors(0.1),
    "D048": drags(0.1),
    "D051": davies_layer,
    "D052": diffusing,
    "D053": lee_liu,
    "D055": lambda: fibre.layer_penetration(SOLIDITY, 0.05, FIBRE["thickness"], FIBRE["fibre"]),
    "D056": hermia(LAW.COMPLETE),
    "D057": hermia(LAW.STANDARD),
    "D059": hermia(LAW.CAKE),
    "D060": growth(LAW.COMPLETE),
    "D062": growth(LAW.INTERMEDIATE),
    "D063": growth(LAW.CAKE),
    "D064": lambda: granular.ergun_gradient(0.8e-3, 0.4, 1e-3, 1000.0, 1e-3),
    "D065": lambda: granular.kozeny_carman_permeability(100e-6, 0.4),
    "D066": lambda: granular.kozeny_carman_gradient(0.8e-3, 0.4, 1e-3, 1e-3),
    "D068": lambda: granular.wire_screen_coefficient(0.5, 100.0),
    "D070": sinking,
}
