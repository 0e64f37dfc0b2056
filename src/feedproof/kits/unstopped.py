"""
What no filter stops, with its figures for this fuel, in short for a card and longer for a report.

Four kinds pass or block whatever kit is fitted: petrol and other liquids that mix with fuel,
dissolved water, additives, and soft matter that blocks an element long before hard dirt would.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from feedproof.case.fuel import Fuel
from feedproof.core.values import SourcedValue
from feedproof.kits.petrol import SHARES, PetrolEffect, flash_of, petrol_effects
from feedproof.kits.water_ranges import Range, SolubilityGrid, ester_of, range_of

MINUS = "\u2212"
WARM_K, COLD_K = 333.15, 283.15
"""Between which fuel lets go of dissolved water in the words below. [K]"""
INSTRUCTION = (
    "Petrol in the tank: do not start the engine and do not switch the ignition on, for the lift"
    " pump would carry it on. Have tank and lines drained by somebody licensed to."
)
CAUTIONS = (
    "Diesel with petrol in it is a highly flammable liquid: its vapour can burn at room"
    " temperature, is heavier than air and gathers in pits and low places.",
    "No flame, no spark, no smoking, nothing electrical in the vapour; earth the vessels, keep an"
    " extinguisher at hand, air the place, keep it off the skin.",
    "What is drained goes to licensed disposal, never down a drain.",
)
"""For whoever stands beside it; local law and the licensed technician come first."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Unstopped:
    """
    One thing that no filter stops.

    Parameters
    ----------
    name : str
        Two or three words, for a list in a picture.
    card : str
        One sentence.
    report : str
        What it does, with figures for this fuel.
    recognised : str
        How it is recognised.
    """

    name: str
    card: str
    report: str
    recognised: str


@dataclass(frozen=True, slots=True, kw_only=True)
class UnstoppedWords:
    """
    All that no filter stops, for one fuel.

    Parameters
    ----------
    items : tuple of Unstopped
        Petrol first.
    petrol : tuple of PetrolEffect
        The fuel itself, then with rising shares of petrol.
    dissolved_warm_fraction, dissolved_cold_fraction : Range
        Water that saturated fuel holds at 60 and at 10 degC, by mass. [-]
    instruction : str
        What to do when there is petrol in the tank.
    cautions : tuple of str
        For a flammable liquid.
    assumed : tuple of str
        What the figures rest on.
    """

    items: tuple[Unstopped, ...]
    petrol: tuple[PetrolEffect, ...]
    dissolved_warm_fraction: Range
    dissolved_cold_fraction: Range
    instruction: str
    cautions: tuple[str, ...]
    assumed: tuple[str, ...]

    @property
    def names(self) -> tuple[str, ...]:
        """Give the plain list for a picture."""
        return tuple(item.name for item in self.items)

    @property
    def card(self) -> tuple[str, ...]:
        """Give the short sentences, the instruction last."""
        return (*(item.card for item in self.items), self.instruction)

    @property
    def report(self) -> tuple[str, ...]:
        """Give the long paragraphs: each thing, what to do, cautions, what it rests on."""
        told = tuple(f"{item.report} {item.recognised}" for item in self.items)
        return (*told, self.instruction, *self.cautions, f"Assumed: {'; '.join(self.assumed)}.")


def unstopped(
    fuel: Fuel,
    *,
    book: Mapping[str, SourcedValue] | None = None,
    ester_fraction: Range | None = None,
) -> UnstoppedWords:
    """
    Say what no filter stops.

    Parameters
    ----------
    fuel : Fuel
        The fuel of the case.
    book : mapping of str to SourcedValue, optional
        The case's book of values, for the fuel's ranges.
    ester_fraction : Range, optional
        Ester in it; that of its grade when left out, and 0 to 7 % where no grade says. [-]

    Returns
    -------
    UnstoppedWords
        Texts and figures.
    """
    ester = ester_fraction or ester_of(fuel.grade) or Range(low=0.0, typical=0.0, high=0.07)
    grid = SolubilityGrid(ester)
    warm, cold = (range_of(grid.at(temperature)) for temperature in (WARM_K, COLD_K))
    effects = petrol_effects(fuel, book)
    _, flash_assumed = flash_of(fuel)
    assumed = (
        "flash points by Le Chatelier's and Raoult's rules, vapour pressures by Raoult's: screening"
        " figures from memory, no measurement",
        "petrol of the grade for blending in the catalogue",
        "viscosities by three blending rules, which bound a measurement and do not replace it",
        *(("flash point of ordinary road diesel for this fuel",) if flash_assumed else ()),
        f"{100 * ester.low:.3g} to {100 * ester.high:.3g} % ester in this fuel",
    )
    return UnstoppedWords(
        items=(
            _petrol(fuel, effects),
            _dissolved(warm, cold, ester),
            _additives(),
            _soft(),
        ),
        petrol=effects,
        dissolved_warm_fraction=warm,
        dissolved_cold_fraction=cold,
        instruction=INSTRUCTION,
        cautions=CAUTIONS,
        assumed=assumed,
    )


