"""
The command line: a thin door over the verbs, which are loaded when they are used.

Exit codes are those of `feedproof.core.errors`; 130 when interrupted.
"""

import sys
from typing import TYPE_CHECKING

# Nothing slow is imported here: an interrupt while this file is read cannot be answered in words.
if TYPE_CHECKING:
    from collections.abc import Sequence

    import cyclopts

    from feedproof.core.errors import FeedproofError

INTERRUPTED = 130
"""Exit code after an interrupt."""
VERBS = {
    "demo": "Copy the invented demonstration case, then predict, prove and publish it.",
    "new": "Start a case from a commented template.",
    "check": "Say everything that is wrong with a case, all at once.",
    "predict": "Predict what each kit does to the feed line, before any hose is cut.",
    "envelope": "Say where each kit holds over temperature, altitude and loading, and what binds.",
    "sensitivity": "Say what the room to the limit hangs on, and how far it can be off.",
    "cold-start": "Say whether a cold start is fed, and from when on a full load holds.",
    "faults": "Say how faults of the line would read on this vehicle, and which can be told apart.",
    "plan": "Plan the test: order, runs, what they can exclude, what to improve first.",
    "look": "Say what is concluded about log files before anything of them is used.",
    "add-run": "Add a recorded run with its logs to a case.",
    "declare": "Declare the case's margins in its journal, before the first run with a kit.",
    "exclude": "Leave a run out, with the reason that will be printed.",
    "prove": "Decide from the runs: no loss within the margin, a loss, or cannot tell.",
    "archive add": "Add a case's baseline repeats to the workshop's archive of repeatability.",
    "archive show": "Say how well each rig repeats, and whether it is getting worse.",
    "archive withdraw": "Withdraw a session from the archive, with the reason.",
    "archive take-in": "Take an archive's file into the database, whose archive it then is.",
    "archive give-out": "Write the archive in the database as a file, letter by letter.",
    "fit": "Fit line, pump and kits to all runs: what they teach and what follows elsewhere.",
    "protect": "Say which particles reach the pump and the injectors, with and without kits.",
    "service": "Say when elements are changed, and what a gauge may read until then.",
    "choose": "Say which kit is right: a primary, a secondary, both or none.",
    "publish": "Write the report: one HTML page and one PDF.",
    "serve": "Open the screens in a browser on this machine.",
    "correct": "Record that a run's table was corrected after it was added: who and why.",
    "store verify": "Hash again all that was recorded; with --recompute compute results again.",
    "store export": "Write a case as one plain zip for another workshop.",
    "store import": "Unpack such a zip into a new folder, every hash checked.",
    "store remove": "Take a case away; nothing is deleted.",
    "store undo": "Bring back a case that was removed within 30 days.",
    "store cases": "List cases with what they came to; only those that have changed are read.",
    "store reindex": "Make the index of the cases below a folder anew.",
    "store backup": "Copy the database of what crosses cases, also while it is in use.",
    "store restore": "Put a backup in the place of what the database holds.",
    "instrument add": "Keep an instrument with its calibration, or a correction of it.",
    "instrument show": "Say which instruments there are and which are out of calibration.",
    "instrument remove": "Remove an instrument; it can be brought back for 30 days.",
    "mapping show": "List what was learned of instruments' logs: who, when, from what.",
    "mapping forget": "Forget a mapping; it can be brought back for 30 days.",
    "reading add": "Keep a reading of the gauge on a vehicle in use, or a correction of one.",
    "reading show": "List the readings that stand, by day.",
    "reading withdraw": "Withdraw a reading; it can be brought back for 30 days.",
    "settings show": "Give somebody's settings; who has none of his own has the workshop's.",
    "settings set": "Change settings: units, decimal comma, dark mode.",
    "settings unset": "Go back to what the program begins with.",
    "record show": "List what was deleted and can be brought back, and until when.",
    "record undo": "Bring back what was deleted within 30 days.",
    "record purge": "Remove for good what was deleted more than 30 days ago.",
    "schema": "Print the JSON Schema of a document.",
}
GROUPS = {
    "archive": "The workshop's archive of repeatability: its file, or the database's.",
    "store": "Keep, check, move and restore what was recorded.",
    "instrument": "The workshop's instruments and their calibration: add, show, remove.",
    "mapping": "What was learned of instruments' logs: show, forget.",
    "reading": "Readings of the gauge on vehicles in use: add, show, withdraw.",
    "settings": "How things are shown: show, set, unset.",
    "record": "What was deleted from the database: show, undo, purge.",
}
"""Verbs of two words, by their first."""
LOOKING_AHEAD = ("predict", "envelope", "sensitivity", "cold-start", "faults")
"""Verbs that stand in the second file of commands."""
KITS = ("protect", "service")
"""Verbs about what a kit buys and how long it lasts."""
DATABASE = ("store cases", "store reindex", "store backup", "store restore")
"""Verbs of the database of what crosses cases."""
OF_ONE_FILE = ("mapping", "reading", "settings", "record")
"""Groups whose commands stand in a file of their own name."""
HELP = (
    "Predict, test, decide and publish what an add-on diesel fuel filter does to the feed line."
    " The tool advises and authorises nothing; the high-pressure side of the injection system is"
    " out of its scope. Exit codes: 0 done, 1 fault of the program, 2 input that cannot be used,"
    " 3 something needed is not there, 4 nothing could be written, 130 interrupted."
)


