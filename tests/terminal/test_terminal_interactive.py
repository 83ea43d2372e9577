"""The chat at a terminal, driven by keys through prompt_toolkit's pipe input.

Key and control sequences are those of ECMA-48 and of xterm ("XTerm Control Sequences": paste, mouse, screens).
"""

import io
import shutil
import stat
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from prompt_toolkit.application import create_app_session
from prompt_toolkit.data_structures import Size
from prompt_toolkit.input import PipeInput, create_pipe_input
from prompt_toolkit.output import ColorDepth, DummyOutput, Output
from prompt_toolkit.output.vt100 import Vt100_Output
from prompt_toolkit.styles import Attrs

from diagnose.conversation.reply import Reply
from diagnose.errors import OutOfRange
from diagnose.model import Answer, NextStep, Setting
from diagnose.rulebase.base import RuleBase
from diagnose.terminal.interactive import chat
from diagnose.terminal.words import Words

ENTER, TAB, UP, LEFT, BACKSPACE = "\r", "\t", "\x1b[A", "\x1b[D", "\x7f"
CTRL_C, CTRL_D, CTRL_R = "\x03", "\x04", "\x12"
PASTE, PASTED = "\x1b[200~", "\x1b[201~"


class Screen(DummyOutput):
    """Remembers what was written, and which of it in bold."""

    def __init__(self) -> None:
        """Start with an empty screen of 80 columns."""
        self.columns = 80
        self.text = ""
        self.bold = ""
        self._is_bold = False

    def write(self, data: str) -> None:
        """Write text, whatever the line end."""
        data = data.replace("\r", "")
        self.text += data
        self.bold += data if self._is_bold else ""

    def set_attributes(self, attrs: Attrs, color_depth: ColorDepth) -> None:
        """Note whether what follows is bold; nothing may have a colour, however many there are."""
        del color_depth
        assert {attrs.color, attrs.bgcolor} <= {None, "", "default"}
        self._is_bold = bool(attrs.bold)

    def reset_attributes(self) -> None:
        """Go back to normal."""
        self._is_bold = False

    def get_size(self) -> Size:
        """Return the size now."""
        return Size(rows=40, columns=self.columns)

    def get_rows_below_cursor_position(self) -> int:
        """Say that the cursor stands near the bottom, with room for the toolbar."""
        return 2


@dataclass
class Talk:
    """A conversation that echoes; `then` is done in each turn, before the reply."""

    rules: RuleBase
    make_reply: Callable[..., Reply]
    setting: Setting = "home"
    shots_told: int = 1
    pending: NextStep | None = None
    heard: list[str] = field(default_factory=list)
    then: Callable[[], object] = lambda: None

    def say(self, text: str) -> Reply:
        """Return the echo, with a step to do."""
        self.heard.append(text)
        self.then()
        if text == "fail":
            raise OutOfRange("95 g is outside\n5 to 40 g.")
        parts = [("stop", "STOP: hot."), ("note", f"Heard: {text}."), ("step", "Do: " + "grind finer " * 9)]
        return self.make_reply(*parts, ended=text == "quit")


@pytest.fixture
def talk(rules: RuleBase, make_reply: Callable[..., Reply]) -> Talk:
    """Return a talk in which nothing was said yet."""
    return Talk(rules, make_reply)


@pytest.fixture
def screen() -> Screen:
    """Return an empty screen."""
    return Screen()


@pytest.fixture
def keys() -> Iterator[PipeInput]:
    """Return an input to send keys to."""
    with create_pipe_input() as pipe:
        yield pipe


@pytest.fixture
def run(talk: Talk, keys: PipeInput, screen: Screen) -> Callable[..., int]:
    """Return a function that types into a chat and returns its exit code."""

    def typed(
        text: str,
        *,
        history: Path | None = None,
        toolbar: bool = False,
        first_start: tuple[str, ...] = (),
        output: Output = screen,
    ) -> int:
        keys.send_text(text)
        with create_app_session(input=keys, output=output):
            return chat(talk, history=history, toolbar=toolbar, first_start=first_start)

    return typed


Run = Callable[..., int]


def test_typed_lines_are_answered(run: Run, talk: Talk, screen: Screen) -> None:
    """Each line typed gets its reply below it; numbers go through as typed; Ctrl-D on an empty line ends with 0."""
    assert run(f"sour{ENTER}2{ENTER}{CTRL_D}") == 0
    assert talk.heard == ["sour", "2"]
    assert "> sour" in screen.text
    assert "Heard: sour.\n" in screen.text
    assert screen.text.index("Heard: sour.") < screen.text.index("> 2") < screen.text.index("Heard: 2.")


