"""The one password of a server that others than this machine can reach."""

from pathlib import Path

from feedproof.core.errors import InputError
from feedproof.records.durable import write_whole

LEAST_LENGTH = 12


class PasswordFile:
    """
    The password's hash on disk.

    Parameters
    ----------
    path : Path
        File of the hash; it need not exist.
    """

    def __init__(self, path: Path) -> None:
        self._path = path

    @property
    def hashed(self) -> str:
        """The hash as argon2 writes it; empty where no password is set."""
        return self._path.read_text(encoding="ascii").strip() if self._path.is_file() else ""

    def set(self, password: str) -> None:
        """
        Set the password; every session ends.

        Parameters
        ----------
        password : str
            In clear; only its argon2id hash is kept.

        Raises
        ------
        InputError
            Too short.
        """
        from argon2 import PasswordHasher

        if len(password) < LEAST_LENGTH:
            raise InputError.at(
                "password",
                f"has {len(password)} characters; at least {LEAST_LENGTH} are needed.",
                "Take a few words that do not belong together.",
            )
        write_whole(self._path, PasswordHasher().hash(password).encode("ascii"))
        self._path.chmod(0o600)

    def fits(self, password: str) -> bool:
        """
        Check a password.

        Parameters
        ----------
        password : str
            As typed.

        Returns
        -------
        bool
            False also where none is set.
        """
        from argon2 import PasswordHasher
        from argon2.exceptions import InvalidHashError, VerificationError

        hashed = self.hashed
        if not hashed:
            return False
        try:
            return PasswordHasher().verify(hashed, password)
        except (VerificationError, InvalidHashError):
            return False
