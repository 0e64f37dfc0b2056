"""What an envelope map is drawn from: a publication, or a survey that somebody just asked for."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

from feedproof.case.conditions import Conditions
from feedproof.report.model import KitWords


class Declared(Protocol):
    """A worst condition that is marked on a map."""

    @property
    def conditions(self) -> Conditions:
        """Give what was declared."""


class Mapped(Protocol):
    """What a map asks for."""

    @property
    def reference(self) -> Conditions:
        """Give the reference."""

    @property
    def limit_abs_pa(self) -> float | None:
        """Give the pump maker's limit. [Pa]."""

    @property
    def worst(self) -> Sequence[Declared]:
        """Give the declared worst conditions."""

    def kit(self, configuration: str) -> KitWords:
        """Give a configuration's words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveWorst:
    """
    A declared worst condition.

    Parameters
    ----------
    conditions : Conditions
        What was declared.
    """

    conditions: Conditions


@dataclass(frozen=True, slots=True, kw_only=True)
class LiveMaps:
    """
    What maps for a page are drawn from.

    Parameters
    ----------
    reference : Conditions
        The reference, with the fuel of the maps.
    limit_abs_pa : float or None
        The pump maker's limit. [Pa]
    worst : tuple of LiveWorst
        Declared worst conditions.
    kits : tuple of KitWords
        Words of each configuration.
    """

    reference: Conditions
    limit_abs_pa: float | None
    worst: tuple[LiveWorst, ...]
    kits: tuple[KitWords, ...]

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
