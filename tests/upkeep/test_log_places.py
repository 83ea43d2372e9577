"""Files made for the person are new, private, and whole or not there."""

import stat
from pathlib import Path

import pytest

from diagnose.errors import DiagnoseError
from diagnose.upkeep.lines import listed, paragraph, row
from diagnose.upkeep.places import log_place, logged, new_file


def test_a_new_file_is_for_nobody_else(tmp_path: Path) -> None:
    """Mode 0600 from its first byte."""
    with new_file(tmp_path / "new") as file:
        file.write("a\n")
        assert stat.S_IMODE((tmp_path / "new").stat().st_mode) == 0o600
    assert (tmp_path / "new").read_bytes() == b"a\n"


@pytest.mark.parametrize("fault", [OSError(28, "No space left on device"), ValueError("odd"), KeyboardInterrupt()])
def test_half_a_file_is_taken_away(tmp_path: Path, fault: BaseException) -> None:
    """Whatever went wrong; a failing disk is said as a message."""
    expected = DiagnoseError if isinstance(fault, OSError) else type(fault)

    def fail() -> None:
        with new_file(tmp_path / "new") as file:
            file.write("half")
            raise fault

    with pytest.raises(expected) as raised:
        fail()
    assert list(tmp_path.iterdir()) == []
    assert ("No space left on device" in str(raised.value)) == isinstance(fault, OSError)


def test_what_cannot_be_looked_at_is_left_for_opening_to_explain(tmp_path: Path) -> None:
    """Only a place where nothing stands counts as no log yet."""
    (tmp_path / "file").write_text("x", "utf-8")
    assert logged(tmp_path / "file")
    assert logged(tmp_path / "file" / "below")
    assert logged(Path("zero\0byte"))
    assert not logged(tmp_path / "missing")
    (tmp_path / "link").symlink_to(tmp_path / "missing")
    assert not logged(tmp_path / "link")


def test_the_place_named_goes_before_the_environment() -> None:
    """--log before DIAGNOSE_LOG."""
    environ = {"DIAGNOSE_LOG": "/other/log", "HOME": "/home/ada"}
    assert log_place("mine", environ, "linux") == Path("mine")
    assert log_place(None, environ, "linux") == Path("/other/log")


@pytest.mark.parametrize(
    ("cells", "expected"),
    [
        (["a", "1"], ["a          1"]),
        (["words that run over", "1"], ["words          1", "that run", "over"]),
        (["", ""], [""]),
        (["unbreakableword", "12"], ["unbreaka      12", "bleword"]),
    ],
)
def test_a_long_cell_runs_on_below_itself(cells: list[str], expected: list[str]) -> None:
    """Widths hold; a negative one sets to the right."""
    assert row(cells, (8, -6))[0].split() == expected[0].split()
    assert [line.strip() for line in row(cells, (8, -6))[1:]] == expected[1:]
    assert all(len(line) <= 16 for line in row(cells, (8, -6)))


def test_words_make_a_list_and_texts_a_paragraph() -> None:
    """As in a sentence; an empty text is an empty line."""
    assert [listed(["a"]), listed("ab"), listed("abc")] == ["a", "a or b", "a, b or c"]
    assert paragraph("") == [""]
    assert max(map(len, paragraph("word " * 99, 4, 2))) <= 80
