"""Every error the project raises on purpose, and the exit code each one carries.

::

    DiagnoseError                  exit 2   something was asked for in a way that cannot be served
    ├── RuleBaseError              exit 3   the rules cannot be used; holds one or more Problems
    │   └── RuleBaseMissing        exit 3   no rules folder where one was expected
    ├── LogError                   exit 4   the log could not be opened or written
    ├── EngineUnavailable          exit 5   the compiled rule engine cannot be imported
    ├── EngineFault                exit 5   the engine was asked for something outside its safe subset
    └── OutOfRange                 exit 2   a number outside what its formula covers

A `Problem` is a value: one thing wrong in one place, with what to do about it.
"""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True, order=True)
class Problem:
    """One thing wrong in a rule file. Lines and columns count from 1; 0 means the whole file."""

    file: str
    line: int
    column: int
    code: str
    what: str
    todo: str

    def __str__(self) -> str:
        """Return ``path:line:column: code what. todo``, the form editors can jump to."""
        return f"{self.file}:{self.line}:{self.column}: {self.code} {self.what} {self.todo}"


class DiagnoseError(Exception):
    """Base of all deliberate errors; `exit_code` is what the command line returns."""

    exit_code = 2


class RuleBaseError(DiagnoseError):
    """The rule base does not load. `problems` lists every fault found, in file order."""

    exit_code = 3

    def __init__(self, problems: list[Problem]) -> None:
        """Keep the problems, sorted by place."""
        self.problems = sorted(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class RuleBaseMissing(RuleBaseError):
    """There is no rules folder at the place named."""

    def __init__(self, path: Path) -> None:
        """Say where it was looked for and how to point elsewhere."""
        todo = "Give a folder that holds causes/, findings/ and steps/ with --rules DIR or DIAGNOSE_RULES."
        super().__init__([Problem(str(path), 0, 0, "no-rules", "there is no rule base here.", todo)])


class LogError(DiagnoseError):
    """The log could not be opened, read or written; nothing acknowledged was lost."""

    exit_code = 4


class EngineUnavailable(DiagnoseError):
    """The rule engine's compiled module cannot be imported on this Python."""

    exit_code = 5


class EngineFault(DiagnoseError):
    """A rule or fact lies outside the forms the engine handles correctly, or a run did not end."""

    exit_code = 5


class OutOfRange(DiagnoseError):
    """A number lies outside the range a formula covers; the message gives the range and the unit."""
