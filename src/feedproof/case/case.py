"""A case: one vehicle with its fuels, kits, conditions, margins and runs."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from feedproof.case.conditions import Conditions
from feedproof.case.fuel import Fuel
from feedproof.case.line import Kit, Line
from feedproof.case.margin import Margins, Measure, Repeatability
from feedproof.case.measures import HandMeasure
from feedproof.case.rig import Rig
from feedproof.case.run import Instrument, Run
from feedproof.case.supply import Duty, Service, Supply
from feedproof.case.vehicle import Vehicle
from feedproof.core.values import SourcedValue


def says_invented(*texts: str) -> bool:
    """
    Say whether a title or a note calls its data invented.

    Parameters
    ----------
    *texts : str
        In any case of letters.

    Returns
    -------
    bool
        True where one does.

    Examples
    --------
    >>> says_invented("Truck", "INVENTED demonstration data"), says_invented("Truck")
    (True, False)
    """
    return any("invented" in text.lower() for text in texts)


@dataclass(frozen=True, slots=True, kw_only=True)
class Pull:
    """
    The full-load sweep that the case is tested by.

    Parameters
    ----------
    start_m_per_s, stop_m_per_s : float
        Road speed at its ends. [m/s]
    rate_m_per_s2 : float
        Sweep rate. [m/s2]
    """

    start_m_per_s: float
    stop_m_per_s: float
    rate_m_per_s2: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    """
    Everything that a case document says, in SI, with the book of sourced values.

    Parameters
    ----------
    title, note : str
        Title, and what kind of data this is (invented data say so here).
    vehicle : Vehicle
        With its factory feed line.
    fuels : mapping of str to Fuel
        By name.
    kits : mapping of str to Kit
        By id, in the order of the document.
    pull : Pull
        The sweep.
    reference : Conditions
        Conditions that predictions and comparisons are brought to.
    worst : tuple of Conditions
        Declared worst conditions, over which the limit must hold.
    margins : Margins
        As agreed.
    repeatability : mapping of Measure to Repeatability
        As declared.
    instruments : mapping of str to Instrument
        By id.
    runs : tuple of Run
        By start time.
    supply : Supply or None
        The fuel as it comes; None when nobody declared it.
    duty : Duty or None
        How the vehicle is driven; None when nobody declared it.
    service : Service or None
        What a service plan must keep; None when nobody declared it.
    measures : mapping of str to HandMeasure
        Jugs, balances and air sensors, by id.
    rig : Rig or None
        Where and how the runs are driven; None when nobody named it.
    values : mapping of str to SourcedValue
        Every number of the document that came with a range or a source, by path.
    """

    title: str
    note: str
    vehicle: Vehicle
    fuels: Mapping[str, Fuel]
    kits: Mapping[str, Kit]
    pull: Pull
    reference: Conditions
    worst: tuple[Conditions, ...]
    margins: Margins
    repeatability: Mapping[Measure, Repeatability]
    instruments: Mapping[str, Instrument]
    runs: tuple[Run, ...]
    supply: Supply | None = None
    duty: Duty | None = None
    service: Service | None = None
    rig: Rig | None = None
    friction_rule: str = "blend_colebrook"
    measures: Mapping[str, HandMeasure] = field(default_factory=dict)
    values: Mapping[str, SourcedValue] = field(default_factory=dict)

    @property
    def says_invented(self) -> bool:
        """Say whether title or note call the data of this case invented."""
        return says_invented(self.title, self.note)

    def line_with(self, kit_ids: tuple[str, ...]) -> Line:
        """
        Give the line with kits let in.

        Parameters
        ----------
        kit_ids : tuple of str
            Ids of kits; empty gives the factory line.

        Returns
        -------
        Line
            Tank to pump inlet.

        Raises
        ------
        KeyError
            No such kit, or a place that the line does not have.
        """
        return self.vehicle.line.with_kits([self.kits[kit_id] for kit_id in kit_ids])
