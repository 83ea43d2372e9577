"""The file's format as numbered SQL steps. A step that has been released is never edited; a change is a new step.

One table holds every row in the order of writing. Triggers refuse UPDATE and DELETE for every program that opens
the file. `body` is the row's content as JSON (see `transfer` for its fields); the other columns repeat what queries
need. `instant` counts microseconds since 1970-01-01 UTC, so that rows sort by time whatever their offset.
"""

# Written into the file's header, so that neither we nor the `file` command take another program's file for a log.
APPLICATION_ID = 0x44474C42

_ENTRIES = (
    """
    CREATE TABLE entries (
        id INTEGER PRIMARY KEY,
        uid TEXT NOT NULL UNIQUE,
        kind TEXT NOT NULL,
        at TEXT NOT NULL,
        instant INTEGER NOT NULL,
        about INTEGER REFERENCES entries (id),
        subject TEXT,
        dial REAL,
        dose REAL,
        time REAL,
        body TEXT NOT NULL,
        CHECK (kind <> 'retraction' OR about IS NOT NULL)
    )
    """,
    """
    CREATE TRIGGER entries_stay_as_said BEFORE UPDATE ON entries
    BEGIN SELECT RAISE(ABORT, 'the log only grows: add a retraction instead'); END
    """,
    """
    CREATE TRIGGER entries_stay BEFORE DELETE ON entries
    BEGIN SELECT RAISE(ABORT, 'the log only grows: add a retraction instead'); END
    """,
)

# `standing` is what queries read: rows not withdrawn, and no verdict on an adjustment that was.
_STANDING = (
    "CREATE INDEX entries_by_time ON entries (kind, instant)",
    "CREATE INDEX entries_by_subject ON entries (kind, subject, instant)",
    "CREATE INDEX shots_by_coffee_and_dial ON entries (subject, dial, instant, time) WHERE kind = 'shot'",
    "CREATE INDEX shots_by_dial ON entries (dial, instant) WHERE kind = 'shot'",
    "CREATE INDEX retractions ON entries (about) WHERE kind = 'retraction'",
    """
    CREATE VIEW standing AS
    SELECT * FROM entries AS said
    WHERE kind <> 'retraction'
      AND NOT EXISTS (SELECT 1 FROM entries AS r WHERE r.kind = 'retraction' AND r.about = said.id)
      AND NOT EXISTS (SELECT 1 FROM entries AS r WHERE r.kind = 'retraction' AND r.about = said.about)
    """,
)

# Step n takes a file from version n - 1 to version n; an empty file is version 0.
STEPS: tuple[tuple[str, ...], ...] = (_ENTRIES, _STANDING)
