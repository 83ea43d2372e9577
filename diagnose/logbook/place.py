"""Where the log lies when nobody names a file."""

from collections.abc import Mapping
from pathlib import Path, PurePosixPath

from diagnose.errors import LogError

VARIABLE = "DIAGNOSE_LOG"


def default_path(environ: Mapping[str, str], platform: str) -> Path:
    """Return the log's file: DIAGNOSE_LOG if set, else ``diagnose/log.sqlite3`` in the user's data folder.

    `platform` is spelt as in `sys.platform`. The data folder is %LOCALAPPDATA% on Windows, ~/Library/Application
    Support on macOS, and elsewhere XDG_DATA_HOME or ~/.local/share (XDG Base Directory Specification 0.8, which also
    says that a relative XDG_DATA_HOME is to be ignored). Raises LogError if the home folder is not known.
    """
    named = environ.get(VARIABLE, "")
    if named:
        return _expanded(named, environ, platform)
    return _data_folder(environ, platform) / "diagnose" / "log.sqlite3"


def _data_folder(environ: Mapping[str, str], platform: str) -> Path:
    if platform == "win32":
        local = environ.get("LOCALAPPDATA", "")
        return Path(local) if local else _home(environ, platform) / "AppData" / "Local"
    if platform == "darwin":
        return _home(environ, platform) / "Library" / "Application Support"
    shared = environ.get("XDG_DATA_HOME", "")
    # Asked of the POSIX flavour by name, so that the answer depends on `platform` and not on the machine.
    if PurePosixPath(shared).is_absolute():
        return Path(shared)
    return _home(environ, platform) / ".local" / "share"


def _expanded(named: str, environ: Mapping[str, str], platform: str) -> Path:
    """Return `named` with a leading ``~/`` resolved: shells leave it alone inside quotes and environment files."""
    return _home(environ, platform) / named[2:] if named.startswith("~/") else Path(named)


def _home(environ: Mapping[str, str], platform: str) -> Path:
    home = environ.get("USERPROFILE" if platform == "win32" else "HOME", "")
    if home:
        return Path(home)
    raise LogError(
        "No place for the log: the environment names no home folder. "
        f"Name a file with --log FILE or {VARIABLE}, or go on without a log with --no-log."
    )
