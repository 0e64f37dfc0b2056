"""What a line of the archive of repeatability holds, as pydantic models."""

from datetime import datetime
from typing import Annotated, Any, Literal, TypeVar

from pydantic import BaseModel, ConfigDict, Field, ValidationError

from feedproof.case.case import says_invented
from feedproof.case.margin import Measure
from feedproof.evidence.archives.lines import UNITS, RunMark, SessionData, SessionFigure
from feedproof.evidence.archives.repeats import LEAST_RUNS, spread_of_repeats

FORMAT = "feedproof-archive"
VERSION = 1
# Figures are read back from decimal digits; a scatter that differs by more was not worked out
# from the values beside it.
_SAME = 1e-9

Hash = Annotated[str, Field(pattern="^[0-9a-f]{64}$")]
Words = Annotated[str, Field(min_length=1, max_length=500)]
Title = Annotated[str, Field(max_length=500)]
Finite = Annotated[float, Field(allow_inf_nan=False)]
_Kind = TypeVar("_Kind", bound=BaseModel)


class _Part(BaseModel):
    """Part of a line: strict, without keys that it does not know."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class RunPart(_Part):
    """A run by what cannot be changed about it."""

    number: int = Field(ge=1)
    started: datetime
    sha256: Hash
    logs: list[Hash]


class LeftOutPart(_Part):
    """A baseline run that no figure uses."""

    number: int = Field(ge=1)
    reason: Words


class FigurePart(_Part):
    """Scatter of one measure."""

    measure: Literal["wheel_power", "caught_return", "inlet_depression"]
    unit: Words
    replumbed: bool
    runs: list[int] = Field(min_length=LEAST_RUNS)
    places: list[Finite]
    setups: list[Words]
    values: list[Finite]
    standard_deviation: float = Field(gt=0.0, allow_inf_nan=False)
    degrees_of_freedom: int = Field(ge=1)


class SessionPart(_Part):
    """One session's baseline."""

    case: Title
    case_sha256: Hash
    program: Words
    vehicle: Title
    rig: Words
    procedure: Words
    session: Words
    start_m_per_s: Finite
    stop_m_per_s: Finite
    rate_m_per_s2: Finite
    runs: list[RunPart] = Field(min_length=LEAST_RUNS)
    left_out: list[LeftOutPart]
    figures: list[FigurePart] = Field(min_length=1)
    instead_of: Hash | None = None
    # Lines of earlier versions have no such key; then the title of the case tells.
    invented: bool | None = None


class WithdrawalPart(_Part):
    """A session that no longer counts."""

    line: int = Field(ge=1)
    instead_of: Hash


def session_of(data: Any) -> tuple[SessionData, str]:
    """
    Read one session of a line.

    Parameters
    ----------
    data : object
        As the line holds it.

    Returns
    -------
    session : SessionData
        The session.
    instead_of : str
        Hash of the line that it replaces, or empty.

    Raises
    ------
    ValueError
        All that is wrong, in words.
    """
    part = _checked(SessionPart, data)
    faults = [fault for figure in part.figures for fault in _faults_of(figure)]
    faults += [
        f"run {run.number} starts at a time without offset from UTC"
        for run in part.runs
        if run.started.tzinfo is None
    ]
    if faults:
        raise ValueError("; ".join(faults))
    session = SessionData(
        case=part.case,
        case_sha256=part.case_sha256,
        program=part.program,
        vehicle=part.vehicle,
        rig=part.rig,
        procedure=part.procedure,
        session=part.session,
        start_m_per_s=part.start_m_per_s,
        stop_m_per_s=part.stop_m_per_s,
        rate_m_per_s2=part.rate_m_per_s2,
        runs=tuple(
            RunMark(number=run.number, started=run.started, sha256=run.sha256, logs=tuple(run.logs))
            for run in part.runs
        ),
        left_out=tuple((each.number, each.reason) for each in part.left_out),
        figures=tuple(_figure_of(figure) for figure in part.figures),
        invented=says_invented(part.case) if part.invented is None else part.invented,
    )
    return session, part.instead_of or ""


