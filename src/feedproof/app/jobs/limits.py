"""What jobs may take."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """
    What jobs may take.

    Parameters
    ----------
    processes : int
        Computing at a time.
    memory_mb : int or None
        Of a job, beyond what its process holds already; on Linux only. [MiB]
    time_s : float or None
        Of a job. [s]
    grace_s : float
        How long a job that was cancelled may take to stop by itself. [s]
    waiting : int
        Jobs that may wait.
    kept : int
        Ended jobs that are kept.
    kept_mb : int
        What ended jobs may take on disk. [MiB]
    renew_mb : int
        A process that ever held more is replaced after its job. [MiB]
    """

    processes: int = 2
    memory_mb: int | None = 4096
    time_s: float | None = 1800.0
    grace_s: float = 2.0
    waiting: int = 100
    kept: int = 200
    kept_mb: int = 1024
    renew_mb: int = 1500
