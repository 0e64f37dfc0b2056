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
