"""`panchime plan`: write, check, send, read and show roast plans."""

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.planfile.reading import PlanText


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command and its own commands to the command line."""
    from panchime.cli.boards import add_port_option
    from panchime.cli.plan_listen import register_listen
    from panchime.cli.plan_practice import register_practice

    parser = commands.add_parser(
        "plan",
        help="write, check, send, read and show roast plans",
        description="A plan says what the board sounds, when, and at which temperature it cuts off.",
    )
    actions = parser.add_subparsers(dest="action", metavar="ACTION", required=True, title="actions")
    new = actions.add_parser("new", help="write a commented plan to start from", description=NEW_DESCRIPTION)
    new.add_argument("method", nargs="?", metavar="METHOD", help="how you roast; without it the methods are listed")
    new.add_argument("file", nargs="?", metavar="FILE", help="where to write it (METHOD.toml if not said, - for the screen)")
    new.add_argument("--fahrenheit", action="store_true", help="in degrees Fahrenheit (degrees Celsius if not said)")
    new.add_argument("--force", action="store_true", help="write over a file that is there")
    check = actions.add_parser(
        "check",
        help="name every mistake in a plan file",
        description="Reads a plan file and names every mistake in it, and sounds that an ear could confuse. Sends nothing.",
    )
    check.add_argument("file", metavar="FILE", help="the plan file; - reads what another program writes")
    send = actions.add_parser(
        "send",
        help="check a plan file and send it to the board",
        description="The board keeps the plan, without power too, until another one is sent. It takes none while a roast runs.",
    )
    send.add_argument("file", metavar="FILE", help="the plan file; - reads what another program writes")
    add_port_option(send)
    read = actions.add_parser(
        "read",
        help="write the board's plan to a file or the screen",
        description="With its remarks, where it was sent from this computer.",
    )
    read.add_argument("file", nargs="?", metavar="FILE", help="where to write it (the screen if not said)")
    read.add_argument("--force", action="store_true", help="write over a file that is there")
    add_port_option(read)
    show = actions.add_parser(
        "show",
        help="show a plan as a table",
        description="What the plan says, in words: its limit, and what sounds when.",
    )
    source = show.add_mutually_exclusive_group(required=True)
    source.add_argument("file", nargs="?", metavar="FILE", help="the plan file; - reads what another program writes")
    source.add_argument("--board", action="store_true", help="the plan on the board")
    show.add_argument("--json", action="store_true", help="as JSON, for other programs")
    add_port_option(show)
    register_listen(actions)
    register_practice(actions)


NEW_DESCRIPTION = "Writes a plan with a comment beside each line. Without a METHOD it lists them."


def run(options: argparse.Namespace) -> int:
    """Runs the chosen action."""
    from panchime.cli.plan_listen import run_listen
    from panchime.cli.plan_practice import run_diff, run_from_roast, run_rehearse

    actions = {
        "new": run_new,
        "check": run_check,
        "send": run_send,
        "read": run_read,
        "show": run_show,
        "listen": run_listen,
        "from-roast": run_from_roast,
        "rehearse": run_rehearse,
        "diff": run_diff,
    }
    return actions[options.action](options)


def run_new(options: argparse.Namespace) -> int:
    """Writes a starter, or lists the methods."""
    from panchime.planfile.starters import STARTER_METHODS, file_name, method_named, starter
    from panchime.terminal.command_line import command_line
    from panchime.terminal.safe_text import safe_line

    if options.method is None:
        print("Methods with a plan to start from:")
        for method in STARTER_METHODS:
            print(f"  {method}")
        print("\n'panchime plan new skillet' writes skillet.toml; with --fahrenheit, in degrees Fahrenheit")
        return 0
    method = method_named(options.method)
    text = starter(method, "F" if options.fahrenheit else "C")
    name = options.file or file_name(method)
    if name == "-":
        sys.stdout.write(text)
        return 0
    write_text(name, text, options.force)
    print(f"{safe_line(name)} is written. Edit it, then:")
    for action in ("check", "send"):
        print(f"  {safe_line(command_line(['plan', action, name]))}")
    if "heater_on_relay = true" in text:
        print("This plan drives a heater by the relay: read SAFETY.md and the cautions at the top of the file first.")
    return 0


def run_check(options: argparse.Namespace) -> int:
    """Checks a plan file; every mistake is an error, two sounds that are alike are a warning."""
    from panchime.cli.plan_listen import warn_of_likeness
    from panchime.planfile.reading import checked, read_plan
    from panchime.terminal.safe_text import safe_line

    plan = checked(read_plan(options.file))
    milestones = len(plan.document.get("milestone", ()))
    print(f"{safe_line(plan.place)}: no mistakes; {milestones} {'milestone' if milestones == 1 else 'milestones'}")
    warn_of_likeness(plan)
    return 0


def run_send(options: argparse.Namespace) -> int:
    """Sends a plan file to the board."""
    from panchime.cli.boards import open_board
    from panchime.cli.plan_listen import warn_of_likeness
    from panchime.journal.journal import Journal
    from panchime.planfile.keeping import send
    from panchime.planfile.reading import checked, read_plan
    from panchime.terminal.safe_text import safe_line

    plan = checked(read_plan(options.file))
    with open_board(options.port) as board, Journal() as journal:
        send(board, journal, plan)
        print(
            f"{safe_line(board.identity.model)} {safe_line(board.identity.serial)} has the plan "
            f"'{safe_line(plan.document['name'])}', read back and the same."
        )
    warn_of_likeness(plan)
    return 0


def run_read(options: argparse.Namespace) -> int:
    """Writes the board's plan."""
    from panchime.cli.boards import open_board
    from panchime.journal.journal import Journal
    from panchime.planfile.keeping import read
    from panchime.terminal.safe_text import safe_lines

    with open_board(options.port) as board, Journal() as journal:
        text, original = read(board, journal)
    if options.file is None or options.file == "-":
        sys.stdout.write(safe_lines(text) if sys.stdout.isatty() else text)
        return 0
    write_text(options.file, text, options.force)
    source = "with the comments it was sent with" if original else "without comments: this computer did not send it"
    print(f"{options.file} is written, {source}.")
    return 0


def run_show(options: argparse.Namespace) -> int:
    """Shows a plan as a table."""
    from panchime.planfile.reading import checked, read_plan
    from panchime.terminal.output import console, print_json

    plan = checked(board_plan(options) if options.board else read_plan(options.file))
    if options.json:
        print_json(plan.document)
        return 0
    from panchime.terminal.plan_table import plan_screen

    out = console()
    for part in plan_screen(plan.document):
        out.print(part)
    return 0


def board_plan(options: argparse.Namespace) -> "PlanText":
    """The plan on the board."""
    from panchime.cli.boards import open_board
    from panchime.planfile.keeping import document_of
    from panchime.planfile.reading import PlanText

    with open_board(options.port) as board:
        return PlanText("the plan on the board", "", document_of(board.plan_json()))


def write_text(name: str, text: str, force: bool) -> None:
    """Writes a file. Raises PanchimeError when it is there already and ``force`` is not given, or cannot be written."""
    from panchime.errors import PanchimeError

    try:
        with open(name, "w" if force else "x", encoding="utf-8", newline="") as file:
            file.write(text)
    except FileExistsError:
        raise PanchimeError(f"{name} is there already: --force writes over it, or name another file") from None
    except OSError as error:
        raise PanchimeError(f"{name} cannot be written: {error.strerror}") from error
