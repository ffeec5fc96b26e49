"""`panchime pull`: fetch the roasts a board has kept into the journal."""

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.journal.pulling import PullReport
    from panchime.link.board import Board


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    from panchime.cli.boards import add_port_option

    parser = commands.add_parser(
        "pull",
        help="fetch the roasts a board has kept into the journal on this computer",
        description="Fetches what is new or has grown. The board keeps its roasts unless --tidy is given; "
        "the journal keeps every roast for ever, exactly as the board recorded it.",
    )
    add_port_option(parser)
    parser.add_argument("--all", action="store_true", help="fetch also what the journal has already")
    parser.add_argument(
        "--tidy",
        action="store_true",
        help="delete from the board what is whole in the journal; never the roast that runs",
    )
    parser.add_argument(
        "--may-drop",
        choices=("yes", "no"),
        help="whether from now on the board may drop by itself, oldest first, roasts that were pulled whole, when its flash "
        "is full (kept on the board; a new board does not)",
    )
    parser.add_argument("--json", action="store_true", help="as JSON, for other programs")


def run(options: argparse.Namespace) -> int:
    """Pulls; 1 when a log on the board could not be read."""
    from panchime.cli.boards import open_board
    from panchime.terminal.output import print_json

    with open_board(options.port) as board:
        if options.may_drop:
            board.let_drop(options.may_drop == "yes")
        report = pull_with_progress(board, options)
    if options.json:
        print_json(as_json(report))
    else:
        tell(report)
    return 1 if any(pulled.number is None for pulled in report.files) else 0


def pull_with_progress(board: "Board", options: argparse.Namespace) -> "PullReport":
    """Pulls with a progress bar on a terminal, silently elsewhere."""
    from panchime.journal.journal import Journal
    from panchime.journal.pulling import pull

    with Journal() as journal:
        if not sys.stderr.isatty() or options.json:
            return pull(board, journal, everything=options.all, tidy=options.tidy)
        from rich.console import Console
        from rich.progress import BarColumn, DownloadColumn, Progress, TextColumn

        from panchime.terminal.safe_text import safe_line

        columns = (TextColumn("{task.description}", markup=False), BarColumn(), DownloadColumn())
        with Progress(*columns, console=Console(stderr=True), transient=True) as bars:
            task = bars.add_task("roasts", total=None)

            def show(name: str, done: int, whole: int) -> None:
                bars.update(task, description=safe_line(name), completed=done, total=whole)

            return pull(board, journal, everything=options.all, tidy=options.tidy, progress=show)


def tell(report: "PullReport") -> None:
    """What the pull did, in words."""
    from panchime.journal.journal import Journal
    from panchime.journal.pulling import GROWN, NEW, SAME
    from panchime.terminal.output import console
    from panchime.terminal.roast_list import roast_table
    from panchime.terminal.safe_text import safe_line
    from panchime.terminal.words import size
    from panchime_fw.session import ENOUGH_MINUTES

    out = console()
    fetched = [pulled for pulled in report.files if pulled.change in (NEW, GROWN)]
    if fetched:
        with Journal() as journal:
            out.print(roast_table([journal.entry(pulled.number) for pulled in fetched if pulled.number is not None]))
    counts = [(sum(pulled.change == change for pulled in report.files), change) for change in (NEW, GROWN, SAME)]
    words = {NEW: "new", GROWN: "grown since the last pull", SAME: "already in the journal"}
    said = [f"{count} {words[change]}" for count, change in counts if count]
    free = f"{size(report.free_bytes)} are free on the board, room for {report.minutes_left} more minutes of roasting"
    out.print(f"{', '.join(said) or 'no roasts on the board'}; {free}")
    if report.may_drop:
        out.print("when room is short the board drops roasts that were pulled whole, the oldest first")
    elif report.minutes_left < ENOUGH_MINUTES and report.confirmed:
        out.print("little room: 'panchime pull --tidy' frees what is in the journal, '--may-drop yes' lets the board do it")
    for pulled in report.files:
        if pulled.number is None:
            out.print(f"{safe_line(pulled.file.name)} cannot be read and stays on the board: {safe_line(pulled.problems[0])}")
        elif pulled.change in (NEW, GROWN):
            for problem in pulled.problems:
                out.print(f"roast {pulled.number}: {safe_line(problem)}")
    for name, why in report.unconfirmed:
        out.print(f"{safe_line(name)} is in the journal, but the board does not know it: {safe_line(why)}")
    if report.deleted:
        out.print(f"deleted from the board: {', '.join(safe_line(name) for name in report.deleted)}")


def as_json(report: "PullReport") -> dict[str, object]:
    """The report as docs/json.md describes it."""
    return {
        "files": [
            {
                "file": pulled.file.name,
                "bytes": pulled.file.bytes,
                "change": pulled.change,
                "number": pulled.number,
                "problems": list(pulled.problems),
                "confirmed": pulled.file.name in report.confirmed,
            }
            for pulled in report.files
        ],
        "deleted": report.deleted,
        "free_bytes": report.free_bytes,
        "minutes_left": report.minutes_left,
        "may_drop": report.may_drop,
    }
