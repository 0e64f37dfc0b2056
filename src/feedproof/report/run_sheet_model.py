"""What a run sheet prints: all words and drawings ready, nothing to be worked out."""

from dataclasses import dataclass

COLUMNS: tuple[tuple[str, str], ...] = (
    ("No.", ""),
    ("Run", ""),
    ("In the line", ""),
    ("Start", "h:min"),
    ("Inlet fuel", "\u00b0C"),
    ("Fuel level", "%"),
    ("Zero before", "kPa"),
    ("Zero after", "kPa"),
    ("Air pressure", "kPa"),
    ("Air", "\u00b0C"),
    ("Humidity", "%"),
    ("File name", ""),
    ("Caught", "L or kg"),
    ("Catch time", "s"),
    ("Fuel in measure", "\u00b0C"),
    ("Remarks", ""),
)
"""Head and unit of each column; the first three are printed, the rest is written by hand."""
PRINTED_COLUMNS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetRun:
    """
    One line of the table of runs.

    Parameters
    ----------
    number : str
        In its session; empty for a run that does not count.
    letter : str
        A, B, C (control), S (true stock) or W (warm-up).
    words : str
        What is in the line.
    counts : bool
        False for a run that is not compared.
    """

    number: str
    letter: str
    words: str
    counts: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class SheetSession:
    """
    The runs of one session, in the order to drive.

    Parameters
    ----------
    heading, lead : str
        Its name, and one sentence.
    runs : tuple of SheetRun
        In order.
    """

    heading: str
    lead: str
    runs: tuple[SheetRun, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSheet:
    """
    A printable run sheet.

    Parameters
    ----------
    title, banner, vehicle, note, version, computed : str
        What stands at the head; the banner is empty for real data.
    computed_iso : str
        Time of the plan, ISO 8601.
    answer : tuple of str
        What to drive, and what it can and cannot exclude.
    margins, margins_date : tuple of str, str
        As agreed, and when they were declared or that they must be.
    sessions : tuple of SheetSession
        Tables of runs.
    before : tuple of str
        To be ticked or filled in before the first run.
    conditions : tuple of (str, str)
        Head and words of each condition to hold.
    catch : tuple of str
        How the return is caught.
    loop_kit : str
        What stands in the loop; empty where the line is opened for each change.
    loop : tuple of str
        What the drawing does not say.
    controls : tuple of str
        Positive controls.
    reasons : tuple of str
        Why this order.
    """

    title: str
    banner: str
    vehicle: str
    note: str
    version: str
    computed: str
    computed_iso: str
    answer: tuple[str, ...]
    margins: tuple[str, ...]
    margins_date: str
    sessions: tuple[SheetSession, ...]
    before: tuple[str, ...]
    conditions: tuple[tuple[str, str], ...]
    catch: tuple[str, ...]
    loop_kit: str
    loop: tuple[str, ...]
    controls: tuple[str, ...]
    reasons: tuple[str, ...]
