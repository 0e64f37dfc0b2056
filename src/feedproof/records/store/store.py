"""The front of the database: what crosses cases, in and out as frozen records."""

import uuid
from collections.abc import Mapping, Sequence
from pathlib import Path

from feedproof.core.errors import InputError
from feedproof.records.store import rows
from feedproof.records.store.headers import header_shape
from feedproof.records.store.keeping import Keeper
from feedproof.records.store.kinds import (
    ChannelColumn,
    FieldReading,
    IndexedCase,
    Instrument,
    Kept,
    LearnedMapping,
    Row,
    Settings,
)
from feedproof.records.store.rows import Signed

WORKSHOP = "workshop"
"""Whose settings count for all who have none of their own."""


class Store(Keeper):
    """
    The database of what crosses cases.

    Parameters
    ----------
    database : Database
        Open and up to date; use `Store.open`.
    """

    def keep_instrument(
        self, instrument: Instrument, signed: Signed, *, seen: str | None = None
    ) -> Row:
        """
        Keep an instrument, in place of what was kept under its id.

        Parameters
        ----------
        instrument : Instrument
            As it is now.
        signed : Signed
            Who, when, why.
        seen : str, optional
            Hash of the row that the writer saw; empty to add only; any when left out.

        Returns
        -------
        Row
            As written.

        Raises
        ------
        InputError
            The dates contradict each other, or there is no id.
        WriteError
            Somebody else changed it, or nothing could be written.
        """
        if not instrument.id.strip():
            raise InputError.at("instrument", "has no id.", "Name it as cases name it.")
        if instrument.calibrated and instrument.due and instrument.due < instrument.calibrated:
            raise InputError.at(
                f"instrument {instrument.id}",
                f"is due on {instrument.due}, before its calibration on {instrument.calibrated}.",
                "Mend the dates.",
            )
        return self._keep("instruments", instrument.id, instrument, signed, seen)

    def instruments(self) -> tuple[Kept[Instrument], ...]:
        """Give the instruments that stand."""
        return self._standing("instruments")

    def instrument(self, identity: str) -> Kept[Instrument]:
        """
        Give one instrument.

        Parameters
        ----------
        identity : str
            Its id.

        Returns
        -------
        Kept of Instrument
            As it stands.

        Raises
        ------
        MissingError
            There is none.
        """
        with self._database.reading() as connection:
            found = rows.standing_one(connection, "instruments", identity)
        return rows.needed(found, "instruments", identity)

    # Learned mappings

    def remember_mapping(
        self,
        instrument: str,
        columns: Sequence[str],
        channels: Mapping[str, ChannelColumn],
        signed: Signed,
        *,
        units: Sequence[str] = (),
        dialect: Mapping[str, str] | None = None,
    ) -> Row:
        """
        Remember what the columns of an instrument's logs mean.

        Parameters
        ----------
        instrument : str
            Its id.
        columns, units : sequence of str
            Cells of the header and of its unit row.
        channels : mapping of str to ChannelColumn
            Columns by channel, as in a case.
        signed : Signed
            Who, when, why.
        dialect : mapping of str to str, optional
            Hints about the form of its logs.

        Returns
        -------
        Row
            As written.

        Raises
        ------
        WriteError
            Nothing was written.
        """
        shape = header_shape(columns, units)
        mapping = LearnedMapping(
            instrument=instrument,
            shape=shape,
            channels=dict(channels),
            dialect=dict(dialect or {}),
        )
        return self._keep("mappings", f"{instrument}/{shape}", mapping, signed, None)

    def mapping_for(
        self, instrument: str, columns: Sequence[str], units: Sequence[str] = ()
    ) -> Kept[LearnedMapping] | None:
        """
        Give what was learned for a header.

        Parameters
        ----------
        instrument : str
            Id of the instrument.
        columns, units : sequence of str
            Cells of the header and of its unit row.

        Returns
        -------
        Kept of LearnedMapping or None
            None when this shape was not seen before.
        """
        subject = f"{instrument}/{header_shape(columns, units)}"
        with self._database.reading() as connection:
            return rows.standing_one(connection, "mappings", subject)

    def mappings(
        self, columns: Sequence[str] | None = None, units: Sequence[str] = ()
    ) -> tuple[Kept[LearnedMapping], ...]:
        """
        Give the mappings that stand, of all instruments.

        Parameters
        ----------
        columns, units : sequence of str
            Cells of a header and of its unit row; every shape when left out.

        Returns
        -------
        tuple of Kept of LearnedMapping
            More than one for a header where instruments write alike.
        """
        found: tuple[Kept[LearnedMapping], ...] = self._standing("mappings")
        if columns is None:
            return found
        shape = header_shape(columns, units)
        return tuple(each for each in found if each.record.shape == shape)

    # Field readings and settings

    def keep_reading(
        self,
        reading: FieldReading,
        signed: Signed,
        *,
        instead_of: str = "",
        seen: str | None = None,
    ) -> Row:
        """
        Keep a field reading.

        Parameters
        ----------
        reading : FieldReading
            As it was read.
        signed : Signed
            Who, when, why.
        instead_of : str
            Subject of the reading that it corrects; empty for a new one.
        seen : str, optional
            Hash of the row that the writer saw.

        Returns
        -------
        Row
            Its subject is the reading's id.

        Raises
        ------
        MissingError
            There is no such reading to correct.
        WriteError
            Somebody else changed it, or nothing could be written.
        """
        if instead_of:
            with self._database.reading() as connection:
                found = rows.standing_one(connection, "readings", instead_of)
                rows.needed(found, "readings", instead_of)
        subject = instead_of or uuid.uuid4().hex
        return self._keep("readings", subject, reading, signed, seen)

    def readings(self, vehicle: str | None = None) -> tuple[Kept[FieldReading], ...]:
        """
        Give field readings.

        Parameters
        ----------
        vehicle : str, optional
            Only of this one.

        Returns
        -------
        tuple of Kept of FieldReading
            By day.
        """
        found: tuple[Kept[FieldReading], ...] = self._standing("readings")
        wanted = (each for each in found if vehicle in (None, each.record.vehicle))
        return tuple(sorted(wanted, key=lambda each: (each.record.read_on, each.row.seq)))

    def keep_settings(
        self, settings: Settings, signed: Signed, *, of: str = WORKSHOP, seen: str | None = None
    ) -> Row:
        """
        Keep how somebody wants things shown.

        Parameters
        ----------
        settings : Settings
            All of them.
        signed : Signed
            Who, when, why.
        of : str
            Whose; the workshop's when left out.
        seen : str, optional
            Hash of the row that the writer saw.

        Returns
        -------
        Row
            As written.

        Raises
        ------
        WriteError
            Nothing was written.
        """
        return self._keep("settings", of, settings, signed, seen)

    def settings(self, of: str = WORKSHOP) -> Settings:
        """
        Give somebody's settings.

        Parameters
        ----------
        of : str
            Whose.

        Returns
        -------
        Settings
            His own, the workshop's, or those that the program begins with.
        """
        with self._database.reading() as connection:
            for subject in (of, WORKSHOP):
                if (found := rows.last_of(connection, "settings", subject)) is not None:
                    kept: Settings = found.record
                    return kept
        return Settings()

    # The archive of repeatability

    def take_in_archive(self, file: Path, signed: Signed) -> int:
        """
        Add the lines of an archive that are not there yet.

        Parameters
        ----------
        file : Path
            The archive, which stays as it is.
        signed : Signed
            Who, when, why.

        Returns
        -------
        int
            Lines added.

        Raises
        ------
        InputError
            The file is damaged, or another archive than the one that is there.
        """
        # Rooms that read cases and archives load much that other uses of the database never need.
        from feedproof.records.store import archive_lines

        with self._database.writing() as connection:
            return archive_lines.take_in(connection, file, signed)

    def give_out_archive(self, file: Path) -> None:
        """
        Write the archive as its file, letter by letter as it came in.

        Parameters
        ----------
        file : Path
            New, or the beginning of the same archive.

        Raises
        ------
        WriteError
            It holds something else, or nothing could be written.
        """
        from feedproof.records.store import archive_lines

        with self._database.reading() as connection:
            lines = archive_lines.lines_in(connection)
        archive_lines.give_out(lines, file)

    def has_archive(self) -> bool:
        """Say whether it holds a line of an archive."""
        return bool(self._standing("archive_lines"))

    # The index of cases

    def reindex(self, folder: Path, signed: Signed) -> tuple[tuple[IndexedCase, ...], int]:
        """
        Make the index of the cases below a folder anew.

        Parameters
        ----------
        folder : Path
            The folder.
        signed : Signed
            Its time is noted.

        Returns
        -------
        tuple of tuple of IndexedCase and int
            What was found, and how many the index knew that are no longer there.

        Raises
        ------
        MissingError
            There is no such folder.
        """
        from feedproof.records.store import index

        found = index.read_all(folder, signed)
        with self._database.writing() as connection:
            return found, index.replace_below(connection, folder, found)

    def cases_now(
        self, folder: Path | None, signed: Signed
    ) -> tuple[tuple[IndexedCase, ...], int, int]:
        """
        Give cases as they are now; the index spares reading those that have not changed.

        Parameters
        ----------
        folder : Path or None
            Where to look; None for the cases that the index knows.
        signed : Signed
            Its time is noted at those that were read.

        Returns
        -------
        tuple of tuple of IndexedCase, int and int
            The cases, how many were read anew, and how many are no longer there.

        Raises
        ------
        MissingError
            There is no such folder.
        """
        from feedproof.records.store import index

        known = self.cases()
        found, anew = index.looked_up(folder, known, signed.at)
        root = None if folder is None else folder.resolve()
        here = {c.path for c in known if root is None or Path(c.path).is_relative_to(root)}
        gone = here - {case.path for case in found}
        if anew or gone:
            with self._database.writing() as connection:
                index.put(connection, gone, (case for case in found if case.path in anew))
        return found, len(anew), len(gone)

    def cases(self) -> tuple[IndexedCase, ...]:
        """Give what the index knows of cases, by path."""
        from feedproof.records.store import index

        with self._database.reading() as connection:
            return index.indexed_cases(connection)
