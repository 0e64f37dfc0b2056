"""
A process that keeps field readings and says on standard output which ones were acknowledged.

Run as ``python -m tests.reliability.store_writer ADDRESS NAME [SECONDS]``.
"""

import sys
import time
from datetime import date

from feedproof.core.errors import WriteError
from feedproof.records.store.kinds import FieldReading
from feedproof.records.store.rows import Signed
from feedproof.records.store.store import Store


def reading_of(name: str, number: int) -> FieldReading:
    """Make a reading that says whose and which one it is, in two columns."""
    return FieldReading(
        vehicle=f"{name} {number}",
        check_point="invented " + "x" * (number % 700),
        read_on=date(2026, 1, 1),
        depression_pa=float(number),
        depression_text=f"{number} Pa",
    )


def main(address: str, name: str, seconds: float = 1e9) -> None:
    """Write until the time is over, the disk is full or the process is killed."""
    number = 0
    with Store.open(address) as store:
        until = time.monotonic() + seconds
        while time.monotonic() < until:
            number += 1
            try:
                row = store.keep_reading(reading_of(name, number), Signed(who=name))
            except WriteError as fault:
                print(f"refused {fault}", flush=True)
                return
            print(f"{number} {row.sha256}", flush=True)


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], float(sys.argv[3]) if len(sys.argv) > 3 else 1e9)
