"""
Earlier versions of a document, so that edits can be taken back, also tomorrow.

The versions lie beside the document in a hidden folder, each under the hash of its bytes, with one
small file that lists the steps between them and where the document stands.  That file is written
before the document: it names the version that the document is to have and the one that it had, so
that after a kill between the two the document itself says which of them holds.
"""

import contextlib
import hashlib
import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import Any

from feedproof.core.errors import InputError, WriteError
from feedproof.records.durable import write_whole

HISTORY = ".history"
MOST_STEPS = 200
MOST_BYTES = 50_000_000
FROM_OUTSIDE = "changed outside of these steps"
_STEPS = "steps.json"


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """
    One edit.

    Parameters
    ----------
    what : str
        In words.
    who, when : str
        By whom and when, as the program that made it says.
    """

    what: str
    who: str = ""
    when: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """
    Versions in their order and the steps between them.

    Parameters
    ----------
    revisions : tuple of str
        Hashes, one more than steps.
    steps : tuple of Step
        The edit that leads from each version to the next.
    position, before : int
        Version that the document is to have, and the one that it had until then.
    """

    revisions: tuple[str, ...]
    steps: tuple[Step, ...] = ()
    position: int = 0
    before: int = 0

    @property
    def last(self) -> Step | None:
        """Give the step that would be taken back."""
        return self.steps[self.position - 1] if self.position else None

    @property
    def next(self) -> Step | None:
        """Give the step that would be made again."""
        return self.steps[self.position] if self.position < len(self.steps) else None

    def at(self, revision: str) -> "Chain":
        """
        Say where a document stands.

        Parameters
        ----------
        revision : str
            Of the document as it is.

        Returns
        -------
        Chain
            Standing there; what was changed by other means is a step of its own.
        """
        for position in (self.position, self.before):
            if self.revisions[position] == revision:
                return replace(self, position=position, before=position)
        return self.followed_by(revision, Step(what=FROM_OUTSIDE))

    def followed_by(self, revision: str, step: Step) -> "Chain":
        """Give the chain with a step more; steps that were taken back are no longer in it."""
        position = self.position + 1
        return Chain(
            revisions=(*self.revisions[:position], revision),
            steps=(*self.steps[: self.position], step),
            position=position,
            before=self.position,
        )

    def moved(self, by: int) -> "Chain":
        """Give the chain standing a step further back or on."""
        return replace(self, position=self.position + by, before=self.position)

    def without_first(self) -> "Chain":
        """Give the chain without its oldest version."""
        return Chain(
            revisions=self.revisions[1:],
            steps=self.steps[1:],
            position=self.position - 1,
            before=self.before - 1,
        )


class History:
    """
    The versions of one document.

    Parameters
    ----------
    folder : Path
        Folder of the case.
    """

    def __init__(self, folder: Path) -> None:
        self.path = folder / HISTORY

    def chain(self, revision: str) -> Chain:
        """
        Read the steps.

        Parameters
        ----------
        revision : str
            Of the document as it stands.

        Returns
        -------
        Chain
            Standing at the document; of this one version where no steps can be read.
        """
        try:
            found = json.loads((self.path / _STEPS).read_bytes())
            chain = _chain_of(found)
        except (OSError, ValueError, KeyError, TypeError):
            # Steps that cannot be read are lost, the document is not.
            return Chain(revisions=(revision,))
        return chain.at(revision)

    def keep(self, chain: Chain, contents: Mapping[str, bytes]) -> None:
        """
        Write the steps, before the document is written.

        Parameters
        ----------
        chain : Chain
            As it will be.
        contents : mapping of str to bytes
            Versions that may not be kept yet, by their hash.

        Raises
        ------
        WriteError
            No space; the steps are as they were.
        """
        try:
            self.path.mkdir(exist_ok=True)
        except OSError as fault:
            raise WriteError.at(
                HISTORY, f"cannot be made: {fault.strerror}.", "Mend the permissions."
            ) from fault
        for revision, content in contents.items():
            target = self._file(revision)
            if not target.exists():
                write_whole(target, content)
        chain = self._bounded(chain)
        told = {
            "format": "feedproof-history",
            "version": 1,
            "position": chain.position,
            "before": chain.before,
            "revisions": list(chain.revisions),
            "steps": [asdict(step) for step in chain.steps],
        }
        write_whole(self.path / _STEPS, json.dumps(told, ensure_ascii=False).encode())

    def read(self, revision: str) -> bytes:
        """
        Read a version.

        Parameters
        ----------
        revision : str
            Its hash.

        Returns
        -------
        bytes
            As they were.

        Raises
        ------
        InputError
            It is not there any more, or was changed.
        """
        try:
            content = self._file(revision).read_bytes()
        except OSError:
            content = b""
        if hashlib.sha256(content).hexdigest() != revision:
            raise InputError.at(
                f"{HISTORY}/{revision[:12]}...",
                "is not there as it was kept.",
                "That step cannot be gone; the document is as it was.",
            )
        return content

    def sweep(self, chain: Chain) -> None:
        """Remove versions that no step leads to; one that stays does no harm."""
        with contextlib.suppress(OSError):
            for file in self.path.glob("*.toml"):
                if file.stem not in chain.revisions:
                    file.unlink(missing_ok=True)

    def _file(self, revision: str) -> Path:
        """Give the file of a version."""
        return self.path / f"{revision}.toml"

    def _bounded(self, chain: Chain) -> Chain:
        """Let the oldest versions go, beyond what is worth keeping."""
        while min(chain.position, chain.before) > 0 and (
            len(chain.steps) > MOST_STEPS or self._size(chain) > MOST_BYTES
        ):
            chain = chain.without_first()
        return chain

    def _size(self, chain: Chain) -> int:
        """Add up the bytes of all versions."""
        total = 0
        for revision in set(chain.revisions):
            with contextlib.suppress(OSError):
                total += self._file(revision).stat().st_size
        return total


def _chain_of(found: Any) -> Chain:
    """Make a chain of what the file says, or raise."""
    chain = Chain(
        revisions=tuple(str(each) for each in found["revisions"]),
        steps=tuple(Step(**each) for each in found["steps"]),
        position=int(found["position"]),
        before=int(found["before"]),
    )
    count = len(chain.revisions)
    inside = 0 <= chain.position < count and 0 <= chain.before < count
    if found["format"] != "feedproof-history" or count != len(chain.steps) + 1 or not inside:
        raise ValueError("no steps")
    return chain
