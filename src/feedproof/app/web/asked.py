"""What a form asks for: text into parameters, every mistake of it at once and in place."""

import math
from collections.abc import Callable, Mapping
from typing import Any

from feedproof.app.web.numbers import with_point
from feedproof.core.findings import Finding, error


class Asked:
    """
    A form as it was sent, read field by field; fields that were left empty are not asked.

    Parameters
    ----------
    sent : mapping of str to str
        The form; it is shown again as it was sent.
    has_comma : bool
        The workshop writes numbers with a decimal comma. In one that does not, a comma could as
        well part thousands: such a number is refused and not guessed at.
    """

    def __init__(self, sent: Mapping[str, str], *, has_comma: bool = False) -> None:
        self.sent = sent
        self._has_comma = has_comma
        self.parameters: dict[str, Any] = {}
        self._faults: list[Finding] = []

    @property
    def faults(self) -> tuple[Finding, ...]:
        """All mistakes so far."""
        return tuple(self._faults)

    def text(self, field: str) -> None:
        """
        Read words.

        Parameters
        ----------
        field : str
            Of the form, and of the parameters.
        """
        if value := self.sent.get(field, "").strip():
            self.parameters[field] = value

    def quantity(self, field: str) -> None:
        """
        Read a number with its unit; the verb says whether it is one.

        Parameters
        ----------
        field : str
            Of the form, and of the parameters.
        """
        if value := self._typed(field):
            self.parameters[field] = value

    def number(self, field: str, label: str, *, whole: bool = False) -> None:
        """
        Read a number without a unit.

        Parameters
        ----------
        field : str
            Of the form, and of the parameters.
        label : str
            What the page calls it.
        whole : bool
            Take whole numbers only.
        """
        value = self._typed(field)
        if not value:
            return
        kind: Callable[[str], float] = int if whole else float
        try:
            number = kind(value)
        except ValueError:
            number = math.nan
        if math.isfinite(number):
            self.parameters[field] = number
            return
        mark = "comma" if self._has_comma else "point (a comma is chosen under Settings)"
        wanted = "digits only" if whole else f"digits, with a decimal {mark}"
        kind_of_it = "a whole number" if whole else "a number"
        self._faults.append(
            error(label, f"{self.sent[field][:40]!r} is not {kind_of_it}.", f"Write {wanted}.")
        )

    def _typed(self, field: str) -> str:
        """Give what was typed, with a decimal point where the workshop writes a comma."""
        value = self.sent.get(field, "").strip()
        return with_point(value) if self._has_comma else value

    def choice(self, field: str, label: str, known: Mapping[str, Any]) -> None:
        """
        Read one of a few.

        Parameters
        ----------
        field : str
            Of the form, and of the parameters.
        label : str
            What the page calls it.
        known : mapping
            Values by what the form sends.
        """
        value = self.sent.get(field, "")
        if not value:
            return
        if value in known:
            self.parameters[field] = known[value]
        else:
            self._faults.append(
                error(label, f"{value[:40]!r} is none.", f"There are: {', '.join(known)}.")
            )
