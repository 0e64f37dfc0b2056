"""
The feed-line drawing: parts as plain outlines in line order, tank to pump.

The line is the thicker, the larger the part's share of the depression.  It wraps into rows, so
that its type keeps its size on a phone; what stands beside the way, and the return line, are rows
of their own that name the nodes where they leave and come in.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from xml.sax.saxutils import escape

from feedproof.feedline.feed_circuit import Leg, PartStep
from feedproof.feedline.network_nodes import INLET, TANK
from feedproof.report.feed_line_shapes import outline, terminal
from feedproof.report.feed_line_words import (
    TITLE,
    WHOLE_FLOW,
    FeedLine,
    leg_title,
    loss_words,
    node_name,
    part_label,
    part_name,
    percent_of,
    sentence,
)
from feedproof.report.notation import REPORT, Notation
from feedproof.report.svg import (
    FAINT,
    INK,
    PAPER,
    SHADE,
    Stroke,
    line,
    picture,
    stroke_of,
    tag,
    text,
    wrapped,
)

CELL_PX, MOST_CELLS = 118.0, 9
"""Least width of a part, and most parts in a row."""
MOST_WIDE_PX = 200.0
"""Greatest width of a part beside the way. [px]"""
HEAD_PX, LINE_Y, LABELS_Y = 30.0, 42.0, 78.0
"""Of a row: its head, its line, and its first label. [px]"""
THIN_PX, PER_SHARE_PX, THICKEST_PX = 2.0, 40.0, 20.0
"""Width of the line through a part that takes nothing, what a whole share would add to it, and
where it ends so that outlines stay readable."""
SIZE = 13.0
LETTER = 0.54
"""Width of a letter over the height of its type."""
FACTORY = Stroke(colour=INK, dash="", width=1.75)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cell:
    """One place in a row: a part, or the tank or the pump."""

    leg: Leg
    step: PartStep | None
    node: str = ""
    before: str = ""


def feed_line_svg(
    feed_line: FeedLine,
    width: float,
    *,
    name: str = "feed-line",
    buttons: bool = True,
    notation: Notation = REPORT,
) -> str:
    """
    Draw a feed line.

    Parameters
    ----------
    feed_line : FeedLine
        The line.
    width : float
        Width of the container that it is drawn for. [px]
    name : str
        Prefix of its ids.
    buttons : bool
        True for a page: each part can be reached by the keyboard and carries its id in
        ``data-part``; False for paper.
    notation : Notation
        Units to write.

    Returns
    -------
    str
        SVG.
    """
    drawing = _Drawing(feed_line, width, notation, buttons=buttons)
    body = drawing.drawn()
    return picture(
        width,
        drawing.height,
        f"{TITLE}: {feed_line.short}",
        sentence(feed_line, notation),
        body,
        name,
        role="group" if buttons else "img",
    )


def _strands(legs: Sequence[Leg]) -> list[list[_Cell]]:
    """Put the way into one strand and every other leg into one of its own."""
    way = [leg for leg in legs if leg.on_way]
    strands: list[list[_Cell]] = []
    if way:
        cells = [_Cell(leg=way[0], step=None, node=TANK)]
        for index, leg in enumerate(way):
            named = leg.first if index else ""
            cells += [
                _Cell(leg=leg, step=step, before="" if n else named)
                for n, step in enumerate(leg.steps)
            ]
        strands.append([*cells, _Cell(leg=way[-1], step=None, node=INLET)])
    strands += [[_Cell(leg=leg, step=step) for step in leg.steps] for leg in legs if not leg.on_way]
    return strands


class _Drawing:
    """The drawing as it grows down the page."""

    def __init__(
        self, feed_line: FeedLine, width: float, notation: Notation, *, buttons: bool
    ) -> None:
        self.line = feed_line
        self.width = width
        self.notation = notation
        self.buttons = buttons
        self.height = 8.0
        self.worst = feed_line.worst

    def drawn(self) -> list[str]:
        """Draw all strands."""
        body: list[str] = []
        for cells in _strands(self.line.legs):
            body += self._strand(cells)
        return [tag("rect", x=0, y=0, width=self.width, height=self.height, fill=PAPER), *body]

    def _strand(self, cells: list[_Cell]) -> list[str]:
        """Draw one strand, in rows of about the same length."""
        body = []
        leg = cells[0].leg
        if not leg.on_way:
            self.height += HEAD_PX
            body.append(text(4, self.height - 10, leg_title(leg), size=SIZE + 1, bold=True))
        most = max(1, min(MOST_CELLS, int(self.width // CELL_PX)))
        rows = math.ceil(len(cells) / most)
        across = math.ceil(len(cells) / rows)
        wide = self.width / across
        if not leg.on_way or across == 1:
            wide = min(wide, MOST_WIDE_PX, self.width / 2 if across == 1 else wide)
        for row in range(rows):
            part = cells[row * across : (row + 1) * across]
            high = LABELS_Y + 16.0 * max(len(self._told(cell, wide)) for cell in part)
            for column, cell in enumerate(part):
                body.append(self._cell(cell, column * wide, wide, high))
            if row + 1 < rows:
                body += self._turn(len(part) * wide)
            self.height += high + 10.0
        return body

    def _turn(self, x: float) -> list[str]:
        """Show that the line goes on in the next row."""
        y = self.height + LINE_Y
        tip = f"M{x - 9:.0f} {y - 5:.0f} L{x - 3:.0f} {y:.0f} L{x - 9:.0f} {y + 5:.0f}"
        return [tag("path", d=tip, fill="none", stroke=FAINT, stroke_width=1.75)]

    def _cell(self, cell: _Cell, x: float, wide: float, high: float) -> str:
        """Draw one part, or an end of the line."""
        y = self.height + LINE_Y
        if cell.step is None:
            return self._end(cell, x, y, wide)
        step, leg = cell.step, cell.leg
        owner = self.line.owners.get(step.part.id)
        kit = stroke_of(self.line.place)
        stroke = FACTORY if owner is None else Stroke(colour=kit.colour, dash="7 3", width=2.25)
        share = 0.0 if leg.in_return else min(max(self.line.share(step.loss_pa), 0.0), 1.0)
        thick = min(THIN_PX + PER_SHARE_PX * share, THICKEST_PX)
        middle = x + wide / 2
        body = [
            tag(
                "rect",
                x=x + 2,
                y=self.height + 16,
                width=wide - 4,
                height=high - 16,
                rx=3,
                fill=PAPER if owner is None else SHADE,
            ),
            line(x, y, x + wide, y, colour=stroke.colour, width=thick),
            outline(step.part, middle, y, 0.3 * wide, stroke, thick),
        ]
        if cell.before:
            body += [
                tag("circle", cx=max(x, 7.0), cy=y, r=5, fill=PAPER, stroke=INK, stroke_width=2),
                text(x + 2, self.height + 12, node_name(cell.before), size=12, fill=FAINT),
            ]
        body += self._labels(cell, middle, wide)
        return self._button(body, leg, step)

    def _labels(self, cell: _Cell, x: float, wide: float) -> list[str]:
        """Write what is told below a part or an end."""
        y = self.height + LABELS_Y
        return [
            text(x, y + 16.0 * i, words, size=SIZE, anchor="middle", bold=bold)
            for i, (words, bold) in enumerate(self._told(cell, wide))
        ]

    def _told(self, cell: _Cell, wide: float) -> list[tuple[str, bool]]:
        """Give the lines below a part or an end, and which of them are bold."""
        leg, step = cell.leg, cell.step
        if step is None:
            return self._told_at_end(cell)
        letters = int((wide - 6.0) / (LETTER * SIZE))
        most = step is self.worst
        told = [(each, most) for each in _cut(part_name(step.part), letters, 2)]
        if most:
            share = f"{percent_of(self.line.share(step.loss_pa))} {self.line.of_what}"
            told += [(each, True) for each in wrapped(share, letters)]
        else:
            told.append((loss_words(self.line, leg, step, self.notation), False))
        if step.flow_fraction < WHOLE_FLOW and not leg.in_return:
            told.append((f"{percent_of(step.flow_fraction)} of the flow", False))
        owner = self.line.owners.get(step.part.id)
        if owner is not None:
            told.append((_cut(f"kit: {owner.replace('_', ' ')}", letters, 1)[0], True))
        return told

    def _told_at_end(self, cell: _Cell) -> list[tuple[str, bool]]:
        """Give the lines below the tank or the pump."""
        if cell.node == TANK:
            share = percent_of(self.line.share(self.line.lift_pa))
            return [
                ("tank", True),
                (f"lift {self.notation.brief(self.line.lift_pa)}", False),
                *([(share, False)] if self.line.lift_pa > 0.0 else []),
            ]
        return [
            ("pump inlet", True),
            (self.notation.brief(self.line.depression_pa), False),
            ("depression", False),
        ]

    def _end(self, cell: _Cell, x: float, y: float, wide: float) -> str:
        """Draw the tank or the pump with what is told there."""
        middle, tank = x + wide / 2, cell.node == TANK
        ends = (middle, x + wide) if tank else (x, middle)
        body = [
            line(ends[0], y, ends[1], y, colour=INK, width=THIN_PX),
            terminal(middle, y, min(0.32 * wide, 34.0), FACTORY, tank=tank),
        ]
        return "".join([*body, *self._labels(cell, middle, wide)])

    def _button(self, body: list[str], leg: Leg, step: PartStep) -> str:
        """Make a part something that can be reached and pressed."""
        label = part_label(self.line, leg, step, self.notation)
        if not self.buttons:
            return tag("g", tag("title", escape(label)), *body)
        return tag(
            "g",
            *body,
            class_="part",
            role="button",
            tabindex="0",
            aria_label=label,
            data_part=step.part.id,
        )


def _cut(words: str, letters: int, lines: int) -> list[str]:
    """Break words into at most so many lines; what does not fit ends in dots."""
    broken = wrapped(words, letters)
    kept = [each if len(each) <= letters else f"{each[: letters - 1]}…" for each in broken[:lines]]
    if len(broken) > lines and not kept[-1].endswith("…"):
        kept[-1] = f"{kept[-1][: letters - 1]}…"
    return kept
