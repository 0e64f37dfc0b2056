"""What a form asks for: text into parameters, every mistake of it at once and in place."""

from collections.abc import Callable, Mapping
from typing import Any

from feedproof.core.findings import Finding, error


class Asked:
    """
    A form as it was sent, read field by field; fields that were left empty are not asked.

    Parameters
    ----------
    sent : mapping of str to str
        The form; it is shown again as it was sent.
    """

    def __init__(self, sent: Mapping[str, str]) -> None:
        self.sent = sent
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

    def number(self, field: str, label: str, *, whole: bool = False) -> None:
        """
        Read a number, with a decimal point or comma.

        Parameters
        ----------
        field : str
            Of the form, and of the parameters.
        label : str
            What the page calls it.
        whole : bool
            Take whole numbers only.
        """
        value = self.sent.get(field, "").strip().replace(",", ".")
        if not value:
            return
        kind: Callable[[str], float] = int if whole else float
        try:
            self.parameters[field] = kind(value)
        except ValueError:
            wanted = "a whole number" if whole else "a number"
            self._faults.append(
                error(label, f"{self.sent[field][:40]!r} is no number.", f"Write {wanted}.")
            )

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