def petrol_line(effect: PetrolEffect) -> str:
    """
    Say what a share of petrol does.

    Parameters
    ----------
    effect : PetrolEffect
        One share.

    Returns
    -------
    str
        Viscosity, vapour pressures and flash point with their ranges.
    """
    vapour = ", ".join(
        f"{_spread(figure, 1e-3, '.2g')} kPa at {temperature - 273.15:.0f} °C"
        for temperature, figure in effect.vapour_pressure_abs_pa
    )
    held = f"{100 * effect.petrol_fraction:.3g} % petrol" if effect.petrol_fraction else "as it is"
    return (
        f"{held}: viscosity {_spread(effect.viscosity_40c_m2_per_s, 1e6, '.2f')} mm²/s at 40 °C;"
        f" vapour pressure {vapour}; flash point about"
        f" {_spread(effect.flash_point_k, 1.0, '.0f', -273.15)} °C"
    )


def _spread(figure: Range, factor: float, digits: str, added: float = 0.0) -> str:
    """Write a figure with its range, if it has one, in the reader's unit."""
    low, typical, high = (
        f"{factor * each + added:{digits}}".replace("-", MINUS) for each in figure.levels
    )
    return typical if low == high else f"{typical} ({low} to {high})"


def _petrol(fuel: Fuel, effects: tuple[PetrolEffect, ...]) -> Unstopped:
    """Write what petrol does to this fuel."""
    lines = "; ".join(
        petrol_line(effect) for effect in effects if effect.petrol_fraction in (0.0, *SHARES)
    )
    held = (
        f" This fuel is declared to hold {100 * fuel.petrol_fraction:.3g} % petrol already, and the"
        " shares below come on top of it."
        if fuel.petrol_fraction > 0.0
        else ""
    )
    least = next(effect for effect in effects if effect.petrol_fraction == SHARES[0])
    lower = effects[0].flash_point_k.typical - least.flash_point_k.typical
    return Unstopped(
        name="petrol and other liquids that mix",
        card=(
            "Petrol, kerosene, alcohol and other liquids that mix with diesel pass every filter;"
            f" 1 % petrol lowers the flash point by about {lower:.0f} °C."
        ),
        report=(
            "Petrol and other liquids that mix with diesel pass every filter and separator whole."
            f"{held} Petrol thins the fuel, lubricates pump and injectors badly, boils out under"
            f" suction and lets vapour burn at room temperature. For fuel {fuel.name}: {lines}."
        ),
        recognised=(
            "Viscosity and density stay inside the limits of diesel and do not betray it; the"
            " flash point does, in a laboratory. Smell, a filling slip and an engine that stalls"
            " hot are hints, no proof."
        ),
    )


def _dissolved(warm: Range, cold: Range, ester: Range) -> Unstopped:
    """Write what dissolved water does."""
    hot, cool = (
        f"{1e6 * each.typical:.0f} ({1e6 * each.low:.0f} to {1e6 * each.high:.0f}) mg/kg"
        for each in (warm, cold)
    )
    more = (
        " Ester holds many times what diesel holds, so more of it passes and more falls out."
        if ester.high > 0.0
        else ""
    )
    return Unstopped(
        name="dissolved water",
        card=(
            "Dissolved water passes every filter and separator, and falls out behind them where"
            " the fuel cools."
        ),
        report=(
            f"Saturated fuel holds {hot} of water at 60 °C and {cool} at 10 °C. What it holds in"
            " solution passes every filter and separator; when the fuel cools behind them, as in a"
            f" parked vehicle, the difference is free water that nothing takes.{more}"
        ),
        recognised=(
            "Clear fuel that turns hazy when a sample cools; a laboratory gives it in mg/kg."
        ),
    )


def _additives() -> Unstopped:
    """Write what is said of additives."""
    return Unstopped(
        name="additives",
        card="Additives that are dissolved in the fuel, wanted or not, pass every filter.",
        report=(
            "Additives that are dissolved pass every filter: lubricity, cetane and cold-flow"
            " improvers as they should, and an overdose or a wrong one as well. Some make water"
            " drops so fine that a separator takes fewer of them than its rating says."
        ),
        recognised="Only a laboratory, or the receipt, tells what was put in.",
    )


def _soft() -> Unstopped:
    """Write what soft matter does."""
    return Unstopped(
        name="soft matter that blocks early",
        card=(
            "Soft matter (soaps, sterols, glycerol, polymer, microbial slime) blocks an element"
            " early: no figure of test dust covers it, and no interval here allows for it unless"
            " it was declared."
        ),
        report=(
            "Soaps, sterol glucosides and glycerol out of ester, polymer of aged fuel, asphaltenes"
            " and microbial slime are soft: they deform through fine media or smear it shut. An"
            " element stops part of them and blocks with few grams, whereas its capacity was"
            " measured with hard dust. A finer element blocks sooner, not later. The cure is in"
            " the tank: drain water, clean, change the supply."
        ),
        recognised=(
            "Depression that rises within a few fills and elements that weigh hardly more than"
            " new. White or waxy film that melts in warm water: soaps, sterols, wax. Sticky and"
            " water-soluble: glycerol. Brown varnish: polymer. Black oily film: asphaltenes. Slime"
            " with a smell of rot, on the water's side: microbes. Cold fuel blocks alike with wax;"
            " if warming the fuel mends it, it was wax."
        ),
    )
