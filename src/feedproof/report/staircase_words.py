"""What the pressure staircase says, in words and in numbers."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from feedproof.feedline.staircase import Staircase, Step
from feedproof.report import digits
from feedproof.report.model import BASELINE, KitWords, MeasuredInlet, Table
from feedproof.report.notation import REPORT, Notation

TITLE = "Pressure staircase from tank to pump inlet"


class Staired(Protocol):
    """What a staircase is drawn from: a publication, or the kits of a live page."""

    @property
    def staircases(self) -> tuple[Staircase, ...]:
        """Give the staircases, baseline first."""

    @property
    def measured_inlets(self) -> tuple[MeasuredInlet, ...]:
        """Give their measured ends."""

    @property
    def runs(self) -> Sequence[object]:
        """Give the runs that the ends were measured in."""

    def kit(self, configuration: str) -> KitWords:
        """Give a configuration's words."""

    def place(self, configuration: str) -> int:
        """Give its place, which decides colour and dash."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveStaircases:
    """
    Staircases under conditions that somebody is trying, without measurements.

    Parameters
    ----------
    staircases : tuple of Staircase
        Baseline first.
    kits : tuple of KitWords
        Words of each, in the same order, which gives colour and dash.
    """

    staircases: tuple[Staircase, ...]
    kits: tuple[KitWords, ...]
    measured_inlets: tuple[MeasuredInlet, ...] = ()
    runs: tuple[object, ...] = ()

    def kit(self, configuration: str) -> KitWords:
        """
        Find a configuration's words.

        Parameters
        ----------
        configuration : str
            Its name.

        Returns
        -------
        KitWords
            As they were given.
        """
        return next(each for each in self.kits if each.configuration == configuration)

    def place(self, configuration: str) -> int:
        """
        Give a configuration's place.

        Parameters
        ----------
        configuration : str
            Its name.

        Returns
        -------
        int
            0 for the baseline.
        """
        names = [each.configuration for each in self.kits if each.configuration != BASELINE]
        return 0 if configuration == BASELINE else names.index(configuration) + 1


def columns(staircases: tuple[Staircase, ...]) -> list[Step]:
    """
    Merge the parts of all configurations in line order.

    Parameters
    ----------
    staircases : tuple of Staircase
        Baseline first.

    Returns
    -------
    list of Step
        One step for each part, of the first staircase that has it.
    """
    merged: list[Step] = []
    for stairs in staircases:
        place = 0
        for step in stairs.steps:
            known = [i for i, old in enumerate(merged) if old.part_id == step.part_id]
            if known:
                place = known[0] + 1
            else:
                merged.insert(place, step)
                place += 1
    return merged


def sentence(publication: Staired, notation: Notation = REPORT) -> str:
    """
    Say in words what the staircase shows.

    Parameters
    ----------
    publication : Publication or LiveStaircases
        The report.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        Inlet pressures, room, and the largest single loss.
    """
    stairs = publication.staircases
    if not stairs:
        return "No staircase was computed."
    ends = [
        f"{short_name(publication, one)} takes the pump inlet to"
        f" {notation.brief(end_pressure(one), one.limit_abs_pa, 1)} absolute,"
        f" {_room_words(one, notation)}"
        for one in stairs
    ]
    last = short_name(publication, stairs[-1])
    worst = max(stairs[-1].steps, key=lambda step: step.loss_pa)
    live = isinstance(publication, LiveStaircases)
    where = "the highest speed compared" if publication.runs else "the top of the pull"
    where = "full load" if live else where
    return (
        f"Predicted at {digits.engine_speed(stairs[0].engine_speed_rev_per_s)}, {where}:"
        f" {'; '.join(ends)}. The largest single loss with"
        f" {last} is {worst.title}: {notation.full(worst.loss_pa)}."
    )


def table(publication: Staired, notation: Notation = REPORT) -> Table:
    """
    Lay the staircases out as numbers.

    Parameters
    ----------
    publication : Publication or LiveStaircases
        The report.
    notation : Notation
        Units to write.

    Returns
    -------
    Table
        Loss and pressure after each part, for each configuration.
    """
    stairs = publication.staircases
    head = ["part, tank to pump"]
    for one in stairs:
        short = short_name(publication, one)
        head += [
            f"{short}: loss, {notation.pressure}",
            f"{short}: after it, {notation.pressure} abs",
        ]
    rows = []
    for column in columns(stairs):
        row = [column.title]
        for one in stairs:
            step = next((s for s in one.steps if s.part_id == column.part_id), None)
            row += (
                ["", ""]
                if step is None
                else [
                    notation.bare(step.loss_pa),
                    notation.bare(step.pressure_abs_after_pa),
                ]
            )
        rows.append(tuple(row))
    total, room = ["whole line"], ["room to the limit"]
    for one in stairs:
        last = one.steps[-1].depression_after_pa
        beside = f" ({notation.second(last, 2)})" if notation.beside else ""
        total += [f"{notation.bare(last)}{beside}", notation.bare(end_pressure(one))]
        room += ["" if one.room_pa is None else f"{notation.bare(one.room_pa)}", ""]
    rows.append(tuple(total))
    limited = any(one.room_pa is not None for one in stairs)
    if limited:
        rows.append(tuple(room))
    return Table(
        caption="Pressure staircase in numbers",
        head=tuple(head),
        rows=tuple(rows),
        note="" if limited else "No limit known for this pump: compared with its baseline only.",
    )


def end_pressure(stairs: Staircase) -> float:
    """
    Give the absolute pressure at the pump inlet.

    Parameters
    ----------
    stairs : Staircase
        One staircase.

    Returns
    -------
    float
        After its last step. [Pa]
    """
    return stairs.steps[-1].pressure_abs_after_pa


def short_name(publication: Staired, stairs: Staircase) -> str:
    """
    Give the short name of a staircase's configuration.

    Parameters
    ----------
    publication : Publication or LiveStaircases
        The report.
    stairs : Staircase
        One staircase.

    Returns
    -------
    str
        For labels.
    """
    return publication.kit(stairs.configuration).short


def left_words(stairs: Staircase, notation: Notation = REPORT) -> str:
    """
    Write the room at the end of a staircase.

    Parameters
    ----------
    stairs : Staircase
        One staircase.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        Left, beyond, or no limit known.
    """
    if stairs.room_pa is None:
        return "no limit known"
    amount = notation.full(abs(stairs.room_pa), of_kpa=1)
    return f"{amount} left" if stairs.room_pa >= 0.0 else f"{amount} beyond"


def _room_words(stairs: Staircase, notation: Notation) -> str:
    """Say the room in a sentence."""
    if stairs.room_pa is None:
        return "no limit known"
    amount = notation.full(abs(stairs.room_pa), of_kpa=1)
    return f"{amount} above the limit" if stairs.room_pa >= 0.0 else f"{amount} below the limit"
