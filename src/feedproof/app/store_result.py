"""What the verbs of the database and of instruments say."""

from dataclasses import dataclass

from feedproof.core.findings import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseInIndex:
    """
    A case as the index knows it.

    Parameters
    ----------
    path, title, vehicle : str
        Folder, title and vehicle.
    document_sha256 : str
        Hash of the case document.
    kits : tuple of str
        Their ids.
    proof, answer : str
        Id of the last proof and what it came to; empty without one.
    fault : str
        Why the case cannot be used; empty when it can.
    """

    path: str
    title: str
    vehicle: str
    document_sha256: str
    kits: tuple[str, ...]
    proof: str
    answer: str
    fault: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Reindexed:
    """
    What ``store reindex`` says.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-index`` and its version.
    store, folder : str
        Database, and the folder that was read.
    cases : tuple of CaseInIndex
        Every case below it.
    gone : int
        Cases that the index knew there and that are no longer there.
    """

    format: str
    version: int
    store: str
    folder: str
    cases: tuple[CaseInIndex, ...]
    gone: int

    def text(self) -> str:
        """Write it for a console."""
        lines = []
        for case in self.cases:
            told = case.fault or case.answer or "not proved yet"
            lines.append(f"{case.path}: {case.title or 'cannot be used'}; {told}")
        lines.append(
            f"{len(self.cases)} cases below {self.folder} are in the index of {self.store};"
            f" {self.gone} are no longer there"
        )
        return "\n".join(lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseList:
    """
    What ``store cases`` says.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-cases`` and its version.
    store, folder : str
        Database, empty where it could not be asked; the folder, empty for all that it knows.
    cases : tuple of CaseInIndex
        Every case as it is now.
    read, gone : int
        Cases that had changed and were read, and those that are no longer there.
    findings : tuple of Finding
        Why the database could not be asked.
    """

    format: str
    version: int
    store: str
    folder: str
    cases: tuple[CaseInIndex, ...]
    read: int
    gone: int
    findings: tuple[Finding, ...] = ()

    def text(self) -> str:
        """Write it for a console."""
        lines = [str(finding) for finding in self.findings]
        for case in self.cases:
            told = case.fault or case.answer or "not proved yet"
            vehicle = f" ({case.vehicle})" if case.vehicle else ""
            lines.append(f"{case.path}: {case.title or 'cannot be used'}{vehicle}; {told}")
        lines.append(
            f"{len(self.cases)} cases; {self.read} had to be read, {self.gone} are no longer there"
        )
        return "\n".join(lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentEntry:
    """
    One entry about an instrument.

    Parameters
    ----------
    id, title, serial, certificate : str
        Name, what it is, its serial number, number of the certificate.
    calibrated, due : str
        Day of the last calibration and of the next; empty when not known.
    action, who, at, why : str
        What was done, by whom, when (UTC) and the reason.
    sha256 : str
        Hash of the entry.
    out_of_calibration : str
        Why it is out of calibration on the day that was asked for; empty when it is not.
    """

    id: str
    title: str
    serial: str
    certificate: str
    calibrated: str
    due: str
    action: str
    who: str
    at: str
    why: str
    sha256: str
    out_of_calibration: str


@dataclass(frozen=True, slots=True, kw_only=True)
class InstrumentReport:
    """
    What ``instrument add`` and ``instrument show`` say.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-instruments`` and its version.
    store, on : str
        Database, and the day for which calibration is judged.
    instruments : tuple of InstrumentEntry
        What stands.
    history : tuple of InstrumentEntry
        Every entry about the one that was asked for, the oldest first.
    findings : tuple of Finding
        Instruments that are out of calibration.
    """

    format: str
    version: int
    store: str
    on: str
    instruments: tuple[InstrumentEntry, ...]
    history: tuple[InstrumentEntry, ...]
    findings: tuple[Finding, ...]

    def text(self) -> str:
        """Write it for a console."""
        lines = [str(finding) for finding in self.findings]
        if not self.instruments:
            lines.append(f"no instruments in {self.store}")
        for each in self.instruments:
            lines.append(
                f"{each.id}: {each.title}; serial {each.serial or 'not noted'}; calibrated"
                f" {each.calibrated or 'not noted'}, due {each.due or 'not noted'}, certificate"
                f" {each.certificate or 'not noted'}"
            )
        for each in self.history:
            reason = f": {each.why}" if each.why else ""
            lines.append(f"  {each.at} {each.action} by {each.who}{reason}")
        return "\n".join(lines)
