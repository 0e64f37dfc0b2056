"""What the verb ``service`` says, as values."""

from dataclasses import dataclass

from feedproof.core.findings import Finding
from feedproof.kits.check_values import CheckBand, CheckValues
from feedproof.kits.service import Fan, Interval, Life


@dataclass(frozen=True, slots=True, kw_only=True)
class ServicedConfiguration:
    """
    One configuration over its life.

    Parameters
    ----------
    configuration : str
        ``baseline`` or kits joined by ``+``.
    guard_pa : float
        What is kept from the maker's limit, since the prediction may be off. [Pa]
    too_restricted : bool
        True when the clean line breaks a limit under a declared worst condition: then there is
        neither life nor check value.
    check : CheckValues or None
        What the gauge may read; None where the line could not be asked, or has no element.
    life : Life or None
        Spread of life; None without elements that load, or where it cannot be followed.
    interval : Interval or None
        When elements are changed.
    reached_fraction : float or None
        Share of the drawn vehicles that get there before the line is at its limit. [-]
    fan : Fan or None
        Readings along the distance, with fuel at `fan_temperature_k`.
    fan_temperature_k : float
        The reference temperature. [K]
    fan_band : CheckBand or None
        The row of the check values that it falls into.
    dirt_shares : mapping of str to float
        Share of the captured dirt that each element holds. [-]
    why_not : str
        Why there is no life, if there is none.
    """

    configuration: str
    guard_pa: float
    too_restricted: bool
    check: CheckValues | None
    life: Life | None
    interval: Interval | None
    reached_fraction: float | None
    fan: Fan | None
    fan_temperature_k: float
    fan_band: CheckBand | None
    dirt_shares: dict[str, float]
    why_not: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ServicePlan:
    """
    What ``service`` says.

    Parameters
    ----------
    format, version, program : str, int, str
        ``feedproof-service``, its version, and the version of the program.
    title, note, vehicle : str
        From the case.
    limit_abs_pa : float or None
        The pump maker's limit. [Pa]
    worst : tuple of str
        Names of the declared worst conditions.
    configurations : tuple of ServicedConfiguration
        The baseline first.
    findings : tuple of Finding
        What is assumed, and what must be known.
    """

    format: str
    version: int
    program: str
    title: str
    note: str
    vehicle: str
    limit_abs_pa: float | None
    worst: tuple[str, ...]
    configurations: tuple[ServicedConfiguration, ...]
    findings: tuple[Finding, ...]
