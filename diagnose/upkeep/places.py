"""Where the log of a command lies, and files made for the person: new ones only, for nobody else to read."""

import os
from collections.abc import Callable, Iterator, Mapping
from contextlib import closing, contextmanager, nullcontext
from datetime import datetime
from pathlib import Path
from typing import TextIO

from diagnose.errors import DiagnoseError
from diagnose.logbook import Logbook, default_path

NOTHING_LOGGED = "Nothing logged yet"


def log_place(named: str | None, environ: Mapping[str, str], platform: str) -> Path:
    """Return the log named on the command line, or the one by default. Raises LogError where no place is known."""
    return Path(named) if named else default_path(environ, platform)


def logged(path: Path) -> bool:
    """Return whether something stands where the log should; what cannot be looked at is left for opening to explain."""
    try:
        path.stat()
    except FileNotFoundError:
        return False
    except (OSError, ValueError):
        return True
    return True


def nothing_at(path: Path) -> str:
    """Return the sentence for a log that is not there yet."""
    return f"{NOTHING_LOGGED}: there is no log at {path}. It begins with the first shot told in the chat."


def reading(path: Path, clock: Callable[[], datetime]) -> "closing[Logbook] | nullcontext[None]":
    """Return the log at `path` opened for a `with` block, or None in it where there is no log yet. Raises LogError."""
    return closing(Logbook.open_existing(path, clock)) if logged(path) else nullcontext()


@contextmanager
def new_file(path: Path) -> Iterator[TextIO]:
    """Open a new file with mode 0600 for writing; take it away again if the block fails.

    Raises DiagnoseError where the file is there already or cannot be written.
    """
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        raise DiagnoseError(
            f"{path} is there already and was left as it is. Name a file that does not exist yet."
        ) from None
    except OSError as error:
        raise _unwritable(path, error) from None
    try:
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            yield file
    except BaseException as error:
        path.unlink()
        if isinstance(error, OSError):
            raise _unwritable(path, error) from None
        raise


def _unwritable(path: Path, error: OSError) -> DiagnoseError:
    return DiagnoseError(
        f"{path} cannot be written ({error.strerror or error}). Name a file in a folder you may write to."
    )
