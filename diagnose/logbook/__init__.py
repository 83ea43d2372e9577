"""What the assistant remembers: shots, facts, adjustments, verdicts, care and coffees, in one SQLite file.

The log only grows. Nothing said is changed or deleted: undo and correction add a retraction that points at the row
it withdraws, and every query looks past withdrawn rows. `Logbook` is the way in; the rest are the values it takes
and gives.
"""

from diagnose.logbook.book import Logbook
from diagnose.logbook.contents import (
    Adjustment,
    Care,
    Coffee,
    Content,
    Entry,
    Fact,
    JsonValue,
    PulledShot,
    Reason,
    Retraction,
)
from diagnose.logbook.place import default_path
from diagnose.logbook.transfer import Imported, LineProblem

__all__ = [
    "Adjustment",
    "Care",
    "Coffee",
    "Content",
    "Entry",
    "Fact",
    "Imported",
    "JsonValue",
    "LineProblem",
    "Logbook",
    "PulledShot",
    "Reason",
    "Retraction",
    "default_path",
]
