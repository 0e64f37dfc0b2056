"""Places of a case document by the names that the screens show: titles, tables, labels of forms."""

import re
import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from feedproof.app.web.case_tables import listed, tables_of
from feedproof.app.web.edit_form import form_at
from feedproof.core.errors import FeedproofError

_PATH = re.compile(r"[A-Za-z_][\w-]*(?:\[[^\]\s]+\]|\.[A-Za-z_][\w-]*)+")
_STEP = re.compile(r"\.?([A-Za-z_][\w-]*)|\[([^\]\s]+)\]")
_SPOKEN = re.compile(r"^(part|kit) '?([\w-]+)'?\b")
_NAMING = ("id", "number", "node", "name")


class PlaceNames:
    """
    Names places of one case; its document is read when the first place asks for it.

    Parameters
    ----------
    file : Path or None
        The document; None where a page is about no case.
    """

    def __init__(self, file: Path | None) -> None:
        self._file = file
        self._read: dict[str, Any] | None = None

    def __call__(self, place: str) -> str:
        """
        Name a place.

        Parameters
        ----------
        place : str
            As a finding writes it, such as ``case.toml line 71: line[steel_line].bore``.

        Returns
        -------
        str
            Such as ``steel line along the frame, Bore``; empty where the screens have no name.
        """
        if spoken := _SPOKEN.match(place):
            return self._spoken(spoken[1], spoken[2])
        paths = [match[0] for match in _PATH.finditer(place)]
        found = (self._named(path) for path in (*paths, place))
        return next((name for name in found if name), "")

    def _document(self) -> dict[str, Any]:
        """Read the document once; one that cannot be read names nothing."""
        if self._read is None:
            try:
                text = self._file.read_text("utf-8-sig") if self._file else ""
                self._read = tomllib.loads(text)
            except (OSError, ValueError):
                self._read = {}
        return self._read

    def _spoken(self, kind: str, name: str) -> str:
        """Name a part or a kit that is called by its id."""
        if kind == "kit":
            return _title(_entry(self._document().get("kit"), name))
        return next((_title(p) for p in _parts(self._document()) if p.get("id") == name), "")

    def _named(self, path: str) -> str:
        """Name what a path leads to; empty where nothing on the way has a name."""
        tables = tables_of(self._document())
        name = kit = ""
        labels: list[str] = []
        current: Any = self._document()
        way = ""
        for key, entry in _STEP.findall(path):
            holder, held = way, current
            way += f"[{entry}]" if entry else f".{key}" if way else key
            current = _entry(current, entry) if entry else _value(current, key)
            if way and (table := tables.get(way) or _conditions(way, current)):
                name, labels = table, []
            elif entry and (title := _title(current) or _run(way)):
                name, labels = title + (f" of {kit}" if kit else ""), []
                kit = _id(current) if way.startswith("kit[") else ""
            elif key:
                labels += _label(holder, held, key)
        # A table whose name is its place needs no second one.
        return ", ".join((name, *labels)) if name and name.lower() != path else ""


def _label(table: str, held: Any, key: str) -> list[str]:
    """Give what the form of a table calls a key; nothing where it has no word for it."""
    try:
        form = form_at(table, held if isinstance(held, Mapping) else {})
    except FeedproofError:
        return []
    return [field.label for field in form.fields if field.key == key] if form else []


def _entry(entries: Any, name: str) -> Any:
    """Find an entry of a list by what paths call it, else by its position."""
    if not isinstance(entries, list):
        return None
    for entry in entries:
        if isinstance(entry, Mapping) and name in (str(entry.get(key)) for key in _NAMING):
            return entry
    is_position = name.isdecimal() and len(name) < 10 and int(name) < len(entries)
    return entries[int(name)] if is_position else None


def _value(current: Any, key: str) -> Any:
    """Give what stands under a key; None where nothing does."""
    return current.get(key) if isinstance(current, Mapping) else None


def _title(entry: Any) -> str:
    """Give what the screens call a part or a kit; empty for what has no title."""
    if not isinstance(entry, Mapping) or not isinstance(entry.get("title"), str):
        return ""
    return str(entry["title"]).strip()


def _id(entry: Any) -> str:
    """Give what the screens call a kit beside its parts."""
    return str(entry.get("id", "")).replace("_", " ") if isinstance(entry, Mapping) else ""


def _conditions(way: str, entry: Any) -> str:
    """Name worst conditions, which paths call by their position."""
    is_one = way.startswith("worst[") and way.endswith("]") and isinstance(entry, Mapping)
    return f"Worst conditions: {entry['name']}" if is_one and entry.get("name") else ""


def _run(way: str) -> str:
    """Name a run by its number, also one that is not on record yet."""
    found = re.fullmatch(r"run\[(\d+)\]", way)
    return f"Run {found[1]}" if found else ""


def _parts(document: Mapping[str, Any]) -> list[Mapping[str, Any]]:
    """List the parts of a document: those of the line, of the return and of every kit."""
    found: list[Any] = []
    for key in ("line", "return"):
        found += listed(document.get(key))
    for kit in listed(document.get("kit")):
        for place in listed(kit.get("insertion")):
            found += listed(place.get("part"))
    return found
