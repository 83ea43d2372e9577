"""Replies in lines: every width, wide characters, and what a barista in service is spared.

Widths are checked with wcwidth, which implements Unicode Standard Annex #11 independently of this project.
"""

from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from wcwidth import wcswidth

from diagnose.conversation.reply import PartKind, Reply
from diagnose.terminal.layout import SERVICE_LINES, arranged, columns, fitting, laid_out, wrapped

Parts = list[tuple[PartKind, str]]
KEPT: tuple[PartKind, ...] = ("stop", "step", "expect", "care", "ask")
KINDS: tuple[PartKind, ...] = ("stop", "heard", "note", "causes", "why", "verdict", "step", "expect", "care", "later")

# Latin, an accent to combine, Chinese, Japanese, Korean, full-width letters, emoji wide in every Unicode version.
LETTERS = st.sampled_from("abcdefghijklmnop0123456789.,()%“”\u00e9\u00df\u0301咖啡苦酸コヒー커피\uff21\uff42☕🍋⏰")
WORD = st.text(LETTERS, min_size=1, max_size=12) | st.text(LETTERS, min_size=40, max_size=130)
TEXT = st.lists(WORD, min_size=1, max_size=20).map(" ".join)
ANSWERS = st.lists(st.lists(WORD, min_size=1, max_size=6).map(" ".join), min_size=2, max_size=12)
WIDTHS = st.integers(30, 100)


@st.composite
def replies_parts(draw: st.DrawFn) -> Parts:
    """Draw the parts of a reply: anything in any order, at the end perhaps a question."""
    parts: Parts = [(draw(st.sampled_from(KINDS)), draw(TEXT)) for _ in range(draw(st.integers(1, 9)))]
    if draw(st.booleans()):
        answers = [f"  {number}. {answer}" for number, answer in enumerate(draw(ANSWERS), 1)]
        parts.append(("ask", "\n".join([draw(TEXT), *answers])))
    return parts


def bare(text: str) -> str:
    """Return a text without its white space."""
    return "".join(text.split())


@settings(deadline=None, max_examples=50)
@given(parts=replies_parts(), width=WIDTHS)
def test_no_line_is_wider_than_the_terminal(make_reply: Callable[..., Reply], parts: Parts, width: int) -> None:
    """At every width from 30 to 100 columns no line runs over, and outside service nothing is lost."""
    lines = arranged(make_reply(*parts), width)
    assert max(wcswidth(line.text) for line in lines) <= width
    assert bare("".join(line.text for line in lines)) == bare("".join(text for _, text in parts))


@settings(deadline=None, max_examples=50)
@given(parts=replies_parts(), width=WIDTHS, asked=st.booleans())
def test_service_keeps_what_must_not_be_missed(
    make_reply: Callable[..., Reply], parts: Parts, width: int, asked: bool
) -> None:
    """Stop notices, the step, what the next shot must show, cautions and the question stay whole and in order."""
    reply = make_reply(*parts, setting="service", command="why" if asked else "")
    shown = bare(laid_out(reply, width))
    place = 0
    for kind, text in parts:
        if kind in KEPT:
            place = shown.index(bare(text), place) + len(bare(text))
    assert all(wcswidth(line.text) <= width for line in arranged(reply, width))


@settings(deadline=None, max_examples=50)
@given(parts=replies_parts(), width=st.integers(80, 100))
def test_service_takes_twelve_lines(make_reply: Callable[..., Reply], parts: Parts, width: int) -> None:
    """From 80 columns on a reply in service takes at most 12 lines, if what must stay does."""
    must = [(kind, text) for kind, text in parts if kind in KEPT]
    least = len(arranged(make_reply(*must, setting="service"), width))
    assert len(arranged(make_reply(*parts, setting="service"), width)) <= max(SERVICE_LINES, least)


LINES = "word " * 15  # one line at 80 columns
SHORT: Parts = [("heard", "Heard: 18 g in."), ("step", "Do: Grind finer."), ("expect", "Next shot: 25 s.")]
CAUSES: Parts = [("causes", "Most likely: grind too coarse.")]
WHY: Parts = [("why", "Why: wide gaps.")]


def test_service_leaves_a_short_reply_alone(make_reply: Callable[..., Reply]) -> None:
    """Twelve lines are not too many: nothing goes as long as everything fits."""
    parts: Parts = SHORT + 9 * CAUSES
    reply = make_reply(*parts, setting="service")
    assert laid_out(reply) == reply.text


def test_service_drops_causes_first(make_reply: Callable[..., Reply]) -> None:
    """One line too many: the causes go, the explanation stays."""
    parts: Parts = SHORT + CAUSES + 9 * WHY
    text = laid_out(make_reply(*parts, setting="service"))
    assert "Most likely" not in text
    assert text.count("Why") == 9


def test_service_shortens_what_was_heard_before_the_notes(make_reply: Callable[..., Reply]) -> None:
    """What still does not fit without the causes is shortened by as much as needed, the heard before the notes."""
    parts: Parts = [
        ("heard", "Heard: " + "18 g in, " * 30),
        ("note", "Not used: 5 g. " + LINES * 3),
        ("causes", "Most likely: this."),
        ("step", "Do: " + LINES * 6),
        ("care", "Care: hot water."),
    ]
    lines = [line.text for line in arranged(make_reply(*parts, setting="service"))]
    assert len(lines) == SERVICE_LINES
    assert lines[0].startswith("Heard: 18 g in,")
    assert lines[0].endswith("…")
    assert len(lines[0]) > 80 - len(" in,…"), "cut no more than needed"
    assert lines[1].startswith("Not used: 5 g.")
    assert lines[-1] == "Care: hot water."


