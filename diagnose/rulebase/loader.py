"""From a folder of rule files to one checked, immutable RuleBase.

The checks run here are those without which inference would be wrong (schema, unknown names, coherence of grades);
the others run with `diagnose rules check`.
"""

import gc
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from types import MappingProxyType

from pydantic import BaseModel, ValidationError

from diagnose.errors import RuleBaseError
from diagnose.model import Problem
from diagnose.rulebase.base import KINDS, LANGUAGE, Kind, RuleBase
from diagnose.rulebase.location import rules_folder
from diagnose.rulebase.reading import Document, PathKey, read
from diagnose.rulebase.schema import Cause, Finding, Notice, Price, Prices, Reference, Step

COSTS = "costs.yaml"
# Stands in while the prices cannot be read; a base with a problem is never loaded.
_NOTHING = Price(home=0, service=0, training=0)
_FREE = Prices.model_validate(dict.fromkeys(Prices.model_fields, _NOTHING))
_MODELS: dict[Kind, type[BaseModel]] = {"causes": Cause, "findings": Finding, "steps": Step, "notices": Notice}


def _validation_problems(document: Document, error: ValidationError) -> list[Problem]:
    """Return one Problem for each thing the schema refuses, at its place in the file."""
    problems = []
    for detail in error.errors():
        path: PathKey = tuple(part for part in detail["loc"] if isinstance(part, str | int))
        what = f"{detail['msg'].removeprefix('Value error, ')}."
        code, todo = "schema", "Correct it, or see rules/README.md for the form."
        if detail["type"] == "extra_forbidden":
            code, what = "unknown-key", f"{path[-1]!r} is not a key that may stand here."
            todo = "Check its spelling, or remove it."
        elif detail["type"] == "missing":
            code, what = "missing-key", f"{path[-1]!r} is missing."
            todo = "Add it; rules/README.md shows where."
        problems.append(document.problem(path, code, what, todo))
    return problems


