"""What a case's runs are to be judged as: sets of kits, and what the runs were for."""

from feedproof.case.case import Case
from feedproof.case.run import Role
from feedproof.evidence.trial import BASELINE


def candidates(case: Case) -> tuple[tuple[tuple[str, ...], Role], ...]:
    """
    Give what is to be judged: each set of kits with what its runs were for.

    Parameters
    ----------
    case : Case
        With its runs.

    Returns
    -------
    tuple of (kit ids, Role)
        In the order of the runs.
    """
    seen = [(run.kits, run.role) for run in case.runs if run.kits and run.role is not Role.WARM_UP]
    return tuple(dict.fromkeys(seen))


def label(kits: tuple[str, ...], role: Role) -> str:
    """
    Name what is judged; a loaded element is told apart from a clean one.

    Parameters
    ----------
    kits : tuple of str
        Kit ids.
    role : Role
        What the runs are for.

    Returns
    -------
    str
        Such as ``secondary`` or ``secondary@loaded``.
    """
    name = "+".join(kits) if kits else BASELINE
    return f"{name}@loaded" if role is Role.LOADED else name
