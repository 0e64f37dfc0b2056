"""Rows of published values, and the comparison of a result with a row."""

import csv
import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

Result = float | tuple[float, ...]
Runner = Callable[[], Result]

FOLDER = Path(__file__).parent


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One published value with its tolerance, its source and how far that source was seen."""

    id: str
    quantity: str
    expected: tuple[float, ...]
    tolerance: str
    source: str
    provenance: str

    @property
    def from_memory(self) -> bool:
        """Say whether the row proves only that a formula is coded as remembered."""
        return self.provenance.startswith("memory:")

    def allows(self, result: Result) -> bool:
        """Compare every value of a result with the row."""
        values = result if isinstance(result, tuple) else (result,)
        kind, size = self.tolerance.split(" ")
        limit = float(size)
        return len(values) == len(self.expected) and all(
            math.isclose(
                value,
                wanted,
                rel_tol=limit if kind == "rel" else 0.0,
                abs_tol=limit if kind == "abs" else 0.0,
            )
            for value, wanted in zip(values, self.expected, strict=True)
        )


def read_rows(name: str) -> dict[str, Row]:
    """Read one table of published values by its name."""
    with (FOLDER / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return {
            line["id"]: Row(
                id=line["id"],
                quantity=line["quantity"],
                expected=tuple(float(part) for part in line["expected"].split(";")),
                tolerance=line["tolerance"],
                source=line["source"],
                provenance=line["provenance"],
            )
            for line in csv.DictReader(file)
        }


def explain(row: Row, result: Result) -> str:
    """Say what a failed row shows."""
    return (
        f"{row.id} {row.quantity}: got {result}, wanted {row.expected} ({row.tolerance});"
        f" {row.source}; {row.provenance}"
    )
