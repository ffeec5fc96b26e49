"""`panchime find`: the boards that are connected."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.link.finding import Found


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "find",
        help="list the boards that are connected",
        description="Looks for boards at every USB socket of this computer, for virtual boards that run, and at the ports in "
        "PANCHIME_PORT. The port that it lists is what --port of the other commands wants.",
    )
    parser.add_argument("--port", metavar="PORT", help="ask this port only")
    parser.add_argument("--json", action="store_true", help="as JSON, for other programs")


def run(options: argparse.Namespace) -> int:
    """Lists the boards; 1 when none answers."""
    from panchime.cli.boards import nobody
    from panchime.errors import LinkError
    from panchime.link.finding import ask_all
    from panchime.link.ports import Candidate, every_port
    from panchime.terminal.output import print_json

    found = ask_all([Candidate(options.port, "named")] if options.port else every_port(), with_room=True)
    boards = [one for one in found if one.identity is not None or one.at_prompt]
    if options.json:
        print_json([as_json(one) for one in boards])
        return 0 if boards else 1
    if not boards:
        raise LinkError(nobody(found))
    print_table(boards)
    return 0


def as_json(one: "Found") -> dict[str, object]:
    """A board as docs/json.md describes it."""
    identity = one.identity
    return {
        "port": one.candidate.url,
        "found_as": one.candidate.kind,
        "model": identity.model if identity else None,
        "serial": identity.serial if identity else None,
        "firmware": identity.firmware if identity else None,
        "minutes_left": one.minutes_left,
        "trouble": one.trouble or None,
    }


def print_table(boards: "list[Found]") -> None:
    """The boards as a table, and below it what is wrong with which."""
    from rich.table import Table

    from panchime.terminal.output import console
    from panchime.terminal.safe_text import safe_line

    table = Table(box=None, pad_edge=False, header_style="bold")
    for heading in ("port", "board", "serial number", "firmware", "room for", ""):
        table.add_column(heading, overflow="fold")
    for one in boards:
        identity = one.identity
        cells = (identity.model, identity.serial, identity.firmware) if identity else ("-", "-", "does not run")
        kind = "virtual" if one.candidate.kind == "virtual" else ""
        room = "" if one.minutes_left is None else f"{one.minutes_left} min"
        table.add_row(safe_line(one.candidate.url), *(safe_line(cell) for cell in cells), room, kind)
    out = console()
    out.print(table)
    for one in boards:
        if one.trouble:
            out.print(safe_line(one.trouble))
