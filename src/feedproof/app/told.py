"""What the verbs that check, write and demonstrate say."""

from dataclasses import dataclass
from typing import Any

from feedproof.core.findings import Finding


@dataclass(frozen=True, slots=True, kw_only=True)
class Checked:
    """
    What ``check`` says.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-check`` and its version.
    case : str
        Name of the folder.
    usable : bool
        False when there is an error.
    runs, kits, logs : int
        How many the case holds, 0 when it cannot be read.
    findings : tuple of Finding
        Everything that was found.
    """

    format: str
    version: int
    case: str
    usable: bool
    runs: int
    kits: int
    logs: int
    findings: tuple[Finding, ...]

    def text(self) -> str:
        """Write it for a console."""
        lines = [str(finding) for finding in self.findings]
        counts = {
            level: sum(finding.level == level for finding in self.findings)
            for level in ("error", "warning")
        }
        verdict = "can be used" if self.usable else "cannot be used as it stands"
        lines.append(
            f"{self.case}: {verdict}; {self.kits} kits, {self.runs} runs, {self.logs} logs;"
            f" {counts['error']} errors, {counts['warning']} warnings"
        )
        return "\n".join(lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """
    What a verb that writes says.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-written`` and its version.
    what : str
        What was written, in words.
    paths : tuple of str
        Files or folders.
    next_step : str
        What to do now.
    findings : tuple of Finding
        What must be known.
    """

    format: str
    version: int
    what: str
    paths: tuple[str, ...]
    next_step: str = ""
    findings: tuple[Finding, ...] = ()

    def text(self) -> str:
        """Write it for a console."""
        lines = [str(finding) for finding in self.findings]
        lines.append(self.what)
        lines += [f"  {path}" for path in self.paths]
        if self.next_step:
            lines.append(self.next_step)
        return "\n".join(lines)


@dataclass(frozen=True, slots=True, kw_only=True)
class Demonstrated:
    """
    What ``demo`` says.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-demo`` and its version.
    case, page, paper : str
        The case's folder and the two files of the report.
    proof : object
        The proof, as ``prove`` gives it.
    words : str
        The verdicts as the console prints them.
    """

    format: str
    version: int
    case: str
    page: str
    paper: str
    proof: Any
    words: str

    def text(self) -> str:
        """Write it for a console."""
        return (
            f"{self.words}\n\nInvented demonstration case: {self.case}\nReport: {self.page}\n"
            f"        {self.paper}"
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Refused:
    """
    What is said when nothing was done.

    Parameters
    ----------
    format, version : str, int
        ``feedproof-findings`` and its version.
    exit_code : int
        Of the command line, for the same error.
    findings : tuple of Finding
        Everything that is wrong.
    """

    format: str
    version: int
    exit_code: int
    findings: tuple[Finding, ...]


def refused(findings: tuple[Finding, ...], exit_code: int = 2) -> Refused:
    """
    Say that nothing was done, and why.

    Parameters
    ----------
    findings : tuple of Finding
        Everything that is wrong.
    exit_code : int
        Of the command line, for the same error.

    Returns
    -------
    Refused
        The document.
    """
    return Refused(format="feedproof-findings", version=1, exit_code=exit_code, findings=findings)