def test_a_line_can_be_edited(run: Run, talk: Talk) -> None:
    """Keys move and delete within the line."""
    run(f"soor{LEFT}{BACKSPACE}u{ENTER}{CTRL_D}")
    assert talk.heard == ["sour"]


def test_blank_lines_are_passed_over(run: Run, talk: Talk) -> None:
    """Enter on an empty line says nothing."""
    assert run(f"{ENTER}  {ENTER}{CTRL_D * 3}{CTRL_D}") == 0
    assert talk.heard == []


@pytest.mark.parametrize("typed", [CTRL_C, f"half a li{CTRL_C}"])
def test_interrupt_leaves_at_once(run: Run, talk: Talk, typed: str) -> None:
    """Ctrl-C ends the chat with 130 (128 + SIGINT, as shells have it), with or without text on the line."""
    assert run(typed) == 130
    assert talk.heard == []


def test_interrupt_while_thinking(run: Run, talk: Talk) -> None:
    """An interrupt during a turn ends the chat the same way."""

    def interrupted() -> None:
        raise KeyboardInterrupt

    talk.then = interrupted
    assert run(f"sour{ENTER}") == 130


def test_a_reply_may_end_the_chat(run: Run, talk: Talk) -> None:
    """What is typed after the end of the talk is not heard."""
    assert run(f"quit{ENTER}sour{ENTER}") == 0
    assert talk.heard == ["quit"]


def test_an_error_is_one_line_and_the_chat_goes_on(run: Run, talk: Talk, screen: Screen) -> None:
    """A turn that cannot be served says why in one line."""
    assert run(f"fail{ENTER}sour{ENTER}{CTRL_D}") == 0
    assert "95 g is outside 5 to 40 g.\n" in screen.text
    assert talk.heard == ["fail", "sour"]


def test_a_paste_is_one_text(run: Run, talk: Talk) -> None:
    """Several lines pasted (xterm's bracketed paste) are one text, sent when Enter is typed."""
    run(f"{PASTE}18 g in\r\n44 g out\n16 s{PASTED}, sour{ENTER}{CTRL_D}")
    assert talk.heard == ["18 g in\n44 g out\n16 s, sour"]


def test_undecodable_bytes_are_replaced(run: Run, talk: Talk, keys: PipeInput) -> None:
    """Bytes that are not UTF-8 (RFC 3629) arrive as question marks, and can be kept in the history."""
    keys.send_bytes(b"s\xff\xfer\r")
    run(CTRL_D)
    assert talk.heard == ["s??r"]


def test_first_start_comes_first(run: Run, screen: Screen) -> None:
    """The first lines stand above the first prompt."""
    run(CTRL_D, first_start=("What it is.", "Where the log is.", "How to begin."))
    assert screen.text.startswith("What it is.\nWhere the log is.\nHow to begin.\n\n>")


def test_width_follows_the_terminal(run: Run, talk: Talk, screen: Screen) -> None:
    """A terminal made narrower between two turns gets narrower lines, and the stop notice all the same."""
    talk.then = lambda: setattr(screen, "columns", 40)
    run(f"sour{ENTER}{CTRL_D}")
    said = screen.text[screen.text.index("STOP") : screen.text.rindex("> ")].strip().splitlines()
    assert said[0] == "STOP: hot."
    assert 30 < max(map(len, said)) <= 40


def test_bold_marks_stop_and_step(run: Run, screen: Screen) -> None:
    """Bold are the stop notice and the step, nothing else; colours there are none."""
    run(f"sour{ENTER}{CTRL_D}")
    assert screen.bold.startswith("STOP: hot.\nDo: grind finer")
    assert "Heard" not in screen.bold


def test_no_color_means_no_bold(run: Run, screen: Screen, monkeypatch: pytest.MonkeyPatch) -> None:
    """With NO_COLOR set (no-color.org) the text carries no style at all."""
    monkeypatch.setenv("NO_COLOR", "1")
    run(f"sour{ENTER}{CTRL_D}")
    assert "STOP: hot." in screen.text
    assert screen.bold == ""


@pytest.mark.parametrize("toolbar", [True, False])
def test_toolbar_can_be_turned_off(run: Run, screen: Screen, toolbar: bool) -> None:
    """The line below the prompt is there on request only."""
    run(CTRL_D, toolbar=toolbar)
    assert ("home | 1 shot | what is wrong?" in screen.text) is toolbar


