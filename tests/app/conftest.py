"""The packaged demonstration case, copied once, with its logs read and its runs judged once."""

from collections.abc import Mapping
from pathlib import Path
from types import SimpleNamespace

import pytest

from feedproof.app import api
from feedproof.app.logs import load_logs
from feedproof.app.proof import Proof
from feedproof.app.proving import prove_case
from feedproof.case.case import Case
from feedproof.case.log import Log
from feedproof.case.margin import Measure
from feedproof.case.outcome import Outcome, Verdict
from feedproof.records.folder import CaseFolder


@pytest.fixture(scope="session")
def demo(tmp_path_factory: pytest.TempPathFactory) -> SimpleNamespace:
    """Give folder, case, logs and proof of the demonstration."""
    folder = CaseFolder(api.PACKAGED_DEMO).copy_to(tmp_path_factory.mktemp("demo") / "case")
    loaded = folder.load()
    logs, _ = load_logs(folder, loaded.case)
    proof = prove_case(loaded.case, logs, loaded.sha256)
    return SimpleNamespace(folder=folder, case=loaded.case, logs=logs, proof=proof)


def verdict_of(proof: Proof, configuration: str) -> Verdict:
    """Find a verdict."""
    return next(each for each in proof.verdicts if each.configuration == configuration)


def outcome_of(proof: Proof, configuration: str, measure: Measure) -> Outcome:
    """Find an outcome."""
    verdict = verdict_of(proof, configuration)
    return next(each for each in verdict.outcomes if each.measure is measure)


def judged(case: Case, logs: Mapping[int, list[Log]]) -> Proof:
    """Judge a changed case."""
    return prove_case(case, logs, "0" * 64)


def copied(folder: CaseFolder, target: Path) -> CaseFolder:
    """Copy a case for a test that changes it."""
    return folder.copy_to(target)
