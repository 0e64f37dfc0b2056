"""The signs of the answers, drawn as shapes that no typeface need hold."""

from feedproof.case.outcome import Answer
from feedproof.report.svg import FONT, INK, line, number, tag, text


def sign(answer: Answer, x: float, y: float, size: float = 16.0) -> str:
    """
    Draw the sign of an answer, which no typeface need hold.

    Parameters
    ----------
    answer : Answer
        The answer.
    x, y : float
        Its middle. [px]
    size : float
        Width and height. [px]

    Returns
    -------
    str
        Markup.
    """
    r = size / 2.0
    box: dict[str, float] = {"x": x - r, "y": y - r, "width": size, "height": size}
    outline: dict[str, str | float | None] = {"fill": "none", "stroke": INK, "stroke_width": 2.0}
    triangle = (
        f"M{number(x)} {number(y - r)} L{number(x + r)} {number(y + r)}"
        f" L{number(x - r)} {number(y + r)} Z"
    )
    match answer:
        case Answer.NO_LOSS_WITHIN:
            return tag("rect", **box, fill=INK)
        case Answer.SMALL_LOSS:
            half = tag("rect", x=x - r, y=y - r, width=r, height=size, fill=INK)
            return half + tag("rect", **box, **outline)
        case Answer.LOSS_BEYOND:
            return tag("path", d=triangle, fill=INK)
        case Answer.LOSS_UNSETTLED:
            return tag("path", d=triangle, **outline, stroke_linejoin="round")
        case Answer.CANNOT_TELL:
            return tag("circle", cx=x, cy=y, r=r, **outline)
        case Answer.WITHIN_LIMIT:
            return tag("rect", **box, **outline)
        case Answer.BEYOND_LIMIT:
            return line(x - r, y - r, x + r, y + r, colour=INK, width=2.5) + line(
                x - r, y + r, x + r, y - r, colour=INK, width=2.5
            )
        case Answer.NO_LIMIT_KNOWN:
            return text(x, y + 0.36 * size, "?", size=1.15 * size, anchor="middle", bold=True)
        case _:
            return line(x - r, y, x + r, y, colour=INK, width=2.5)


def sign_svg(answer: Answer) -> str:
    """
    Draw the sign of an answer as a picture without a name, to stand beside its words.

    Parameters
    ----------
    answer : Answer
        The answer.

    Returns
    -------
    str
        SVG that readers of the page's words need not hear of.
    """
    return tag(
        "svg",
        sign(answer, 10.0, 10.0),
        xmlns="http://www.w3.org/2000/svg",
        width=20.0,
        height=20.0,
        viewBox="0 0 20 20",
        aria_hidden="true",
        class_="sign",
        font_family=f"{FONT}, sans-serif",
    )
