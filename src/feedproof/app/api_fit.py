"""The verb ``fit`` as a function."""

from dataclasses import replace
from pathlib import Path
from typing import Any

from feedproof.app.keeping import Call, keep_result
from feedproof.app.logs import load_logs
from feedproof.app.progress import Progress, silent
from feedproof.records.folder import CaseFolder


def fit(path: Path, *, keep: bool = False, progress: Progress = silent, **asked: Any) -> Any:
    """
    Fit the line, the pump and the kits to all runs of a case.

    Parameters
    ----------
    path : Path
        Folder of the case.
    keep : bool
        Keep draws of the parameters in the result.
    progress : Progress
        Told how far the work is.
    **asked
        Options of `feedproof.app.asking.conditions_asked`: conditions that are predicted beside
        the reference and the worst ones.

    Returns
    -------
    LineFit
        What was learned, what was not, and the predictions; a copy is kept among the case's
        results.
    """
    from feedproof.app.asking import conditions_asked
    from feedproof.app.fitting import fit_case

    folder = CaseFolder.open(path)
    loaded = folder.load()
    changes = conditions_asked(loaded.case, **asked)
    more = replace(loaded.case.reference, **changes, name="as asked") if changes else None
    logs, told = load_logs(folder, loaded.case, progress)
    findings = (*loaded.findings, *(finding for finding in told if finding.level != "note"))
    found = fit_case(
        loaded.case, logs, loaded.sha256, findings, asked=more, keep=keep, progress=progress
    )
    call = Call(verb="fit", parameters={"keep": keep, **asked}, reads_logs=True)
    keep_result(folder, loaded, "fit", found, call)
    return found
