"""Reads a transcript's Markdown into values, and says in which line something is wrong."""

import re
from datetime import UTC, datetime

from diagnose.model import SETTINGS, Problem, Setting
from diagnose.practice import expectations
from diagnose.practice.expectations import Expectation
from diagnose.practice.transcript import Chat, Malformed, Transcript, Turn
from diagnose.terminal.layout import NARROWEST, WIDEST, fitting

SHOWS, TALK = "what it must show", "the talk"
REQUIRED = ("setting", "width", "date")
LOG_WORDS = {"none": False, "kept": True}
FENCE = "```"
_ENTRY = re.compile(r"[-*] +(?P<key>\w+): *(?P<value>.*)")
_BULLET = re.compile(r"[-*] +(?P<text>.*)")
_FENCE = re.compile(r"(?P<ticks>`{3,})[^`]*")
_DATED = re.compile(r"### .*\((?P<date>[^()]+)\)\s*")


def read(text: str, file: str) -> Transcript:
    """Return the transcript written in `text`; `file` names it in messages. Raises Malformed."""
    return _Reader(text.removesuffix("\n").split("\n"), file).transcript()


class _Reader:
    """Goes through the lines once; what is wrong is collected, so that one run names all of it."""

    def __init__(self, lines: list[str], file: str) -> None:
        self.lines, self.file = lines, file
        self.problems: list[Problem] = []
        self.entries: dict[str, tuple[int, str]] = {}
        self.expected: list[Expectation] = []
        self.whens: list[datetime | None] = []
        self.chats: list[list[Turn]] = []
        self.scenario = False

    def transcript(self) -> Transcript:
        """Return the transcript, or raise Malformed with every problem found."""
        title = self._title()
        self._sections(title + 1)
        setting, width, date, log = self._settings()
        turns = [turn for chat in self.chats for turn in chat]
        if not turns:
            self._problem(0, "no-talk", "nobody says anything.", f"Begin “## {TALK.capitalize()}” with a line “> ...”.")
        for wanted in self.expected:
            if wanted.turn > len(turns):
                what = f"there is no turn {wanted.turn}; the talk has {len(turns)}."
                self._problem(wanted.line, "no-turn", what, "Count the lines that begin with “>”.")
        if self.problems:
            raise Malformed(self.problems)
        whens = self._running(date)
        chats = (Chat(when, tuple(chat)) for when, chat in zip(whens, self.chats, strict=True) if chat)
        heading = self.lines[title].removeprefix("# ").strip()
        return Transcript(
            self.file, heading, setting, width, log, tuple(self.expected), tuple(chats), tuple(self.lines)
        )

    def _running(self, date: datetime) -> list[datetime]:
        """Return the time of each chat: its own, else that of the one before."""
        whens: list[datetime] = []
        for own in self.whens:
            whens.append(own or (whens[-1] if whens else date))
        return whens

    def _problem(self, line: int, code: str, what: str, todo: str) -> None:
        self.problems.append(Problem(self.file, line, 1 if line else 0, code, what, todo))

    # -- the parts of the file

    def _title(self) -> int:
        """Return the place of the title, counted from 0."""
        for place, line in enumerate(self.lines):
            if line.strip():
                if not line.startswith("# "):
                    self._problem(place + 1, "no-title", "a transcript begins with its title.", "Write “# ...” first.")
                return place
        raise Malformed([Problem(self.file, 1, 1, "empty", "there is nothing in it.", "Begin with a title: “# ...”.")])

    def _sections(self, place: int) -> None:
        """Go through everything below the title."""
        section = ""
        while place < len(self.lines):
            line = self.lines[place]
            if line.startswith("## "):
                section = self._section(line, place + 1)
                place += 1
            elif section == TALK:
                place = self._talk(place)
            elif section == SHOWS:
                place = self._shows(place)
            else:
                self._front(line, place + 1)
                place += 1
        if not self.scenario:
            what, todo = "it does not say who talks, and where.", "Put a sentence or two under the title."
            self._problem(1, "no-scenario", what, todo)

    def _section(self, line: str, number: int) -> str:
        name = line.removeprefix("## ").strip().casefold()
        if name == TALK:
            self.chats.append([])
            self.whens.append(None)
        elif name != SHOWS:
            names = " and ".join(f"“## {known.capitalize()}”" for known in (SHOWS, TALK))
            what = f"there is no section “{name}” in a transcript."
            self._problem(number, "unknown-section", what, f"The sections are {names}.")
        return name

    def _front(self, line: str, number: int) -> None:
        """Take one line of the scenario or of where the talk takes place."""
        entry = _ENTRY.fullmatch(line.strip())
        if entry is None:
            self.scenario = self.scenario or bool(line.strip())
            return
        key = entry["key"].casefold()
        if key not in {*REQUIRED, "log"}:
            todo = "There is Setting, Width, Date and Log."
            self._problem(number, "unknown-entry", f"“{entry['key']}” says nothing to a replay.", todo)
        elif key in self.entries:
            what = f"“{entry['key']}” stands here a second time."
            self._problem(number, "second-entry", what, "Keep one of the two.")
        else:
            self.entries[key] = number, entry["value"].strip()

    def _shows(self, place: int) -> int:
        """Take what is expected, with the indented lines that go on with it; return the place behind."""
        line, end = self.lines[place], place + 1
        if not line.strip():
            return end
        bullet = _BULLET.fullmatch(line)
        if bullet is None:
            what, todo = "this is no expectation.", "Begin with “- turn 1: ...”; indent what goes on with it."
            self._problem(end, "not-an-expectation", what, todo)
            return end
        text = bullet["text"]
        while end < len(self.lines) and self.lines[end].startswith(" ") and self.lines[end].strip():
            text += f" {self.lines[end].strip()}"
            end += 1
        found, faults = expectations.read(text, place + 1)
        self.expected += found
        for fault in faults:
            self._problem(place + 1, "not-an-expectation", f"{fault}.", "Correct it.")
        return end

    def _talk(self, place: int) -> int:
        """Take one line of the talk, or a whole answer; return the place behind."""
        line = self.lines[place]
        if line.startswith("### "):
            self._new_chat(line, place + 1)
        elif line.startswith(">"):
            said = line.removeprefix(">").removeprefix(" ")
            number = sum(map(len, self.chats)) + 1
            self.chats[-1].append(Turn(number, place + 1, said, None, place + 1, place + 1))
        fence = _FENCE.fullmatch(line)
        return place + 1 if fence is None else self._answer(place, fence["ticks"])

    def _new_chat(self, line: str, number: int) -> None:
        dated = _DATED.fullmatch(line)
        self.whens.append(self._date(dated["date"], number) if dated else None)
        self.chats.append([])

    def _answer(self, place: int, ticks: str) -> int:
        """Take an answer between fences; return the place behind."""
        end = place + 1
        while end < len(self.lines) and self.lines[end].rstrip() != ticks:
            end += 1
        if end == len(self.lines):
            self._problem(place + 1, "open-answer", "this answer does not end.", f"Close it with a line “{ticks}”.")
        turn = self.chats[-1][-1] if self.chats[-1] else None
        if turn is None or turn.answer is not None:
            what = "this answers nothing." if turn is None else f"turn {turn.number} is answered already."
            self._problem(place + 1, "stray-answer", what, "Put what the person types above it: “> ...”.")
        else:
            answer = tuple(self.lines[place + 1 : end])
            self.chats[-1][-1] = Turn(turn.number, turn.line, turn.said, answer, place, end + 1)
        return end + 1

    # -- where it takes place

    def _settings(self) -> tuple[Setting, int, datetime, bool]:
        """Return setting, width in columns, date and whether a log is kept."""
        for name in REQUIRED:
            if name not in self.entries:
                todo = f"Put “- {name.capitalize()}: ...” under the scenario."
                self._problem(1, "no-entry", f"the {name} is missing.", todo)
        line, value = self.entries.get("setting", (0, ""))
        setting = next((known for known in SETTINGS if known == value), None)
        if line and setting is None:
            self._problem(line, "setting", f"there is no setting “{value}”.", f"Choose {', '.join(SETTINGS)}.")
        line, value = self.entries.get("date", (0, ""))
        date = self._date(value, line) if line else None
        return setting or SETTINGS[0], self._width(), date or datetime.now(UTC), self._log()

    def _width(self) -> int:
        line, value = self.entries.get("width", (0, ""))
        width = int(value) if value.isdecimal() else 0
        if line and fitting(width) != width:
            todo = f"Give columns, {NARROWEST} to {WIDEST}."
            self._problem(line, "width", f"nothing is laid out at a width of “{value}”.", todo)
        return width

    def _log(self) -> bool:
        line, value = self.entries.get("log", (0, "none"))
        if value not in LOG_WORDS:
            self._problem(line, "log", f"a log is not “{value}”.", f"Choose {' or '.join(LOG_WORDS)}.")
        return LOG_WORDS.get(value, False)

    def _date(self, value: str, line: int) -> datetime | None:
        """Return a date and time of day, in UTC."""
        try:
            return datetime.fromisoformat(value).replace(tzinfo=UTC)
        except ValueError:
            self._problem(line, "date", f"“{value}” is no date.", "Write it as 2026-05-04 08:30.")
            return None
