"""The command line: arguments, exit codes, and nothing else; the rest is imported when it is needed.

Exit codes: 0 answered, 1 a check found something, 2 usage, 3 rule base unusable, 4 log could not be opened or
written (the answer is still printed), 5 engine cannot be loaded, 130 interrupted.
"""

import argparse
import os
import sys
from collections.abc import Sequence

from diagnose import __version__

TYPE_CHECKING = False  # typing takes as long to import as argparse
if TYPE_CHECKING:
    from pathlib import Path

    from diagnose.conversation import Conversation

USAGE, LOG_FAILED, INTERRUPTED = 2, 4, 130
EXAMPLES = """\
examples:
  diagnose                                       open the chat
  diagnose ask "18 g in, 44 g out in 16 s, sour"
  diagnose ask --json --setting service "gushing, recipe is 18 in 36 out 27 s"
  printf 'my coffee is bitter\\ndont know\\n' | diagnose
  diagnose rules show grind_too_coarse
  diagnose water "Ca 72 mg/L, Mg 26 mg/L, HCO3 133 mg/L"
  diagnose milk "200 g from 5 to 65 C at 1.0 bar gauge"
"""


def parser() -> argparse.ArgumentParser:
    """Return the parser of all commands."""
    common = argparse.ArgumentParser(add_help=False, argument_default=argparse.SUPPRESS)
    common.add_argument("--setting", choices=("home", "service", "training"), help="who asks (default: home)")
    common.add_argument("--rules", metavar="DIR", help="folder of rule files (default: those installed)")
    common.add_argument("--log", metavar="FILE", help="where shots are remembered")
    common.add_argument("--coffee", metavar="NAME", help="which coffee the shots are of; the log keeps them apart")
    common.add_argument("--no-log", action="store_true", help="remember nothing, not even what was typed")
    common.add_argument("--plain", action="store_true", help="plain lines, for screen readers")
    common.add_argument("--no-toolbar", action="store_true", help="no line below the prompt")
    common.add_argument("--json", action="store_true", help="answer as JSON, one object a turn")
    main_parser = argparse.ArgumentParser(
        prog="diagnose",
        description="Find out why the coffee is wrong, and the one thing to do next.",
        epilog=EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
        parents=[common],
    )
    main_parser.add_argument("--version", action="version", version=f"diagnose {__version__}")
    commands = main_parser.add_subparsers(dest="command", metavar="COMMAND")
    ask = commands.add_parser("ask", parents=[common], help="answer one text and stop")
    ask.add_argument("text", nargs="+", help="what you see, in your own words")
    _rules_parser(commands.add_parser("rules", help="check, list, show or copy the rules"), common)
    _log_parser(commands.add_parser("log", help="list, show, retract, export or import what is remembered"), common)
    _care_parser(commands.add_parser("care", parents=[common], help="what care is due, and what was done"), common)
    replay = commands.add_parser("replay", parents=[common], help="answer written talks again and compare")
    replay.add_argument("files", nargs="+", metavar="FILE", help="a talk written in Markdown")
    replay.add_argument("--rewrite", action="store_true", help="write the new answers into the files")
    _practice_parser(commands.add_parser("practice", help="simulate, to see how far to trust the advice"), common)
    _report_parsers(commands, common)
    return main_parser


def _practice_parser(practice: argparse.ArgumentParser, common: argparse.ArgumentParser) -> None:
    actions = practice.add_subparsers(dest="action", metavar="ACTION", required=True)
    steady = actions.add_parser("steady", parents=[common], help="is a steady process left alone, is fixed truly so")
    steady.add_argument("--shots", metavar="N", type=_shots, default=9000, help="how many to simulate (default: 9000)")
    steady.add_argument("--seed", metavar="S", type=int, default=20240607, help="another number draws other shots")


def _shots(text: str) -> int:
    """Return a number of shots large enough to tell anything."""
    if not text.isdecimal() or not 600 <= int(text) <= 1_000_000:
        raise argparse.ArgumentTypeError(f"{text} is no number from 600 to 1000000")
    return int(text)


def _report_parsers(
    commands: "argparse._SubParsersAction[argparse.ArgumentParser]", common: argparse.ArgumentParser
) -> None:
    from diagnose.report.command import add_milk, add_water

    add_water(commands.add_parser("water", parents=[common], help="what a water does to the machine and the cup"))
    add_milk(commands.add_parser("milk", parents=[common], help="what steaming does to a jug of milk"))