class _Loader:
    """Collects rules and problems while walking the folder."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.problems: list[Problem] = []
        self.rules: dict[Kind, dict[str, BaseModel]] = {kind: {} for kind in KINDS}
        self.areas: dict[str, str] = {}
        self.documents: dict[tuple[Kind, str], Document] = {}

    def read(self, path: Path) -> Document:
        document, problems = read(path, str(path.relative_to(self.folder)))
        self.problems += problems
        return document

    def kind(self, kind: Kind) -> None:
        """Read every file of one kind; its name without the ending is the id, its folder the area."""
        seen: set[str] = set()
        for path in sorted((self.folder / kind).rglob("*.yml")):
            name = str(path.relative_to(self.folder))
            todo = "Rename it so that its name ends in .yaml."
            self.problems.append(Problem(name, 0, 0, "unreadable", "only files ending in .yaml are read.", todo))
        for path in sorted((self.folder / kind).rglob("*.yaml"), key=lambda found: (found.stem, str(found))):
            before = len(self.problems)
            document = self.read(path)
            name = path.stem
            if name in seen:
                todo = "The file's name is the id: rename one of them."
                what = f"{name!r} is defined in two files."
                self.problems.append(document.problem((), "duplicate-id", what, todo))
                continue
            seen.add(name)
            if len(self.problems) > before:
                continue
            self._validate(kind, name, document)
            if kind in {"causes", "findings"}:
                self.areas[name] = path.parent.name
            self.documents[(kind, name)] = document

    def _validate(self, kind: Kind, name: str, document: Document) -> None:
        try:
            self.rules[kind][name] = _MODELS[kind].model_validate(document.data)
        except ValidationError as error:
            self.problems += _validation_problems(document, error)

    def sources(self) -> dict[str, Reference]:
        """Read sources.yaml, if there is one."""
        path = self.folder / "sources.yaml"
        found: dict[str, Reference] = {}
        if path.is_file():
            document = self.read(path)
            self.documents[("sources", "sources")] = document
            for name, data in document.data.items():
                try:
                    found[name] = Reference.model_validate(data)
                except ValidationError as error:
                    self.problems += _validation_problems(document, error)
        return found

    def costs(self) -> Prices:
        """Read costs.yaml; the prices stand nowhere else, so there must be one."""
        path = self.folder / COSTS
        if not path.is_file():
            what = "the file that says what time, coffee and trouble are worth is missing."
            todo = "Copy it from the rules installed: `diagnose rules copy` writes them out."
            self.problems.append(Problem(COSTS, 1, 1, "missing-file", what, todo))
            return _FREE
        before = len(self.problems)
        document = self.read(path)
        self.documents[("costs", "costs")] = document
        if len(self.problems) == before:
            try:
                return Prices.model_validate(document.data)
            except ValidationError as error:
                self.problems += _validation_problems(document, error)
        return _FREE

    def by_language(self, name: str) -> dict[str, dict[str, object]]:
        """Read the files <name>/<language>.yaml and <name>/<language>/<topic>.yaml; those of a language are one."""
        found: dict[str, dict[str, object]] = {}
        folder = self.folder / name
        paths = (*folder.glob("*.yaml"), *folder.glob("*/*.yaml"))
        parts = {path.relative_to(folder).with_suffix("").parts: path for path in paths}
        for part, path in sorted(parts.items()):
            document = self.read(path)
            self.documents[(name, "/".join(part))] = document
            self._merge(found.setdefault(part[0], {}), document.data, document, ())
        return found

    def _merge(
        self, into: dict[str, object], more: Mapping[str, object], document: Document, path: tuple[str, ...]
    ) -> None:
        """Add the entries of one file of a language; what an earlier file of it says already is a problem."""
        for key, value in more.items():
            at, before = (*path, key), into.get(key)
            if isinstance(value, Mapping) and isinstance(before, dict | None):
                inner: dict[str, object] = before or {}
                into[key] = inner
                self._merge(inner, value, document, at)
            elif key in into:
                what = f"the key {key!r} stands in another file of this language already."
                todo = "Keep one of the two; together the files of a language are one."
                self.problems.append(document.problem(at, "duplicate-key", what, todo))
            else:
                into[key] = value


def read_rules(folder: Path) -> tuple[RuleBase, list[Problem]]:
    """Read all rule files of `folder`; return what could be read and the problems of reading."""
    loader = _Loader(folder)
    for kind in KINDS:
        loader.kind(kind)
    sources, words, wording = loader.sources(), loader.by_language("words"), loader.by_language("wording")
    costs = loader.costs()
    frozen = {kind: MappingProxyType(rules) for kind, rules in loader.rules.items()}
    base = RuleBase(
        causes=frozen["causes"],  # type: ignore[arg-type]
        findings=frozen["findings"],  # type: ignore[arg-type]
        steps=frozen["steps"],  # type: ignore[arg-type]
        notices=frozen["notices"],  # type: ignore[arg-type]
        sources=MappingProxyType(sources),
        costs=costs,
        words=MappingProxyType(words),
        wording=MappingProxyType(wording.get(LANGUAGE, {})),
        areas=MappingProxyType(loader.areas),
        documents=MappingProxyType(loader.documents),
    )
    return base, loader.problems


@contextmanager
def _collector_paused() -> Iterator[None]:
    """Keep the garbage collector from scanning, again and again, many small objects that all stay."""
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        gc.freeze()
        if enabled:
            gc.enable()


def load(given: str | Path | None = None) -> RuleBase:
    """Load the rule base from `given` or from where it is installed.

    Raises RuleBaseMissing when there is none, RuleBaseError with every problem found when it is unusable.
    """
    from diagnose.rulebase.checks import essential

    with _collector_paused():
        base, problems = read_rules(rules_folder(given))
        problems = problems or essential(base)
    if problems:
        raise RuleBaseError(problems)
    return base