def build_app() -> "cyclopts.App":
    """
    Make the command line without importing any verb.

    Returns
    -------
    cyclopts.App
        The application.
    """
    import cyclopts

    from feedproof import __version__

    app = cyclopts.App(
        name="feedproof",
        help=HELP,
        version=__version__,
        help_format="plaintext",
        # It would end the program without a word.
        suppress_keyboard_interrupt=False,
    )
    groups: dict[str, cyclopts.App] = {}
    for name, summary in VERBS.items():
        *group, verb = name.split()
        holder = app
        if group:
            if group[0] not in groups:
                groups[group[0]] = cyclopts.App(name=group[0], help=GROUPS[group[0]])
                app.command(groups[group[0]])
            holder = groups[group[0]]
        holder.command(command_path(name), name=verb, help=summary)
    return app


def command_path(verb: str) -> str:
    """
    Say where a verb's command stands.

    Parameters
    ----------
    verb : str
        As on the command line.

    Returns
    -------
    str
        ``module:function``.
    """
    file = "commands_ahead" if verb in LOOKING_AHEAD else "commands"
    file = "commands_fit" if verb == "fit" else file
    file = "commands_kits" if verb in KITS else file
    file = "commands_choose" if verb == "choose" else file
    file = "commands_plan" if verb == "plan" else file
    file = "commands_look" if verb == "look" else file
    file = "commands_serve" if verb == "serve" else file
    file = "commands_archive" if verb.startswith("archive ") else file
    file = "commands_store" if verb.startswith("store ") or verb == "correct" else file
    group = verb.split()[0]
    file = "commands_store_database" if verb in DATABASE or group == "instrument" else file
    file = f"commands_{group}" if group in OF_ONE_FILE else file
    function = verb.split()[-1].replace("-", "_")
    return f"feedproof.app.{file}:{'import_' if function == 'import' else function}"


def main(arguments: "Sequence[str] | None" = None) -> int:
    """
    Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        Words after the program's name; those of the process when left out.

    Returns
    -------
    int
        Exit code.
    """
    try:
        # The libraries are loaded in here, so that an interrupt while they load is answered too.
        return _run(list(sys.argv[1:] if arguments is None else arguments))
    except KeyboardInterrupt:
        print("interrupted; what was written is whole", file=sys.stderr)
        return INTERRUPTED
    except BrokenPipeError:
        sys.stderr.close()
        return 0


def _run(arguments: list[str]) -> int:
    """Run one verb and tell what was wrong with it."""
    import cyclopts

    from feedproof.core.errors import FeedproofError, InputError

    sys.unraisablehook = interrupt_again
    words = _with_negative_values(arguments)
    _speak_utf8()
    try:
        return int(build_app()(words, exit_on_error=False, result_action="return_value") or 0)
    except cyclopts.CycloptsError:
        # cyclopts has printed what was wrong with the words.
        return InputError.exit_code
    except FeedproofError as problem:
        _print_findings(problem, as_json="--json" in words)
        return problem.exit_code


def interrupt_again(unraisable: "sys.UnraisableHookArgs") -> None:
    """
    Repeat an interrupt that came where nothing can be raised, as in a compiler's callback.

    Parameters
    ----------
    unraisable : sys.UnraisableHookArgs
        What could not be raised; all else is told as ever.
    """
    if not issubclass(unraisable.exc_type, KeyboardInterrupt):
        sys.__unraisablehook__(unraisable)
        return
    import _thread
    import threading

    # A moment later, when the callback is over; inside it the interrupt would be lost again.
    timer = threading.Timer(0.05, _thread.interrupt_main)
    timer.daemon = True
    timer.start()


def _with_negative_values(words: list[str]) -> list[str]:
    """Join an option with a value below zero, which would be taken for another option."""
    import re

    joined: list[str] = []
    for word in words:
        if joined and joined[-1].startswith("--") and re.match(r"-\.?\d", word):
            joined[-1] = f"{joined[-1]}={word}"
        else:
            joined.append(word)
    return joined


def _print_findings(problem: "FeedproofError", *, as_json: bool) -> None:
    """Say what was wrong on standard error, and as a document where one was asked for."""
    if as_json:
        import json

        from feedproof.app.documents import to_document
        from feedproof.app.told import refused

        document = refused(problem.findings, problem.exit_code)
        print(json.dumps(to_document(document), ensure_ascii=False, indent=1))
    for finding in problem.findings:
        print(str(finding), file=sys.stderr)


def _speak_utf8() -> None:
    """Write UTF-8 with a substitute where the console cannot: a sign must never stop a verdict."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None:
            reconfigure(encoding="utf-8", errors="replace")


def entry() -> None:
    """Run as the installed program."""
    sys.exit(main())


if __name__ == "__main__":
    entry()
