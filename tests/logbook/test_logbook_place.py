"""Where the log lies by default."""

from pathlib import Path

import pytest

from diagnose.errors import LogError
from diagnose.logbook import default_path


@pytest.mark.parametrize(
    ("environ", "platform", "expected"),
    [
        # XDG Base Directory Specification 0.8: $XDG_DATA_HOME, by default $HOME/.local/share; unset or empty alike.
        ({"HOME": "/home/ada"}, "linux", "/home/ada/.local/share/diagnose/log.sqlite3"),
        ({"HOME": "/home/ada", "XDG_DATA_HOME": ""}, "linux", "/home/ada/.local/share/diagnose/log.sqlite3"),
        ({"HOME": "/home/ada", "XDG_DATA_HOME": "/data"}, "linux", "/data/diagnose/log.sqlite3"),
        ({"XDG_DATA_HOME": "/data"}, "freebsd14", "/data/diagnose/log.sqlite3"),
        # Same specification: all paths must be absolute, a relative one is invalid and to be ignored.
        ({"HOME": "/home/ada", "XDG_DATA_HOME": "data"}, "linux", "/home/ada/.local/share/diagnose/log.sqlite3"),
        # File System Programming Guide of that platform: what a program keeps goes to Library/Application Support.
        (
            {"HOME": "/Users/ada", "XDG_DATA_HOME": "/data"},
            "darwin",
            "/Users/ada/Library/Application Support/diagnose/log.sqlite3",
        ),
        # Known folder FOLDERID_LocalAppData: %LOCALAPPDATA%, by default %USERPROFILE%\AppData\Local.
        ({"LOCALAPPDATA": "C:/Users/ada/Local"}, "win32", "C:/Users/ada/Local/diagnose/log.sqlite3"),
        ({"USERPROFILE": "C:/Users/ada"}, "win32", "C:/Users/ada/AppData/Local/diagnose/log.sqlite3"),
    ],
)
def test_the_log_lies_in_the_platforms_folder_for_a_users_data(
    environ: dict[str, str], platform: str, expected: str
) -> None:
    """Each platform has its own convention for data that programs keep for a user."""
    assert default_path(environ, platform) == Path(expected)


@pytest.mark.parametrize("platform", ["linux", "darwin", "win32"])
def test_diagnose_log_goes_before_every_convention(platform: str) -> None:
    """DIAGNOSE_LOG names the file itself, on every platform."""
    environ = {"DIAGNOSE_LOG": "bar/log.db", "HOME": "/home/ada", "XDG_DATA_HOME": "/data", "LOCALAPPDATA": "C:/x"}
    assert default_path(environ, platform) == Path("bar/log.db")


def test_a_tilde_in_diagnose_log_is_the_home_folder() -> None:
    """Inside quotes the shell leaves ~/ alone, so it is resolved here."""
    assert default_path({"DIAGNOSE_LOG": "~/coffee.db", "HOME": "/home/ada"}, "linux") == Path("/home/ada/coffee.db")


def test_without_a_home_folder_the_message_says_how_to_name_a_file() -> None:
    """Service accounts may have no home; the error names the ways out."""
    with pytest.raises(LogError, match=r"--log FILE or DIAGNOSE_LOG.*--no-log"):
        default_path({}, "linux")
