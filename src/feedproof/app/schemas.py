"""The JSON Schemas of all documents that the program reads and writes."""

from typing import Any

from feedproof.app.api_look import LookReport
from feedproof.app.archive_result import ArchiveReport
from feedproof.app.choice_result import Choice
from feedproof.app.cold_starting import ColdReport
from feedproof.app.documents import schema_of
from feedproof.app.edit_requests import edit_schema
from feedproof.app.edit_result import EditResult, EditState
from feedproof.app.faulting import FaultTable
from feedproof.app.fit_result import LineFit
from feedproof.app.plan_result import SessionPlan
from feedproof.app.predicting import Prediction
from feedproof.app.proof import Proof
from feedproof.app.protecting import Protection
from feedproof.app.record_result import (
    MappingReport,
    ReadingReport,
    RecordReport,
    SettingsReport,
)
from feedproof.app.run_reading import RunReading
from feedproof.app.sensitivity_result import Sensitivity
from feedproof.app.service_result import ServicePlan
from feedproof.app.store_result import CaseList, InstrumentReport, Reindexed
from feedproof.app.store_told import StoreVerified
from feedproof.app.surveying import Survey
from feedproof.app.told import Checked, Demonstrated, Refused, Written
from feedproof.app.what_if_document import WhatIfReport
from feedproof.core.errors import InputError
from feedproof.records.editing.forms import Form
from feedproof.records.schema import case_schema

KINDS: dict[str, type] = {
    "prediction": Prediction,
    "proof": Proof,
    "fit": LineFit,
    "protection": Protection,
    "service": ServicePlan,
    "choice": Choice,
    "plan": SessionPlan,
    "archive": ArchiveReport,
    "look": LookReport,
    "run": RunReading,
    "what-if": WhatIfReport,
    "envelope": Survey,
    "faults": FaultTable,
    "sensitivity": Sensitivity,
    "cold-start": ColdReport,
    "verified": StoreVerified,
    "index": Reindexed,
    "instruments": InstrumentReport,
    "cases": CaseList,
    "mappings": MappingReport,
    "readings": ReadingReport,
    "settings": SettingsReport,
    "records": RecordReport,
    "edited": EditResult,
    "edit-state": EditState,
    "form": Form,
    "check": Checked,
    "written": Written,
    "demo": Demonstrated,
    "findings": Refused,
}
"""What each document is made of, by its name."""


def schema(document: str) -> dict[str, Any]:
    """
    Give the JSON Schema of a document.

    Parameters
    ----------
    document : str
        ``case``, ``prediction``, ``envelope``, ``faults``, ``sensitivity``, ``cold-start``,
        ``proof``, ``fit``, ``protection``, ``service``, ``choice``, ``plan``, ``archive``,
        ``look``, ``run``, ``what-if``, ``verified``, ``index``, ``instruments``, ``cases``,
        ``mappings``, ``readings``, ``settings``, ``records``, ``edit`` (what an editor asks for),
        ``edited``, ``edit-state``, ``form``, ``check``, ``written``, ``demo`` or ``findings``.

    Returns
    -------
    dict
        JSON Schema, draft 2020-12.

    Raises
    ------
    InputError
        No such document.
    """
    if document == "case":
        return case_schema()
    if document == "edit":
        return edit_schema()
    if document not in KINDS:
        raise InputError.at(
            "schema",
            f"there is no document {document!r}.",
            f"There are: case, edit, {', '.join(KINDS)}.",
        )
    return schema_of(KINDS[document])
