"""The command line: picks the command, runs it, turns errors into words and an exit status."""

import argparse
import importlib
import io
import os
import sys
from collections.abc import Sequence
from typing import NamedTuple

from panchime import __version__
from panchime.cli.parser import Parser
from panchime.errors import PanchimeError

EXIT_OK = 0
EXIT_ERROR = 1
EXIT_INTERRUPTED = 130  # 128 + SIGINT, as shells count it


class Command(NamedTuple):
    """A command's name, the module that holds its ``register`` and ``run``, and one line of help."""

    name: str
    module: str
    help: str


COMMANDS = (
    Command("demo", "panchime.demo.command", "see a whole roast on a virtual board, without any hardware"),
    Command("virtual", "panchime.virtual.command", "run a virtual board, to try everything without hardware"),
    Command("find", "panchime.cli.find", "list the boards that are connected"),
    Command("install", "panchime.cli.install", "put Panchime on a new board, or bring it up to date"),
    Command("check", "panchime.cli.check", "see whether the board is fit for the next roast"),
    Command("calibrate", "panchime.cli.calibrate", "make the probe read right, by ice and boiling water"),
    Command("plan", "panchime.cli.plan", "write, check, send, read and show roast plans"),
    Command("watch", "panchime.cli.watch", "follow the roast that is running"),
    Command("pull", "panchime.cli.pull", "fetch the roasts a board has kept into the journal on this computer"),
    Command("roasts", "panchime.cli.roasts", "list the roasts in the journal, each with its number"),
    Command("show", "panchime.cli.show", "draw one roast of the journal: curve, stages, marks"),
    Command("report", "panchime.cli.report", "write a roast as a page for a browser, a phone or paper"),
    Command("compare", "panchime.cli.compare", "lay roasts over one another: how far apart they are"),
    Command("beans", "panchime.cli.beans", "keep the green lots: what was bought, what is left"),
    Command("weigh", "panchime.cli.weigh", "write down a roast's weights, and see what it lost"),
    Command("note", "panchime.cli.note", "write down words, photos, the day; correct marks"),
    Command("taste", "panchime.cli.taste", "write down how a roast tasted, on your own scales"),
    Command("ready", "panchime.cli.ready", "see which roasts are resting, at their best, or past it"),
    Command("cost", "panchime.cli.cost", "see what your coffee costs, beside what a shop takes"),
    Command("export", "panchime.cli.export", "write roasts as tables (CSV) for a spreadsheet, or for programs"),
    Command("import", "panchime.cli.import_roast", "take in a roast that was logged by hand"),
    Command("backup", "panchime.cli.backup", "copy the whole journal into one file"),
    Command("restore", "panchime.cli.restore", "put a backup in the journal's place"),
)


def chosen_command(arguments: Sequence[str]) -> Command | None:
    """The command named by the first word that is no option."""
    for word in arguments:
        if not word.startswith("-"):
            return next((command for command in COMMANDS if command.name == word), None)
    return None


def build_parser(chosen: Command | None) -> argparse.ArgumentParser:
    """The parser: every command by name and help, and the full one of the chosen command only.

    A module is imported when its command is chosen and not before: that keeps the start quick.
    """
    parser = Parser(
        prog="panchime",
        description="Hear where the roast is: the companion of the Panchime board.",
        epilog="First steps: 'demo' shows what it is. With a board: 'install', 'check', 'plan new', 'plan send', then roast; "
        "afterwards 'pull', 'roasts' and 'show'. 'panchime COMMAND --help' says more about one command. "
        "The relay cutoff is never the only protection: stay with the roast.",
    )
    parser.add_argument("-V", "--version", action="version", version=f"panchime {__version__}")
    commands = parser.add_subparsers(dest="command", metavar="COMMAND", required=True, title="commands")
    for command in COMMANDS:
        if command is chosen:
            importlib.import_module(command.module).register(commands)
        else:
            commands.add_parser(command.name, help=command.help, add_help=False)
    return parser


def never_stumble_over_letters() -> None:
    """Lets a terminal that lacks a letter show a question mark: that is better than an error halfway through."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="replace")


def silence_broken_pipe() -> None:
    """Points stdout at nothing, so that the interpreter's last flush does not complain about the closed pipe."""
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, sys.stdout.fileno())


def main(argv: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit status: 0 done, 1 an error, 2 wrong usage, 130 interrupted."""
    arguments = list(sys.argv[1:] if argv is None else argv)
    never_stumble_over_letters()
    try:
        chosen = chosen_command(arguments)
        options = build_parser(chosen).parse_args(arguments)
        assert chosen is not None, "argparse refuses a missing or unknown command"
        status = importlib.import_module(chosen.module).run(options)
        sys.stdout.flush()
        return int(status)
    except PanchimeError as error:
        from panchime.terminal.safe_text import safe_lines

        print(f"panchime: {safe_lines(str(error))}", file=sys.stderr)
        return EXIT_ERROR
    except KeyboardInterrupt:
        return EXIT_INTERRUPTED
    except BrokenPipeError:
        silence_broken_pipe()
        return EXIT_ERROR
    except OSError as error:
        # A full disk, a folder that refuses, a port that is taken: the system's words say what, and nothing was half done.
        where = f" ({error.filename})" if error.filename else ""
        print(f"panchime: {error.strerror or error}{where}: make room or choose another place, and try again", file=sys.stderr)
        silence_broken_pipe()
        return EXIT_ERROR
