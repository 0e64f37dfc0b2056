"""What tests read from an SVG."""

import re
from xml.etree import ElementTree

SVG = "{http://www.w3.org/2000/svg}"


def parsed(svg: str) -> ElementTree.Element:
    """Parse a picture; a fault in its markup raises."""
    return ElementTree.fromstring(svg)


def type_sizes(svg: str) -> list[float]:
    """Give the height of every label."""
    return [
        float(re.sub(r"[a-z]", "", element.get("font-size", "0")))
        for element in parsed(svg).iter(f"{SVG}text")
    ]


def strokes(svg: str, least_width: float) -> set[tuple[str, str]]:
    """Give colour and dash of every line at least so wide."""
    return {
        (element.get("stroke", ""), element.get("stroke-dasharray", ""))
        for element in parsed(svg).iter()
        if element.tag in (f"{SVG}path", f"{SVG}line")
        and element.get("stroke")
        and float(element.get("stroke-width", "1")) >= least_width
    }


def words(svg: str) -> str:
    """Give all labels."""
    return " | ".join("".join(e.itertext()) for e in parsed(svg).iter(f"{SVG}text"))


_NARROW, _WIDE = "iljtf.,:;'|() \u00a0", "mwMW%"


def width_of(words: str, size: float, *, bold: bool) -> float:
    """Estimate the width of a label from its letters, a little on the wide side."""
    ems = sum(0.3 if c in _NARROW else 0.86 if c in _WIDE else 0.54 for c in words)
    return size * ems * (1.04 if bold else 1.0)


Box = tuple[str, float, float, float, float]


def boxes(svg: str) -> list[Box]:
    """Give the words and the box of every label that is not turned."""
    found = []
    for element in parsed(svg).iter(f"{SVG}text"):
        if element.get("transform"):
            continue
        told = "".join(element.itertext())
        size = float(element.get("font-size", "0"))
        wide = width_of(told, size, bold=element.get("font-weight") == "600")
        anchor = element.get("text-anchor", "start")
        x = (
            float(element.get("x", "nan"))
            - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * wide
        )
        y = float(element.get("y", "nan"))
        found.append((told, x, y - 0.75 * size, x + wide, y + 0.2 * size))
    return found


def overlaps(svg: str) -> list[tuple[str, str]]:
    """Give the pairs of labels that lie over each other."""
    found = []
    all_boxes = boxes(svg)
    for i, (a, ax0, ay0, ax1, ay1) in enumerate(all_boxes):
        for b, bx0, by0, bx1, by1 in all_boxes[i + 1 :]:
            if min(ax1, bx1) - max(ax0, bx0) > 1.0 and min(ay1, by1) - max(ay0, by0) > 1.0:
                found.append((a, b))
    return found


def outside(svg: str) -> list[str]:
    """Give the labels that leave their picture."""
    root = parsed(svg)
    wide, high = float(root.get("width", "0")), float(root.get("height", "0"))
    return [
        told
        for told, x0, y0, x1, y1 in boxes(svg)
        if x0 < -1.0 or y0 < -1.0 or x1 > wide + 1.0 or y1 > high + 1.0
    ]
