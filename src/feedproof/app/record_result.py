"""What the verbs of readings, settings, mappings and deleted records say."""

from collections.abc import Mapping
from dataclasses import dataclass

from feedproof.app.learned import KnownMapping
from feedproof.core.findings import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingEntry:
    """
    One reading of a gauge on a vehicle in use.

    Parameters
    ----------
    id : str
        By which it is corrected or withdrawn.
    vehicle, kits, gauge, element_serial : str
        Vehicle, what is fitted, instrument that was read, serial number of the element.
    check_point, read_on : str
        At which stated speed and load, and on which day.
    depression_pa, distance_m, fuel_temperature_k : float or None
        As read; None where not noted. [Pa], [m], [K]
    depression, distance, fuel_temperature : str
        The same as they were typed.
    action, who, at, why, sha256 : str
        What was done, by whom, when (UTC), the reason, hash of the record.
    """

    id: str
    vehicle: str
    kits: str
    gauge: str
    element_serial: str
    check_point: str
    read_on: str
    depression_pa: float
    depression: str
    distance_m: float | None
    distance: str
    fuel_temperature_k: float | None
    fuel_temperature: str
    action: str
    who: str
    at: str
    why: str
    sha256: str

    def text(self) -> str:
        """Write it on one line."""
        parts = [
            f"{self.id[:8]}  {self.read_on}  {self.vehicle}: {self.depression} at"
            f" {self.check_point}",
            self.distance and f"after {self.distance}",
            self.fuel_temperature and f"fuel {self.fuel_temperature}",
            self.kits and f"with {self.kits}",
            self.element_serial and f"element {self.element_serial}",
            self.gauge and f"gauge {self.gauge}",
            f"by {self.who}",
            self.why,
        ]
        return "; ".join(part for part in parts if part)


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingReport:
    """
    What the verbs of readings say.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-readings`` and its version.
    store : str
        Database.
    readings : tuple of ReadingEntry
        What stands, by day.
    findings : tuple of Finding
        What must be known.
    """

    format: str
    version: int
    store: str
    readings: tuple[ReadingEntry, ...]
    findings: tuple[Finding, ...] = ()

    def text(self) -> str:
        """Write it for a console."""
        lines = [str(finding) for finding in self.findings]
        lines += [each.text() for each in self.readings]
        return "\n".join(lines or [f"no readings in {self.store}"])


@dataclass(frozen=True, slots=True, kw_only=True)
class SettingsReport:
    """
    What the verbs of settings say.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-settings`` and its version.
    store, of : str
        Database, and whose settings.
    units : mapping of str to str
        Unit by kind of quantity; kinds that are not named keep the program's own.
    decimal_comma : bool
        Write 1,5 for 1.5.
    dark_mode : bool or None
        None follows the system.
    """

    format: str
    version: int
    store: str
    of: str
    units: Mapping[str, str]
    decimal_comma: bool
    dark_mode: bool | None

    def text(self) -> str:
        """Write it for a console."""
        dark = {None: "system", True: "yes", False: "no"}[self.dark_mode]
        lines = [f"settings of {self.of}:"]
        lines += [f"  unit.{kind} = {unit}" for kind, unit in sorted(self.units.items())]
        lines.append(f"  decimal_comma = {'yes' if self.decimal_comma else 'no'}")
        return "\n".join([*lines, f"  dark_mode = {dark}"])


@dataclass(frozen=True, slots=True, kw_only=True)
class MappingReport:
    """
    What the verbs of mappings say.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-mappings`` and its version.
    store : str
        Database.
    mappings : tuple of KnownMapping
        What stands.
    """

    format: str
    version: int
    store: str
    mappings: tuple[KnownMapping, ...]

    def text(self) -> str:
        """Write it for a console."""
        lines = []
        for each in self.mappings:
            lines += [f"{each.sha256[:8]}  {each.told()}:", "", each.block, ""]
        return "\n".join(lines[:-1] or [f"no mappings in {self.store}"])


@dataclass(frozen=True, slots=True, kw_only=True)
class DeletedRecord:
    """
    A record that was deleted and can be brought back.

    Parameters
    ----------
    kind, id : str
        ``instruments``, ``mappings`` or ``readings``, and by what it is named.
    title : str
        What it is, in words.
    who, at, why : str
        By whom, when (UTC) and the reason.
    until : str
        Day after which it can no longer be brought back.
    """

    kind: str
    id: str
    title: str
    who: str
    at: str
    why: str
    until: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordReport:
    """
    What the verbs of deleted records say.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-records`` and its version.
    store, did : str
        Database, and what was done; empty when nothing was.
    deleted : tuple of DeletedRecord
        What can be brought back.
    """

    format: str
    version: int
    store: str
    did: str
    deleted: tuple[DeletedRecord, ...]

    def text(self) -> str:
        """Write it for a console."""
        lines = [self.did] if self.did else []
        for each in self.deleted:
            lines.append(
                f"{each.kind} {each.id}: {each.title}; deleted by {each.who} on {each.at[:10]}"
                f" ({each.why}); can be brought back until {each.until}"
            )
        if not self.deleted:
            lines.append(f"nothing deleted in {self.store} can be brought back")
        return "\n".join(lines)
