"""What the feed-line drawing says, in words and in numbers."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

from feedproof.case.parts import (
    AirHole,
    CheckValve,
    Cooler,
    Element,
    Fitting,
    LiftPump,
    Orifice,
    Part,
    Pipe,
)
from feedproof.feedline.feed_circuit import Leg, PartStep
from feedproof.feedline.network_nodes import INLET, RETURN, TANK
from feedproof.report import digits
from feedproof.report.model import Table
from feedproof.report.notation import REPORT, Notation
from feedproof.report.words import upper_first

TITLE = "Feed line from tank to pump"
KINDS: dict[type[Part], str] = {
    Pipe: "pipe or hose",
    Fitting: "fitting",
    Element: "filter element",
    CheckValve: "check valve",
    Orifice: "orifice",
    LiftPump: "lift pump",
    Cooler: "cooler",
    AirHole: "air leak",
}
NODES = {TANK: "tank", INLET: "pump inlet", RETURN: "pump return"}
WHOLE_FLOW = 0.995
"""Share of the feed from which a part is not told to carry less than all. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class FeedLine:
    """
    A feed line at one operating point, to be drawn.

    Parameters
    ----------
    short : str
        Name of the configuration.
    place : int
        Its place, which decides colour and dash of its kit parts.
    legs : tuple of Leg
        From `feedproof.feedline.feed_circuit.FeedCircuit.legs`.
    owners : mapping of str to str
        Kit of each part that a kit brings.
    depression_pa : float
        At the pump inlet. [Pa]
    lift_pa : float
        Part of it without flow: lift and breather. [Pa]
    feed_m3_per_s, return_m3_per_s : float
        Flows. [m3/s]
    engine_speed_rev_per_s : float
        Engine speed. [rev/s]
    """

    short: str
    place: int
    legs: tuple[Leg, ...]
    owners: Mapping[str, str]
    depression_pa: float
    lift_pa: float
    feed_m3_per_s: float
    return_m3_per_s: float
    engine_speed_rev_per_s: float

    @property
    def lost_pa(self) -> float:
        """Give all that is lost on the way: the depression and what lift pumps add. [Pa]."""
        # A running lift pump can take the depression to nothing, and shares of it to anything.
        return self.depression_pa + self.added_pa

    @property
    def added_pa(self) -> float:
        """Give what is added on the way, by pumps or a tank above the pump. [Pa]."""
        losses = [step.loss_pa for leg, step in self.steps() if leg.on_way]
        return -sum(min(loss, 0.0) for loss in (self.lift_pa, *losses))

    @property
    def of_what(self) -> str:
        """Say what shares are of."""
        return "of all that is lost" if self.added_pa > 0.0 else "of the depression"

    def share(self, loss_pa: float) -> float:
        """
        Give a loss over all that is lost on the way.

        Parameters
        ----------
        loss_pa : float
            Of one part. [Pa]

        Returns
        -------
        float
            Share; 0 where nothing is lost. [-]
        """
        whole = self.lost_pa
        return loss_pa / whole if whole > 0.0 else 0.0

    def steps(self) -> Iterator[tuple[Leg, PartStep]]:
        """
        Go through all parts.

        Yields
        ------
        tuple of Leg and PartStep
            In the order that they are drawn.
        """
        for leg in self.legs:
            for step in leg.steps:
                yield leg, step

    @property
    def worst(self) -> PartStep | None:
        """Give the part on the way that loses most; None for a line without parts."""
        way = [step for leg, step in self.steps() if leg.on_way and step.loss_pa > 0.0]
        return max(way, key=lambda step: step.loss_pa, default=None)


def part_name(part: Part) -> str:
    """
    Name a part in words.

    Parameters
    ----------
    part : Part
        The part.

    Returns
    -------
    str
        Its title, else its id.
    """
    return part.title or part.id.replace("_", " ")


def percent_of(share: float) -> str:
    """
    Write a share for a label.

    Parameters
    ----------
    share : float
        Of the depression. [-]

    Returns
    -------
    str
        Whole percent; ``under 1 %`` for what would read as nothing.
    """
    if 0.0 < share < 0.01:
        return f"under 1{digits.NO_BREAK}%"
    return f"{digits.decimal(100.0 * share, 0)}{digits.NO_BREAK}%"