def test_output_is_only_appended(run: Run) -> None:
    """No alternate screen, no mouse, no clearing; bracketed paste is turned off again at the end."""
    written = io.StringIO()
    output = Vt100_Output(written, lambda: Size(rows=24, columns=80), enable_cpr=False)
    run(f"sou{TAB}{ENTER}{CTRL_D}", output=output, toolbar=True)
    sequences = written.getvalue()
    for never in ("\x1b[?1049h", "\x1b[?47h", "\x1b[?1000h", "\x1b[?1003h", "\x1b[2J", "\x1b[H"):
        assert never not in sequences
    assert sequences.rindex("\x1b[?2004l") > sequences.rindex("\x1b[?2004h")


def test_tab_goes_on_with_a_word(run: Run, talk: Talk) -> None:
    """Tab types the rest of the one phrase that fits, keeping what was typed as it was."""
    run(f"tastes Bit{TAB}{ENTER}{CTRL_D}")
    assert talk.heard == ["tastes Bitter"]


def test_tab_lists_what_fits(run: Run, talk: Talk, screen: Screen) -> None:
    """Tab types what all fitting phrases share, and then lists them above the prompt, which stays."""
    run(f"it was g{TAB}{ENTER}lemo{TAB}{TAB}{ENTER}{CTRL_D}")
    assert talk.heard == ["it was g", "lemony"]
    fitting = [phrase for _, phrase in Words(talk.rules).going_on("it was g")]
    assert {"ground finer", "gushes"} <= set(fitting)
    assert f"{', '.join(fitting)}\n\n> it was g" in screen.text


def test_tab_offers_the_answers(run: Run, talk: Talk, screen: Screen) -> None:
    """On an empty line with a question open, Tab lists the answers; where nothing fits it does nothing."""
    talk.pending = NextStep("question", "x", "Which?", answers=(Answer(1, "this", ()), Answer(2, "or that", ())))
    run(f"{TAB}or{TAB}{ENTER}zzz{TAB}{ENTER}{CTRL_D}")
    assert "this, or that\n" in screen.text
    assert talk.heard == ["or that", "zzz"]


def test_history_is_recalled_within_a_chat(run: Run, talk: Talk, keys: PipeInput) -> None:
    """The arrow up brings the line before back."""
    talk.then = lambda: keys.send_text(f"{UP}{ENTER}{CTRL_D}")  # typed once the next prompt is there
    run(f"sour{ENTER}")
    assert talk.heard == ["sour", "sour"]


def test_history_is_kept_in_a_private_file(run: Run, talk: Talk, tmp_path: Path) -> None:
    """What was typed is there in the next chat, in a file and folder for its owner alone; a search finds it."""
    path = tmp_path / "data" / "log.history"
    run(f"sour and fast{ENTER}bitter{ENTER}{CTRL_D}", history=path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    run(f"{CTRL_R}AND{ENTER}{ENTER}{CTRL_D}", history=path)
    assert talk.heard[2] == "sour and fast"


def test_an_open_history_file_is_closed_to_others(run: Run, tmp_path: Path) -> None:
    """A file others could read is made private before anything goes into it."""
    path = tmp_path / "log.history"
    path.touch(mode=0o644)
    run(f"sour{ENTER}{CTRL_D}", history=path)
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


@pytest.mark.parametrize("place", ["file/log.history", "folder"])
def test_unusable_history_is_a_warning(
    run: Run, talk: Talk, tmp_path: Path, capsys: pytest.CaptureFixture[str], place: str
) -> None:
    """Where no history can be kept, one line on the error stream says so and the chat goes on."""
    (tmp_path / "file").touch()
    (tmp_path / "folder").mkdir()
    assert run(f"sour{ENTER}{CTRL_D}", history=tmp_path / place) == 0
    assert talk.heard == ["sour"]
    warning = capsys.readouterr().err
    assert str(tmp_path / place) in warning
    assert warning.count("\n") == 1


def test_history_lost_on_the_way_is_no_end(run: Run, talk: Talk, tmp_path: Path) -> None:
    """When the place of the history goes away during the chat, the chat goes on."""
    path = tmp_path / "data" / "log.history"
    talk.then = lambda: shutil.rmtree(path.parent, ignore_errors=True)
    assert run(f"sour{ENTER}bitter{ENTER}{CTRL_D}", history=path) == 0
    assert talk.heard == ["sour", "bitter"]
    assert not path.exists()
