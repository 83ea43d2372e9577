"""Strict reading of one YAML file: every scalar as text, duplicate keys refused, every place remembered.

Plain YAML turns `yes` into a truth value, `012` into 10 and lets the last of two equal keys win without a word. Rule
files are written by people who should not have to know that, so scalars stay text and the schema converts them.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

import yaml

from diagnose.errors import Problem

PathKey = tuple[str | int, ...]
Place = tuple[int, int]

# The C parser reads a folder about eight times faster; a PyYAML built without it still works.
_LOADER: type = getattr(yaml, "CSafeLoader", yaml.SafeLoader)


@dataclass(frozen=True, slots=True)
class Document:
    """One rule file as read: `data` with text scalars, `places` from a path inside it to (line, column)."""

    file: str
    data: Mapping[str, object]
    places: Mapping[PathKey, Place]

    def line(self, *path: str | int) -> int:
        """Return the line of the innermost part of `path` that exists in the file."""
        return self.place(path)[0]

    def place(self, path: PathKey) -> Place:
        """Return (line, column) of `path`, or of the closest part around it."""
        for end in range(len(path), -1, -1):
            if path[:end] in self.places:
                return self.places[path[:end]]
        return (1, 1)

    def problem(self, path: PathKey, code: str, what: str, todo: str) -> Problem:
        """Return a Problem placed at `path` in this file."""
        line, column = self.place(path)
        return Problem(self.file, line, column, code, what, todo)


class _Reader:
    """Turns composed YAML nodes into plain values and collects places and problems."""

    def __init__(self, file: str) -> None:
        self.file = file
        self.places: dict[PathKey, Place] = {}
        self.problems: list[Problem] = []

    def value(self, node: yaml.Node, path: PathKey) -> object:
        """Return the plain value of `node`; scalars are text, an empty scalar is None."""
        self.places.setdefault(path, (node.start_mark.line + 1, node.start_mark.column + 1))
        if isinstance(node, yaml.ScalarNode):
            return None if node.value == "" and not node.style else str(node.value)
        if isinstance(node, yaml.SequenceNode):
            return [self.value(item, (*path, index)) for index, item in enumerate(node.value)]
        return self._mapping(node, path)

    def _mapping(self, node: yaml.Node, path: PathKey) -> dict[str, object]:
        result: dict[str, object] = {}
        for key_node, value_node in node.value:
            key = str(key_node.value)
            mark = key_node.start_mark
            if key in result:
                self.problems.append(
                    Problem(
                        self.file,
                        mark.line + 1,
                        mark.column + 1,
                        "duplicate-key",
                        f"the key {key!r} stands here a second time.",
                        "Keep one of the two; YAML would silently drop the first.",
                    )
                )
                continue
            self.places[(*path, key)] = (mark.line + 1, mark.column + 1)
            result[key] = self.value(value_node, (*path, key))
        return result


def read(path: Path, name: str) -> tuple[Document, list[Problem]]:
    """Read one file. `name` is how the file is named in messages. Problems are returned, not raised."""
    empty = Document(name, {}, {})
    try:
        text = path.read_text(encoding="utf-8")
        root = yaml.compose(text, Loader=_LOADER)
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
    data = reader.value(root, ())
    assert isinstance(data, dict)  # noqa: S101 - the root was checked to be a mapping
    return Document(name, data, reader.places), reader.problems