def _rules_parser(rules: argparse.ArgumentParser, common: argparse.ArgumentParser) -> None:
    actions = rules.add_subparsers(dest="action", metavar="ACTION", required=True)
    actions.add_parser("check", parents=[common], help="look for faults in the rule files")
    actions.add_parser("list", parents=[common], help="list every rule")
    actions.add_parser("show", parents=[common], help="show one rule as a card").add_argument("name")
    actions.add_parser("map", parents=[common], help="show causes against findings")
    actions.add_parser("copy", parents=[common], help="copy the rules for editing").add_argument("folder")


def _log_parser(log: argparse.ArgumentParser, common: argparse.ArgumentParser) -> None:
    actions = log.add_subparsers(dest="action", metavar="ACTION", required=True)
    listing = actions.add_parser("list", parents=[common], help="list the shots, the newest last")
    listing.add_argument("--last", metavar="N", type=int, default=20, help="how many (default: 20)")
    show = actions.add_parser("show", parents=[common], help="show one row in full")
    show.add_argument("id", metavar="ID", type=int, help="its number in the list")
    retract = actions.add_parser("retract", parents=[common], help="withdraw one row; it stays in the file")
    retract.add_argument("id", metavar="ID", type=int, help="its number in the list")
    export = actions.add_parser("export", parents=[common], help="write the whole log as JSON Lines")
    export.add_argument("file", metavar="FILE", nargs="?", help="a new file (default: standard output)")
    bring_in = actions.add_parser("import", parents=[common], help="add the rows of an export")
    bring_in.add_argument("file", metavar="FILE", help="an export, or - for standard input")
    spread = actions.add_parser("spread", parents=[common], help="your own spread in seconds at one setting")
    spread.add_argument("--svg", metavar="FILE", help="draw the chart into a new file")
    actions.add_parser("path", parents=[common], help="say where the log lies")


def _care_parser(care: argparse.ArgumentParser, common: argparse.ArgumentParser) -> None:
    actions = care.add_subparsers(dest="action", metavar="ACTION")
    done = actions.add_parser("done", parents=[common], help="write down what was done")
    done.add_argument("item", metavar="ITEM", nargs="+", help="one or more names of `diagnose care list`")
    done.add_argument("--on", metavar="DATE", help="the day, as 2026-05-31 (default: now)")
    done.add_argument("--note", metavar="TEXT", default="", help="anything worth keeping with it")
    actions.add_parser("list", parents=[common], help="list everything there is to look after")
    water = actions.add_parser("water", parents=[common], help="say or show what the water leaves behind")
    water.add_argument("--hardness", metavar="N", help="in mg/L as CaCO3, or with its unit, as '8 dH'")
    water.add_argument("--alkalinity", metavar="N", help="the same for the alkalinity")
    water.add_argument("--litres", metavar="N", help="litres through the machine in a day")
    water.add_argument("--filter-litres", metavar="N", help="litres a filter cartridge lasts, by its maker")


def main(argv: Sequence[str] | None = None) -> int:
    """Run the command; return its exit code. Deliberate errors become one clear message, never a traceback."""
    try:
        from diagnose.errors import DiagnoseError

        _open_streams()
        try:
            code = _run(parser().parse_args(argv))
            sys.stdout.flush()
        except DiagnoseError as error:
            sys.stderr.write(f"{error}\n")
            code = error.exit_code
    except SystemExit as stop:
        return stop.code if isinstance(stop.code, int) else USAGE
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        # The reader has gone; keep the interpreter from complaining while it closes the stream.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except OSError as error:
        sys.stderr.write(f"The answer could not be written ({error.strerror}): send it elsewhere, or make room.\n")
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return USAGE
    return code


def _open_streams() -> None:
    """Put an empty stream in place of one the caller has closed."""
    sys.stdin = sys.stdin or os.fdopen(os.open(os.devnull, os.O_RDONLY), encoding="utf-8")
    sys.stdout = sys.stdout or os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8")
    sys.stderr = sys.stderr or os.fdopen(os.open(os.devnull, os.O_WRONLY), "w", encoding="utf-8")


