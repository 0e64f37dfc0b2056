"""The verbs of settings, as functions."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from feedproof.app.record_result import SettingsReport
from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error
from feedproof.core.units import DIMENSIONS, unit_fits
from feedproof.records.journal import require_words
from feedproof.records.store.kinds import Kept, Settings
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import WORKSHOP, Store

_UNIT = "unit."
_WORDS: Mapping[str, Mapping[str, bool | None]] = {
    "decimal_comma": {"yes": True, "no": False},
    "dark_mode": {"yes": True, "no": False, "system": None},
}


def settings_show(of: str = WORKSHOP, *, store: str | Path | None = None) -> SettingsReport:
    """
    Give somebody's settings.

    Parameters
    ----------
    of : str
        Whose; who has none of his own has the workshop's.
    store : str or Path, optional
        Database.

    Returns
    -------
    SettingsReport
        As they count.
    """
    with Store.open(store) as opened:
        return _report(opened, of)


def settings_set(
    values: Mapping[str, str],
    *,
    who: str,
    of: str = WORKSHOP,
    store: str | Path | None = None,
) -> SettingsReport:
    """
    Change settings, all of the named ones or none.

    Parameters
    ----------
    values : mapping of str to str
        ``unit.KIND`` to a unit of that kind, ``decimal_comma`` to yes or no, ``dark_mode`` to
        yes, no or system.
    who : str
        Who changes them.
    of : str
        Whose.
    store : str or Path, optional
        Database.

    Returns
    -------
    SettingsReport
        As they count now.

    Raises
    ------
    InputError
        Every name and value that cannot be used, at once.
    WriteError
        Somebody else changed them meanwhile, or nothing could be written.
    """
    faults = [fault for name, value in values.items() if (fault := _fault(name, value))]
    if not values:
        faults.append(_unknown(""))
    if faults:
        raise InputError(faults)
    units = {n[len(_UNIT) :]: v.strip() for n, v in values.items() if n.startswith(_UNIT)}
    plain: dict[str, Any] = {n: _WORDS[n][v] for n, v in values.items() if n in _WORDS}

    def changed(settings: Settings) -> Settings:
        return replace(settings, units={**settings.units, **units}, **plain)

    return _change(changed, who, of, store)


def settings_unset(
    names: Sequence[str],
    *,
    who: str,
    of: str = WORKSHOP,
    store: str | Path | None = None,
) -> SettingsReport:
    """
    Go back to what the program begins with.

    Parameters
    ----------
    names : sequence of str
        As for `settings_set`.
    who : str
        Who changes them.
    of : str
        Whose.
    store : str or Path, optional
        Database.

    Returns
    -------
    SettingsReport
        As they count now.

    Raises
    ------
    InputError
        Every name that is none, at once.
    WriteError
        Somebody else changed them meanwhile, or nothing could be written.
    """
    faults = [_unknown(name) for name in names or ("",) if not _is_known(name)]
    if faults:
        raise InputError(faults)
    begins = Settings()
    plain = {name: getattr(begins, name) for name in names if name in _WORDS}

    def changed(settings: Settings) -> Settings:
        kept = {k: v for k, v in settings.units.items() if f"{_UNIT}{k}" not in names}
        return replace(settings, units=kept, **plain)

    return _change(changed, who, of, store)


def _change(changed: Any, who: str, of: str, store: str | Path | None) -> SettingsReport:
    """Put changed settings in the place of those that stand."""
    require_words({"who": who, "of": of})
    with Store.open(store) as opened:
        rows = opened.history("settings", of)
        last = rows[-1] if rows else None
        seen = last.row.sha256 if isinstance(last, Kept) else ""
        opened.keep_settings(changed(opened.settings(of)), Signed(who=who), of=of, seen=seen)
        return _report(opened, of)


def _is_known(name: str) -> bool:
    """Say whether there is such a setting."""
    return name in _WORDS or (name.startswith(_UNIT) and name[len(_UNIT) :] in DIMENSIONS)


def _fault(name: str, value: str) -> Finding | None:
    """Say why a setting cannot have a value."""
    if not _is_known(name):
        return _unknown(name)
    if name in _WORDS:
        if value in _WORDS[name]:
            return None
        return error(name, f"{value!r} is none of {', '.join(_WORDS[name])}.", "Choose one.")
    kind = DIMENSIONS[name[len(_UNIT) :]]
    if unit_fits(value.strip(), name[len(_UNIT) :]):
        return None
    examples = ", ".join(kind.examples)
    return error(name, f"{value!r} is no unit of {kind.name}.", f"Such as: {examples}.")


def _unknown(name: str) -> Finding:
    """Say which settings there are."""
    return error(
        f"setting {name}".strip(),
        "there is none of this name." if name else "none is named.",
        f"There are: {', '.join(_WORDS)}, and unit.KIND with KIND one of {', '.join(DIMENSIONS)}.",
    )


def _report(opened: Store, of: str) -> SettingsReport:
    """Lay settings out."""
    found = opened.settings(of)
    return SettingsReport(
        format="feedproof-settings",
        version=1,
        store=opened.name,
        of=of,
        units=found.units,
        decimal_comma=found.decimal_comma,
        dark_mode=found.dark_mode,
    )