def withdrawal_of(data: Any) -> WithdrawalPart:
    """
    Read a withdrawal.

    Parameters
    ----------
    data : object
        As the line holds it.

    Returns
    -------
    WithdrawalPart
        Which line it takes back.

    Raises
    ------
    ValueError
        All that is wrong, in words.
    """
    return _checked(WithdrawalPart, data)


def body_of(session: SessionData, instead_of: str = "") -> dict[str, Any]:
    """
    Write a session as a line holds it.

    Parameters
    ----------
    session : SessionData
        The session.
    instead_of : str
        Hash of the line that it replaces, or empty.

    Returns
    -------
    dict
        Plain values.

    Raises
    ------
    ValueError
        What `session_of` would not read back.
    """
    body = {
        name: getattr(session, name)
        for name in SessionPart.model_fields
        if name not in ("runs", "left_out", "figures", "instead_of")
    }
    body["runs"] = [
        {
            "number": run.number,
            "started": run.started.isoformat(),
            "sha256": run.sha256,
            "logs": list(run.logs),
        }
        for run in session.runs
    ]
    body["left_out"] = [{"number": n, "reason": reason} for n, reason in session.left_out]
    body["figures"] = [
        {
            "measure": figure.measure.value,
            "unit": figure.unit,
            "replumbed": figure.replumbed,
            "runs": list(figure.runs),
            "places": list(figure.places),
            "setups": list(figure.setups),
            "values": list(figure.values),
            "standard_deviation": figure.standard_deviation,
            "degrees_of_freedom": figure.degrees_of_freedom,
        }
        for figure in session.figures
    ]
    body["instead_of"] = instead_of or None
    session_of(body)
    return body


def _figure_of(part: FigurePart) -> SessionFigure:
    """Make a figure."""
    return SessionFigure(
        measure=Measure(part.measure),
        unit=part.unit,
        replumbed=part.replumbed,
        runs=tuple(part.runs),
        places=tuple(part.places),
        setups=tuple(part.setups),
        values=tuple(part.values),
        standard_deviation=part.standard_deviation,
        degrees_of_freedom=part.degrees_of_freedom,
    )


def _faults_of(figure: FigurePart) -> list[str]:
    """Hold a figure against its unit and against the values that it was worked out from."""
    where = figure.measure
    unit = UNITS[Measure(where)]
    if figure.unit != unit:
        return [f"{where} is in {figure.unit!r}; it must be in {unit!r}"]
    if len({len(figure.runs), len(figure.places), len(figure.setups), len(figure.values)}) != 1:
        return [f"{where}: runs, places, setups and values are not of one length"]
    if len(set(figure.runs)) != len(figure.runs):
        return [f"{where}: a run is named twice"]
    found = spread_of_repeats(figure.values, figure.places, figure.setups)
    if isinstance(found, str):
        return [f"{where}: {found}"]
    stated = figure.standard_deviation
    same = abs(found.standard_deviation - stated) <= _SAME * stated
    facts = (found.degrees_of_freedom, found.replumbed)
    if not same or facts != (figure.degrees_of_freedom, figure.replumbed):
        return [
            f"{where}: states {stated:.6g} with {figure.degrees_of_freedom} degrees of freedom; its"
            f" values give {found.standard_deviation:.6g} with {found.degrees_of_freedom}"
        ]
    return []


def _checked(kind: type[_Kind], data: Any) -> _Kind:
    """Read a part, or say in words what is wrong with it."""
    try:
        return kind.model_validate(data)
    except ValidationError as fault:
        raise ValueError(
            "; ".join(
                f"{'.'.join(map(str, each['loc'])) or 'line'}: {each['msg']}"
                for each in fault.errors()
            )
        ) from None
