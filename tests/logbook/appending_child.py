"""Appends rows to the log named on the command line and acknowledges each one on standard output.

``appending_child.py FILE FIRST COUNT``: shots with the numbers FIRST to FIRST + COUNT - 1.
"""

import os
import sys
from datetime import UTC, datetime
from pathlib import Path

from diagnose.logbook import Logbook, PulledShot


def main(path: Path, first: int, count: int) -> None:
    """Write the number of each shot after `add_shot` has returned."""
    with Logbook.open(path, lambda: datetime.now(UTC)) as log:
        for number in range(first, first + count):
            log.add_shot(PulledShot(number, text="sour and thin " * 20))
            os.write(1, f"{number}\n".encode())


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3]))