def loss_words(line: FeedLine, leg: Leg, step: PartStep, notation: Notation = REPORT) -> str:
    """
    Say what a part takes, in a few letters.

    Parameters
    ----------
    line : FeedLine
        The line.
    leg, step : Leg, PartStep
        The part.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        Share and loss; what it adds, for a running lift pump; the loss alone in the return.
    """
    amount = notation.brief(abs(step.loss_pa))
    if step.loss_pa < 0.0:
        return f"adds {amount}"
    return amount if leg.in_return else f"{percent_of(line.share(step.loss_pa))}, {amount}"


def part_label(line: FeedLine, leg: Leg, step: PartStep, notation: Notation = REPORT) -> str:
    """
    Say all numbers of a part, for who cannot see the drawing.

    Parameters
    ----------
    line : FeedLine
        The line.
    leg, step : Leg, PartStep
        The part.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        Name, kind, kit, loss, share, flow.
    """
    owner = line.owners.get(step.part.id)
    words = [part_name(step.part), KINDS[type(step.part)]]
    words += [f"part of kit {owner.replace('_', ' ')}"] if owner else []
    amount = notation.full(abs(step.loss_pa))
    if step.loss_pa < 0.0:
        words.append(f"adds {amount}")
    elif leg.in_return:
        words.append(f"takes {amount} in the return line")
    else:
        share = percent_of(line.share(step.loss_pa))
        most = ", the most of all parts" if step is line.worst else ""
        words.append(f"takes {amount}, {share} {line.of_what}{most}")
    words.append(f"flow {notation.flow_words(step.flow_fraction * line.feed_m3_per_s)}")
    return ", ".join(words)


def leg_title(leg: Leg) -> str:
    """
    Head a leg beside the way, or of the return line.

    Parameters
    ----------
    leg : Leg
        The leg.

    Returns
    -------
    str
        Where it leaves and where it comes in.
    """
    ends = f"from {node_name(leg.first)} to {node_name(leg.second)}"
    return f"Return line, {ends}" if leg.in_return else f"Beside it, {ends}"


def node_name(node: str) -> str:
    """
    Name a node.

    Parameters
    ----------
    node : str
        As the case has it.

    Returns
    -------
    str
        In words.
    """
    return NODES.get(node, node.replace("_", " "))


def sentence(line: FeedLine, notation: Notation = REPORT) -> str:
    """
    Say in words what the drawing shows.

    Parameters
    ----------
    line : FeedLine
        The line.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        The whole depression and the part that takes most of it.
    """
    where = digits.engine_speed(line.engine_speed_rev_per_s)
    whole = notation.full(line.depression_pa)
    told = f"{upper_first(line.short)} at {where}: {whole} from tank to pump inlet."
    worst = line.worst
    if worst is None:
        return told
    share = percent_of(line.share(worst.loss_pa))
    return (
        f"{told} Of the parts, {part_name(worst.part)} takes most: {notation.brief(worst.loss_pa)},"
        f" {share} {line.of_what}."
    )


def table(line: FeedLine, notation: Notation = REPORT) -> Table:
    """
    Lay the drawing out as numbers.

    Parameters
    ----------
    line : FeedLine
        The line.
    notation : Notation
        Units to write.

    Returns
    -------
    Table
        One row for each part, the lift first.
    """
    lift = ("lift from the fuel surface", "way", "factory", notation.bare(line.lift_pa))
    rows = [(*lift, percent_of(line.share(line.lift_pa)), "")]
    for leg, step in line.steps():
        owner = line.owners.get(step.part.id, "factory").replace("_", " ")
        rows.append(
            (
                part_name(step.part),
                "way" if leg.on_way else leg_title(leg).split(",")[0].lower(),
                owner,
                notation.bare(step.loss_pa),
                "" if leg.in_return else percent_of(line.share(step.loss_pa)),
                notation.flow_words(step.flow_fraction * line.feed_m3_per_s),
            )
        )
    return Table(
        caption=f"Feed line in numbers: {line.short}",
        head=(
            "part, tank to pump",
            "where",
            "belongs to",
            f"loss, {notation.pressure}",
            "share",
            "flow",
        ),
        rows=tuple(rows),
        note=f"Shares are {line.of_what}.",
    )
