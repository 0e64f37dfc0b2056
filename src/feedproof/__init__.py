"""
Predict, test, decide and publish what an add-on diesel fuel filter does to the feed line.

The verbs are functions here, loaded when they are used: ``import feedproof as fp``,
``fp.predict(folder)``.
"""

from typing import Any

__version__ = "0.1.0"
__all__ = [
    "add_run",
    "archive_add",
    "archive_give_out",
    "archive_show",
    "archive_take_in",
    "archive_withdraw",
    "check",
    "choose",
    "cold_start",
    "correct",
    "declare",
    "demo",
    "envelope",
    "exclude",
    "faults",
    "fit",
    "instrument_add",
    "instrument_remove",
    "instrument_show",
    "look",
    "mapping_forget",
    "mapping_show",
    "new",
    "plan",
    "predict",
    "protect",
    "prove",
    "publish",
    "reading_add",
    "reading_show",
    "reading_withdraw",
    "record_purge",
    "record_show",
    "record_undo",
    "sensitivity",
    "service",
    "settings_set",
    "settings_show",
    "settings_unset",
    "store_backup",
    "store_cases",
    "store_export",
    "store_import",
    "store_reindex",
    "store_remove",
    "store_restore",
    "store_undo",
    "store_verify",
]
# Verbs of the database, which load no physics.
_ELSEWHERE = {
    **dict.fromkeys(
        (
            "instrument_add",
            "instrument_show",
            "store_backup",
            "store_cases",
            "store_reindex",
            "store_restore",
        ),
        "api_store_database",
    ),
    **dict.fromkeys(
        (
            "instrument_remove",
            "mapping_forget",
            "mapping_show",
            "record_purge",
            "record_show",
            "record_undo",
        ),
        "api_records",
    ),
    **dict.fromkeys(("reading_add", "reading_show", "reading_withdraw"), "api_readings"),
    **dict.fromkeys(("settings_set", "settings_show", "settings_unset"), "api_settings"),
}


def __getattr__(name: str) -> Any:
    """Load a verb when it is first asked for."""
    if name in __all__:
        from importlib import import_module

        return getattr(import_module(f"feedproof.app.{_ELSEWHERE.get(name, 'api')}"), name)
    raise AttributeError(f"module 'feedproof' has no attribute {name!r}")