def test_service_gives_notes_up_last_first(make_reply: Callable[..., Reply]) -> None:
    """When single lines are still too many, the last note goes first: the first is about what was just said."""
    parts: Parts = [("note", f"Note {number}.") for number in range(1, 4)]
    parts += [("step", "Do: this.")] * 10
    text = laid_out(make_reply(*parts, setting="service"))
    assert "Note 2." in text
    assert "Note 3." not in text


def test_service_puts_answers_together(make_reply: Callable[..., Reply]) -> None:
    """A question with many answers shares lines among them rather than hiding what was heard; none is lost."""
    answers = "\n".join(f"  {number}. since {number} weeks" for number in range(1, 13))
    parts: Parts = [("heard", "Heard: sour."), ("ask", f"Since when?\n{answers}")]
    lines = [line.text for line in arranged(make_reply(*parts, setting="service"))]
    assert lines[:2] == ["Heard: sour.", "Since when?"]
    assert len(lines) <= SERVICE_LINES
    assert all(f"{number}. since {number} weeks" in "\n".join(lines) for number in range(1, 13))


def test_answers_have_their_own_lines_on_a_narrow_screen(make_reply: Callable[..., Reply]) -> None:
    """Below 80 columns every answer begins a line; nothing more is left out there than at 80."""
    answers = "\n".join(f"  {number}. since {number} weeks" for number in range(1, 13))
    parts: Parts = [("heard", "Heard: sour."), ("causes", "Most likely: x."), ("ask", f"Since when?\n{answers}")]
    lines = [line.text for line in arranged(make_reply(*parts, setting="service"), 40)]
    assert lines[0] == "Heard: sour."
    assert [line for line in lines if "since" in line] == answers.split("\n")


def test_who_asked_why_is_told_in_service(make_reply: Callable[..., Reply]) -> None:
    """The explanation somebody asked for is shortened, not dropped."""
    parts: Parts = [("why", LINES * 10), ("step", "Do: " + LINES * 4)]
    lines = arranged(make_reply(*parts, setting="service", command="why"))
    assert len(lines) == SERVICE_LINES
    assert lines[0].text.startswith("word word")
    unasked = arranged(make_reply(*parts, setting="service"))
    assert not any(line.text.startswith("word word word word w") for line in unasked[:1])


def test_strong_lines(make_reply: Callable[..., Reply]) -> None:
    """Stop notices, the step and the question stand out; its answers and everything else do not."""
    parts: Parts = [
        ("stop", "STOP: gas."),
        ("heard", "Heard: gas."),
        ("step", "Do: leave."),
        ("ask", "Which?\n  1. this\n  2. that"),
        ("ask", "Open question"),
        ("care", "Care: hot."),
    ]
    strong = [line.text for line in arranged(make_reply(*parts)) if line.strong]
    assert strong == ["STOP: gas.", "Do: leave.", "Which?", "Open question"]


def test_continued_lines_stand_in() -> None:
    """What runs over stands two columns in, behind an answer's number behind it; own indents are kept."""
    assert wrapped("Heard: 18 g in, 44 g out in 16 s", 30) == ["Heard: 18 g in, 44 g out in", "  16 s"]
    assert wrapped("  1. tonic water or grapefruit peel", 30) == ["  1. tonic water or grapefruit", "     peel"]
    assert wrapped("one\n    two", 30) == ["one", "    two"]


@pytest.mark.parametrize("amount", ["15 %", "36 g", "16 s", "93 °C", "9 bar"])
def test_a_number_keeps_its_unit(amount: str) -> None:
    """No line ends between a number and its unit (common practice, no source)."""
    before = "x" * (30 - len(amount) + 1)
    assert wrapped(f"{before} {amount}, then", 32)[1] == f"  {amount}, then"


def test_what_is_said_back_cannot_steer_the_terminal() -> None:
    """Escape sequences, carriage returns and odd line separators lose their effect (ECMA-48 control functions)."""
    assert wrapped("a\x1b[2Jb\rc\td\u2028e\x9bf", 40) == ["a[2Jbc d ef"]


@pytest.mark.parametrize(
    ("text", "taken"), [("sour", 4), ("e\u0301", 1), ("咖啡", 4), ("\uff21", 2), ("\u2600\ufe0f", 2)]
)
def test_columns(text: str, taken: int) -> None:
    """Accents take no column of their own, wide characters two, and a sign made an emoji by its selector too."""
    assert columns(text) == wcswidth(text) == taken


def test_width_is_bounded() -> None:
    """Lines are laid out between 30 and 100 columns, whatever the terminal says."""
    assert [fitting(columns) for columns in (1, 30, 64, 100, 300)] == [30, 30, 64, 100, 100]


def test_empty_text_is_one_empty_line() -> None:
    """An empty part leaves an empty line, so that no width makes it an error."""
    assert wrapped("", 30) == [""]
