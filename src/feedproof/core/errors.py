"""
The one family of errors, each class with its exit code.

=====  ==================================================================================
code   meaning
=====  ==================================================================================
0      done (for ``prove``: done, whatever the verdict)
1      unexpected fault of the program
2      input that cannot be used: usage, a document's mistakes, a log that cannot be read
3      the job needs something that is not there (a file, a run, a part of the case)
4      nothing could be written (no space, no permission, changed by somebody else)
=====  ==================================================================================
"""

from feedproof.core.findings import Finding, error


class FeedproofError(Exception):
    """
    Base of all errors that a user can mend.

    Parameters
    ----------
    findings : tuple of Finding
        Everything that is wrong, all at once.
    """

    exit_code = 2

    def __init__(self, findings: tuple[Finding, ...] | list[Finding]) -> None:
        self.findings = tuple(findings)
        super().__init__("\n".join(str(finding) for finding in self.findings))

    @classmethod
    def at(cls, place: str, message: str, remedy: str = "") -> "FeedproofError":
        """
        Make the error from one finding.

        Parameters
        ----------
        place : str
            File, line, key, channel, run or part.
        message : str
            What was found and what is allowed.
        remedy : str
            What to do.

        Returns
        -------
        FeedproofError
            An error of the class it is called on.
        """
        return cls((error(place, message, remedy),))


class InputError(FeedproofError):
    """A document, log or argument cannot be used as it stands."""

    exit_code = 2


class MissingError(FeedproofError):
    """Something that the job needs is not there."""

    exit_code = 3


class WriteError(FeedproofError):
    """Nothing could be written; what was there is as it was."""

    exit_code = 4


class ConflictError(WriteError):
    """Somebody else changed it meanwhile; what they wrote stands, and nothing was written."""
