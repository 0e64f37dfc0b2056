"""How this workshop likes things shown: read from the database once, kept there when changed."""

from dataclasses import dataclass, field, replace
from threading import Lock
from typing import Any

from feedproof.core.errors import FeedproofError
from feedproof.records.store.kinds import Settings
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store


@dataclass(slots=True)
class Preferences:
    """
    The workshop's settings, with what was wrong where they could not be read.

    Parameters
    ----------
    settings : Settings
        Those that hold.
    fault : str
        Why the database could not be asked; the usual settings hold then.
    """

    settings: Settings = field(default_factory=Settings)
    fault: str = ""
    _lock: Lock = field(default_factory=Lock)

    def load(self) -> None:
        """Read the settings; a database that cannot be opened must not keep the screens shut."""
        try:
            with Store.open() as store:
                self.settings, self.fault = store.settings(), ""
        except FeedproofError as fault:
            self.fault = str(fault.findings[0])

    def keep(self, who: str, **changes: Any) -> None:
        """
        Keep changed settings.

        Parameters
        ----------
        who : str
            Who changed them.
        **changes : object
            Fields of `Settings`.

        Raises
        ------
        FeedproofError
            The database could not be written; the settings stay as they were.
        """
        with self._lock:
            wanted = replace(self.settings, **changes)
            with Store.open() as store:
                store.keep_settings(wanted, Signed(who=who, why="changed on the screen"))
            self.settings, self.fault = wanted, ""
