"""What ``store verify`` says."""

from dataclasses import dataclass

from feedproof.core.findings import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Recomputed:
    """
    One result computed again.

    Parameters
    ----------
    result, kind, verb : str
        Its id, its kind, and what computed it.
    environment_equal : bool
        True when versions, code and machine are those that it was computed with.
    equal : bool
        To the last digit where the environment is equal, to 12 significant digits elsewhere.
    path : str
        Where the first difference is; empty where there is none.
    kept, now : str
        What stands there in the result, and what was computed now.
    why : str
        Why it could not be computed, or what is another than at that time.
    """

    result: str
    kind: str
    verb: str
    environment_equal: bool
    equal: bool
    path: str = ""
    kept: str = ""
    now: str = ""
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class VerifiedCase:
    """
    One case that was verified.

    Parameters
    ----------
    case : str
        Its folder or bundle.
    whole : bool
        True when everything is as it was written and every result came out again.
    raw, channels, documents, results, lines : int
        What was hashed: raw files, channel files, documents, results, lines of the journal.
    recomputed : tuple of Recomputed
        Results that were computed again.
    not_recomputable : int
        Results of an earlier version, which do not say how they were made.
    findings : tuple of Finding
        What is not as it was written.
    """

    case: str
    whole: bool
    raw: int
    channels: int
    documents: int
    results: int
    lines: int
    recomputed: tuple[Recomputed, ...]
    not_recomputable: int
    findings: tuple[Finding, ...]

    def text(self) -> str:
        """Write it for a console."""
        lines = [str(finding) for finding in self.findings]
        for each in self.recomputed:
            words = "came out again" if each.equal else "DIFFERS"
            if each.equal and each.environment_equal:
                words += ", to the last digit"
            if each.path:
                words += f" at {each.path}: kept {each.kept}, now {each.now}"
            lines.append(
                f"{each.kind} {each.result}: {words}{f' ({each.why})' if each.why else ''}"
            )
        state = "as it was written" if self.whole else "NOT as it was written"
        lines.append(
            f"{self.case}: {state}; {self.raw} raw files, {self.channels} channel files,"
            f" {self.documents} documents, {self.results} results, {self.lines} lines of journal"
        )
        return "\n".join(lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class StoreVerified:
    """
    What ``store verify`` says.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-verified`` and its version.
    whole : bool
        True when every case is whole.
    cases : tuple of VerifiedCase
        One for each case.
    store : str
        The database that was verified; empty when cases were.
    findings : tuple of Finding
        Records of the database that are not as they were written.
    """

    format: str
    version: int
    whole: bool
    cases: tuple[VerifiedCase, ...]
    store: str = ""
    findings: tuple[Finding, ...] = ()

    def text(self) -> str:
        """Write it for a console."""
        lines = [case.text() for case in self.cases]
        if self.store:
            lines += [str(finding) for finding in self.findings]
            state = "as they were written" if self.whole else "NOT as they were written"
            lines.append(
                f"{self.store}: {'all records are' if self.whole else 'records are'} {state}"
            )
        return "\n".join(lines)
