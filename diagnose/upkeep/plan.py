"""The care that comes round again, as ``care.yaml`` in the rules folder says it: read strictly, with places.

Only the notices, findings and sources that the file names are looked at, so that a slip elsewhere in the rules does
not keep anybody from writing down that the group was cleaned.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import Annotated, Generic, TypeVar

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from diagnose.errors import RuleBaseError
from diagnose.model import Problem, Setting, frozen_map
from diagnose.rulebase.base import LANGUAGE
from diagnose.rulebase.reading import Document, PathKey, read
from diagnose.rulebase.schema import Identifier, Levels, Text

T = TypeVar("T")

FILE = "care.yaml"
COMMON_PRACTICE = "common_practice"
OVERDUE, DONE = "overdue", "done"
"""The levels a finding must have to be read from the log."""

_FORM = "The entries beside it and the head of the file show the form."


class _Strict(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class Interval(_Strict):
    """How far something may go before it is due: days, shots told to the log, grams of scale at the most."""

    days: Annotated[int, Field(ge=1, le=36_500)]
    shots: Annotated[int, Field(ge=1)] | None = None
    scale: Annotated[float, Field(gt=0)] | None = None


class PerSetting(_Strict, Generic[T]):
    """A value for each setting."""

    home: T
    service: T
    training: T

    def at(self, setting: Setting) -> T:
        """Return the value for one setting."""
        return {"home": self.home, "service": self.service, "training": self.training}[setting]


class Kit(_Strict):
    """A condition on the kit: a finding has one of these levels."""

    finding: Identifier
    levels: Annotated[Levels, Field(alias="is", min_length=1)]


class Sign(_Strict):
    """The finding a talk reads from this care: overdue beyond so many times the interval."""

    name: Identifier
    times: PerSetting[Annotated[float, Field(gt=0)]]


class Item(_Strict):
    """One thing to look after; the head of ``care.yaml`` explains the keys."""

    name: Text
    every: PerSetting[Interval]
    why: Text
    how: Text
    litres: bool = False
    only_if: tuple[Kit, ...] = ()
    needs: tuple[Kit, ...] = ()
    cautions: tuple[Identifier, ...] = ()
    afterwards: tuple[Identifier, ...] = ()
    finding: Sign | None = None
    source: Identifier

    @property
    def about_scale(self) -> bool:
        """Return whether the scale the water leaves has to do with it, in whatever setting."""
        return any(every.scale is not None for every in (self.every.home, self.every.service, self.every.training))


_ITEM = TypeAdapter(Item)
_NAME: TypeAdapter[str] = TypeAdapter(Identifier)


@dataclass(frozen=True, slots=True)
class CarePlan:
    """Everything there is to look after, in the order of the file, with the texts it refers to.

    `notices` maps a notice to its text, `levels` a finding and one of its levels to that level's name.
    """

    items: Mapping[str, Item]
    notices: Mapping[str, str]
    levels: Mapping[tuple[str, str], str]

    def nearest(self, name: str) -> list[str]:
        """Return the items that `name` may be a misspelling of."""
        return get_close_matches(name, self.items, n=2)


def text(texts: Mapping[str, str]) -> str:
    """Return the English text, or the first there is."""
    return texts.get(LANGUAGE) or next(iter(texts.values()))


def read_care(folder: Path) -> CarePlan:
    """Read ``care.yaml`` in a rules folder.

    Raises RuleBaseError with every problem found: no such file, a key or value of the wrong kind, a text without
    words, a notice, finding, level or source that does not exist.
    """
    path = folder / FILE
    if not path.is_file():
        todo = "Copy it from the installed rules: `diagnose rules copy DIR` shows them."
        raise RuleBaseError([Problem(str(path), 0, 0, "missing-file", "these rules say nothing about care.", todo)])
    return _Reader(folder).plan()


class _Reader:
    """Reads the file and what it refers to, collecting problems on the way."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.document, self.problems = read(folder / FILE, FILE)
        self.notices: dict[str, str] = {}
        self.levels: dict[tuple[str, str], str] = {}

    def plan(self) -> CarePlan:
        """Return the plan. Raises RuleBaseError if there is anything wrong with it."""
        items = dict(self._items())
        self._references(items)
        if self.problems:
            raise RuleBaseError(self.problems)
        return CarePlan(frozen_map(items), frozen_map(self.notices), frozen_map(self.levels))

    def _items(self) -> Iterator[tuple[str, Item]]:
        for name, data in self.document.data.items():
            try:
                yield _NAME.validate_python(name), _ITEM.validate_python(data)
            except ValidationError as error:
                self.problems += [_refused(self.document, (name, *detail["loc"]), detail) for detail in error.errors()]

    def _references(self, items: Mapping[str, Item]) -> None:
        notices, findings, sources = self._named("notices"), self._named("findings"), self._sources()
        for name, item in items.items():
            for key in ("name", "why", "how"):
                self._check_text((name, key), getattr(item, key))
            for key in ("cautions", "afterwards"):
                for index, notice in enumerate(getattr(item, key)):
                    if self._known((name, key, index), "notice", notice, notices):
                        data = read(notices[notice], notices[notice].name)[0].data
                        self.notices[notice] = _english(data, "text")
                        self._check_text((name, key, index), {LANGUAGE: self.notices[notice]})
            for key in ("only_if", "needs"):
                for index, kit in enumerate(getattr(item, key)):
                    self._check_levels((name, key, index), kit.finding, kit.levels, findings)
            if item.finding is not None:
                self._check_levels((name, "finding"), item.finding.name, (OVERDUE, DONE), findings)
            self._known((name, "source"), "source", item.source, sources)

    def _named(self, kind: str) -> dict[str, Path]:
        """Return the rule files of one kind by their names."""
        return {path.stem: path for path in sorted((self.folder / kind).rglob("*.yaml"))}

    def _sources(self) -> set[str]:
        path = self.folder / "sources.yaml"
        named = set(read(path, path.name)[0].data) if path.is_file() else set()
        return named | {COMMON_PRACTICE}

    def _known(self, path: PathKey, what: str, name: str, known: Iterable[str]) -> bool:
        """Return whether a name exists; report it where it does not."""
        names = sorted(known)
        if name in names:
            return True
        near = get_close_matches(name, names, n=1)
        todo = f"Did you mean {near[0]!r}?" if near else f"Check its spelling, or write the {what} first."
        self.problems.append(self.document.problem(path, "unknown-name", f"there is no {what} {name!r}.", todo))
        return False

    def _check_text(self, path: PathKey, texts: Mapping[str, str]) -> None:
        if not texts.get(LANGUAGE, "").strip():
            todo = "Write `{en: ...}` with a text in it, here or in the notice."
            self.problems.append(self.document.problem(path, "empty-text", "there is no English text.", todo))

    def _check_levels(self, path: PathKey, finding: str, levels: Iterable[str], files: Mapping[str, Path]) -> None:
        """Check that a finding exists and has these levels, and keep the levels' names."""
        if not self._known(path, "finding", finding, files):
            return
        found = read(files[finding], files[finding].name)[0].data.get("levels")
        known = found if isinstance(found, Mapping) else {}
        for level in levels:
            if self._known(path, f"level of {finding} called", level, known):
                self.levels[finding, level] = _english(known[level], "name") or level.replace("_", " ")


def _english(data: object, key: str) -> str:
    """Return the English text under a key of a rule that another reader has checked; "" where there is none."""
    texts = data.get(key) if isinstance(data, Mapping) else None
    return str(texts.get(LANGUAGE) or "") if isinstance(texts, Mapping) else ""


def _refused(document: Document, path: PathKey, detail: ErrorDetails) -> Problem:
    """Return the problem for one thing the schema refuses, at its place."""
    if detail["type"] == "extra_forbidden":
        return document.problem(path, "unknown-key", f"{path[-1]!r} is not a key that may stand here.", _FORM)
    if detail["type"] == "missing":
        return document.problem(path, "missing-key", f"{path[-1]!r} is missing.", _FORM)
    return document.problem(path, "schema", f"{detail['msg']}.", _FORM)