def _run(options: argparse.Namespace) -> int:
    if options.command == "rules":
        return _rules(options)
    if options.command == "log":
        from diagnose import log_command

        return log_command.run(options)
    if options.command == "care":
        from diagnose import care_command

        return care_command.run(options, _rules_folder(options))
    by_command = {"ask": _ask, "replay": _replay, "practice": _practice, "water": _report, "milk": _report}
    return by_command.get(options.command, _chat)(options)


def _report(options: argparse.Namespace) -> int:
    from diagnose.report import command
    from diagnose.terminal.plain import width_of

    answer = command.water if options.command == "water" else command.milk
    return answer(options, width_of(sys.stdout), as_json=_as_json(options))


def _as_json(options: argparse.Namespace) -> bool:
    return bool(getattr(options, "json", False))


def _rules_folder(options: argparse.Namespace) -> str | None:
    return getattr(options, "rules", None) or os.environ.get("DIAGNOSE_RULES") or None


def _coffee(options: argparse.Namespace) -> str | None:
    return " ".join(getattr(options, "coffee", "").split()) or None


def _conversation(options: argparse.Namespace, log: "Path | None") -> "Conversation":
    from diagnose.conversation import Conversation

    rules, coffee = _rules_folder(options), _coffee(options)
    return Conversation(rules=rules, log=log, setting=getattr(options, "setting", "home"), coffee=coffee)


def _closed(conversation: "Conversation", code: int) -> int:
    """Close a talk; a log that could not be used is said on the error stream and changes the exit code."""
    conversation.close()
    if conversation.log_fault is None:
        return code
    sys.stderr.write(f"{conversation.log_fault}\n")
    return LOG_FAILED if code == 0 else code


def _ask(options: argparse.Namespace) -> int:
    from diagnose.terminal.plain import show

    given = getattr(options, "log", None) and not getattr(options, "no_log", False)
    conversation = _conversation(options, _log_file(options) if given else None)
    show(conversation.say(" ".join(options.text)), sys.stdout, as_json=_as_json(options))
    return _closed(conversation, 0)


def _chat(options: argparse.Namespace) -> int:
    from diagnose.terminal import texts

    log = _log_file(options)
    new = not log.exists() if log is not None else sys.stdin.isatty()
    conversation = _conversation(options, log)
    kept = log if conversation.log_fault is None else None
    first_start = texts.first_start(conversation.rules.wording, kept) if new else ()
    if _at_terminal(options):
        from diagnose.terminal import interactive

        history = log.with_name(f"{log.name}.history") if log is not None else None
        toolbar = not getattr(options, "no_toolbar", False)
        code = interactive.chat(conversation, history=history, toolbar=toolbar, first_start=first_start)
        return _closed(conversation, code)
    from diagnose.terminal import plain

    code = plain.chat(conversation, sys.stdin, sys.stdout, as_json=_as_json(options), first_start=first_start)
    return _closed(conversation, code)


def _at_terminal(options: argparse.Namespace) -> bool:
    """Return whether somebody sits at a terminal that can do more than print lines."""
    if getattr(options, "plain", False) or _as_json(options):
        return False
    if os.environ.get("TERM", "").lower() in {"dumb", "unknown"}:
        return False
    return sys.stdin.isatty() and sys.stdout.isatty()


def _log_file(options: argparse.Namespace) -> "Path | None":
    """Return where the chat's log lies, None where nothing is to be remembered or no place is known."""
    from pathlib import Path

    from diagnose.errors import LogError
    from diagnose.logbook.place import default_path

    if getattr(options, "no_log", False):
        return None
    if getattr(options, "log", None):
        return Path(options.log)
    try:
        return default_path(os.environ, sys.platform)
    except LogError as error:
        sys.stderr.write(f"{error}\n")
        return None


def _rules(options: argparse.Namespace) -> int:
    from diagnose import rules_command

    folder, as_json = _rules_folder(options), _as_json(options)
    if options.action == "check":
        from diagnose.conversation.examples import failing_examples

        return rules_command.check(folder, as_json=as_json, examples=failing_examples)
    return rules_command.run(options.action, folder, options, as_json=as_json)


def _replay(options: argparse.Namespace) -> int:
    from diagnose.practice import command

    return command.run(options.files, _rules_folder(options), rewrite=options.rewrite, as_json=_as_json(options))


def _practice(options: argparse.Namespace) -> int:
    from diagnose.practice import steady_command

    return steady_command.run(_rules_folder(options), shots=options.shots, seed=options.seed, as_json=_as_json(options))
