"""Every error the project raises on purpose, and the exit code each one carries.

::

    DiagnoseError                  exit 2   something was asked for in a way that cannot be served
    ├── RuleBaseError              exit 3   the rules cannot be used; holds one or more Problems
    │   └── RuleBaseMissing        exit 3   no rules folder where one was expected
    ├── LogError                   exit 4   the log could not be opened or written
    ├── EngineUnavailable          exit 5   the compiled rule engine cannot be imported
    ├── EngineFault                exit 5   the engine was asked for something outside its safe subset
    └── OutOfRange                 exit 2   a number outside what its formula covers

What is wrong in a rule file is a value, `diagnose.model.Problem`: one thing in one place, with what to do about it.
"""

TYPE_CHECKING = False  # every command imports this module, `--help` included, so it imports nothing itself
if TYPE_CHECKING:
    from diagnose.model import Problem


class DiagnoseError(Exception):
    """Base of all deliberate errors; `exit_code` is what the command line returns."""

    exit_code = 2


class RuleBaseError(DiagnoseError):
    """The rule base does not load. `problems` lists every fault found, in file order."""

    exit_code = 3

    def __init__(self, problems: "list[Problem]") -> None:
        """Keep the problems, sorted by place."""
        self.problems = sorted(problems)
        super().__init__("\n".join(str(problem) for problem in self.problems))


class RuleBaseMissing(RuleBaseError):
    """There is no rules folder at the place named."""


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
