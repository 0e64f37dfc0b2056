"""
What each verb may be asked, as plain JSON, and every mistake of it at once.

Names are those of the verbs' functions.  Quantities stay text with a unit: the verbs read them
as they read the words of the command line.  Files are named within the workspace only.
"""

import json
from collections.abc import Mapping
from typing import Annotated, Any, ClassVar

from pydantic import BaseModel, ConfigDict, Field, StringConstraints, ValidationError

from feedproof.core.errors import InputError
from feedproof.core.findings import Finding, error

Word = Annotated[str, StringConstraints(min_length=1, max_length=200)]
Words = Annotated[tuple[Word, ...], Field(max_length=100)]
File = Annotated[str, StringConstraints(min_length=1, max_length=1000)]


class Asked(BaseModel):
    """What a verb may be asked; this one takes nothing."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True)
    FILES: ClassVar[tuple[str, ...]] = ()
    """Parameters that name files."""


class OfConditions(Asked):
    """Conditions that differ from the reference, as `feedproof.app.asking` reads them."""

    fuel: Word | None = None
    fuel_temp: Word | None = None
    altitude: Word | None = None
    ambient_pressure: Word | None = None
    level: Word | None = None
    pitch: Word | None = None
    loading: Words = ()


class OfPredict(OfConditions):
    """As `feedproof.app.api.predict`."""

    kits: Words | None = None


class OfEnvelope(Asked):
    """As `feedproof.app.api.envelope`."""

    kits: Words | None = None
    fuel: Word | None = None


class OfFaults(OfConditions):
    """As `feedproof.app.api.faults`."""

    kits: Words = ()


class OfSensitivity(OfPredict):
    """As `feedproof.app.api.sensitivity`."""

    samples: int | None = Field(default=None, ge=2, le=2**20)
    seed: int | None = Field(default=None, ge=0, le=2**63 - 1)


class OfColdStart(Asked):
    """As `feedproof.app.api.cold_start`."""

    kits: Words | None = None
    fuel: Word | None = None
    soak: Word | None = None
    ambient: Word | None = None
    altitude: Word | None = None
    ambient_pressure: Word | None = None
    sea_level_pressure: Word | None = None
    level: Word | None = None


class OfFit(OfConditions):
    """As `feedproof.app.api.fit`."""

    keep: bool = False


class OfProve(Asked):
    """As `feedproof.app.api.prove`."""

    FILES: ClassVar[tuple[str, ...]] = ("archive",)
    archive: File | None = None


class OfPlan(OfProve):
    """As `feedproof.app.api.plan`."""

    kits: Words | None = None
    chance: float = Field(default=90.0, allow_inf_nan=False)
    runs_each: int | None = Field(default=None, ge=1, le=1000)
    replumbed: bool | None = None


class OfProtect(Asked):
    """As `feedproof.app.api.protect`."""

    kits: Words | None = None
    bad_fuel: Word | None = None


class OfService(Asked):
    """As `feedproof.app.api.service`."""

    kits: Words | None = None
    samples: int | None = Field(default=None, ge=2, le=2**20)


class OfChoose(Asked):
    """As `feedproof.app.api.choose`."""

    FILES: ClassVar[tuple[str, ...]] = ("catalogue",)
    catalogue: File | None = None
    at_least: Word | None = None
    water: bool = False
    space: Word | None = None
    most_cost: float | None = Field(default=None, allow_inf_nan=False)
    joint_cost: float | None = Field(default=None, allow_inf_nan=False)
    change_cost: float | None = Field(default=None, allow_inf_nan=False)
    halving_worth: float | None = Field(default=None, allow_inf_nan=False)
    baseline_share: Word | None = None
    currency: Word | None = None
    leave_out: Words = ()


class OfPublish(OfProve):
    """As `feedproof.app.api.publish`; the report goes into the case's own folder."""

    force: bool = False


class OfAddRun(Asked):
    """As `feedproof.app.api.add_run`: the run as ``case.toml`` holds it, and its logs."""

    FILES: ClassVar[tuple[str, ...]] = ("logs",)
    run: dict[str, Any]
    logs: dict[Word, File] = Field(min_length=1, max_length=50)
    who: Word = "operator"
    learn: bool = True


class OfLook(Asked):
    """As `feedproof.app.api.look`; with an instrument, it is one of the case's."""

    FILES: ClassVar[tuple[str, ...]] = ("files",)
    files: Annotated[tuple[File, ...], Field(min_length=1, max_length=100)]
    instrument: Word | None = None
    hints: dict[Word, Word] = Field(default_factory=dict)
    confirmed_by: Word | None = None


class OfStoreVerify(Asked):
    """As `feedproof.app.api.store_verify`."""

    recompute: bool = False


class OfStoreFile(Asked):
    """As `feedproof.app.api.store_export` and ``store_import``: the bundle."""

    FILES: ClassVar[tuple[str, ...]] = ("file",)
    file: File


def parsed(model: type[Asked], parameters: Mapping[str, Any]) -> Asked:
    """
    Read parameters.

    Parameters
    ----------
    model : type
        Of the verb.
    parameters : mapping
        Plain JSON.

    Returns
    -------
    Asked
        Checked; what was left out has its default.

    Raises
    ------
    InputError
        Every mistake of form at once; what hangs on the case is said by the verb.
    """
    try:
        # As JSON, where a list is what a tuple is written as; else nothing is converted.
        return model.model_validate_json(json.dumps(parameters, allow_nan=False))
    except ValidationError as faults:
        names = ", ".join(model.model_fields) or "none"
        told = [_told(fault, names) for fault in faults.errors(include_url=False)]
        raise InputError(told) from faults
    except (TypeError, ValueError, RecursionError) as fault:
        raise InputError.at(
            "parameters", f"are no JSON: {fault}.", "Send an object with finite numbers."
        ) from fault


def _told(fault: Any, names: str) -> Finding:
    """Say one mistake in the words of the project."""
    place = ".".join(("parameters", *map(str, fault["loc"])))
    if fault["type"] == "extra_forbidden":
        return error(place, "is no parameter of this verb.", f"There are: {names}.")
    if fault["type"] == "missing":
        return error(place, "is missing.", "Give it.")
    found = repr(fault["input"])
    short = found if len(found) <= 80 else f"{found[:77]}..."
    return error(place, f"{short} cannot be used.", f"{fault['msg']}.")
