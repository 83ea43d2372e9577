"""Strict reading of one YAML file: every scalar as text, duplicate keys refused, every place remembered.

Plain YAML turns `yes` into a truth value, `012` into 10 and lets the last of two equal keys win without a word. Rule
files are written by people who should not have to know that, so scalars stay text and the schema converts them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import yaml

from diagnose.model import Problem

PathKey = tuple[str | int, ...]
Place = tuple[int, int]

# The C parser reads a folder about eight times faster; a PyYAML built without it still works.
_BASE: Any = getattr(yaml, "CBaseLoader", yaml.BaseLoader)
_TAGS: dict[type[yaml.Node], str] = {yaml.MappingNode: "map", yaml.SequenceNode: "seq"}


class _TextLoader(_BASE):  # type: ignore[misc]  # the base is chosen when this is imported
    """Leaves every scalar the text it is, without looking for numbers, dates or truth values in it."""

    def resolve(self, kind: type[yaml.Node], _value: object, _implicit: object) -> str:
        """Return the tag of a plain node of this kind."""
        return _TAGS.get(kind, "str")

    def descend_resolver(self, _parent: object, _index: object) -> None:
        """Do nothing: no tag depends on where a node stands."""

    def ascend_resolver(self) -> None:
        """Do nothing, as above."""


@dataclass(frozen=True, slots=True)
class Document:
    """One rule file as read: `data` with text scalars, and the nodes behind it for places in messages."""

    file: str
    data: Mapping[str, object]
    root: yaml.Node | None = None

    def line(self, *path: str | int) -> int:
        """Return the line of the innermost part of `path` that exists in the file."""
        return self.place(path)[0]

    def place(self, path: PathKey) -> Place:
        """Return (line, column) of `path`, or of the closest part around it: of a key where there is one."""
        node, mark = self.root, self.root.start_mark if self.root is not None else None
        for part in path:
            node, found = _step(node, part)
            if node is None:
                break
            mark = found
        return (1, 1) if mark is None else (mark.line + 1, mark.column + 1)

    @property
    def lines(self) -> int:
        """Return the number of the last line that holds anything."""
        return self.root.end_mark.line if self.root is not None else 0

    def problem(self, path: PathKey, code: str, what: str, todo: str) -> Problem:
        """Return a Problem placed at `path` in this file."""
        line, column = self.place(path)
        return Problem(self.file, line, column, code, what, todo)


def _step(node: yaml.Node | None, part: str | int) -> tuple[yaml.Node | None, yaml.Mark | None]:
    """Return the node one part further down a path, and the mark of its key or of itself; (None, None) if none."""
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            if key.value == part:
                return value, key.start_mark
    elif isinstance(node, yaml.SequenceNode) and isinstance(part, int) and part < len(node.value):
        return node.value[part], node.value[part].start_mark
    return None, None


class _Reader:
    """Turns composed YAML nodes into plain values and collects problems."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.problems: list[Problem] = []

    def value(self, node: yaml.Node) -> object:
        """Return the plain value of `node`; scalars are text, an empty scalar is None."""
        if isinstance(node, yaml.ScalarNode):
            return None if node.value == "" and not node.style else node.value
        if isinstance(node, yaml.SequenceNode):
            return [self.value(item) for item in node.value]
        return self.mapping(node)

    def mapping(self, node: yaml.Node) -> dict[str, object]:
        """Return the plain values of a mapping; a key that stands twice is a problem, and its first value counts."""
        result: dict[str, object] = {}
        for key_node, value_node in node.value:
            key = str(key_node.value)
            if key in result:
                mark = key_node.start_mark
                what = f"the key {key!r} stands here a second time."
                todo = "Keep one of the two; YAML would silently drop the first."
                self.problems.append(Problem(self.file, mark.line + 1, mark.column + 1, "duplicate-key", what, todo))
                continue
            result[key] = self.value(value_node)
        return result


def read(path: Path, name: str) -> tuple[Document, list[Problem]]:
    """Read one file. `name` is how the file is named in messages. Problems are returned, not raised."""
    empty = Document(name, {})
    try:
        text = path.read_text(encoding="utf-8")
        root = yaml.compose(text, Loader=_TextLoader)
    except UnicodeDecodeError:
        return empty, [Problem(name, 1, 1, "not-text", "the file is not UTF-8 text.", "Save it again as UTF-8.")]
    except OSError as error:
        todo = "Check the file's permissions."
        return empty, [Problem(name, 0, 0, "unreadable", f"the file cannot be read ({error.strerror}).", todo)]
    except yaml.MarkedYAMLError as error:
        mark = error.problem_mark
        line, column = (mark.line + 1, mark.column + 1) if mark else (1, 1)
        what = f"this is not valid YAML: {error.problem or error.context}."
        return empty, [Problem(name, line, column, "not-yaml", what, "Check indentation, quotes and colons here.")]
    except yaml.YAMLError as error:
        what = f"this is not valid YAML: {' '.join(str(error).split())}."
        return empty, [Problem(name, 1, 1, "not-yaml", what, "Remove control characters from the file.")]
    if not isinstance(root, yaml.MappingNode):
        what = "a rule file is a list of `key: value` lines."
        return empty, [Problem(name, 1, 1, "not-a-mapping", what, "Start from an example in rules/README.md.")]
    reader = _Reader(name)
    data = reader.mapping(root)
    return Document(name, data, root), reader.problems
