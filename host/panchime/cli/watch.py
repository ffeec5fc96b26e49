"""`panchime watch`: follow the roast that is running."""

import argparse
import sys
import time
from collections.abc import Callable
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from rich.live import Live as LiveDisplay

    from panchime.link.board import LiveEvent
    from panchime.link.following import Follower

POLL_S = 0.25  # the board samples four times a second
RETRY_S = 1.0
STATUS_LINE_EVERY_MS = 5000
IDLE_LINE_EVERY_MS = 60_000


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    from panchime.cli.boards import add_port_option

    parser = commands.add_parser(
        "watch",
        help="follow the roast that is running",
        description="Shows temperature, rate of rise, marks and milestones until the roast ends (or Ctrl-C). It only "
        "watches: the board roasts, sounds and cuts off by itself. Stay with the roast.",
    )
    add_port_option(parser)
    unit = parser.add_mutually_exclusive_group()
    unit.add_argument("--fahrenheit", dest="unit", action="store_const", const="F", help="in degrees Fahrenheit")
    unit.add_argument("--celsius", dest="unit", action="store_const", const="C", help="in degrees Celsius")
    parser.add_argument("--json", action="store_true", help="one line of JSON a reading and an event, for other programs")


class Teller(Protocol):
    """Something that tells a person or a program what a poll has brought."""

    def news(self, follower: "Follower", new: "list[LiveEvent]") -> None:
        """A poll has brought this."""

    def trouble(self, follower: "Follower", words: str) -> None:
        """The board does not answer."""


def run(options: argparse.Namespace) -> int:
    """Watches until the roast is over."""
    from panchime.cli.boards import open_board
    from panchime.cli.main import EXIT_INTERRUPTED
    from panchime.link.following import Follower
    from panchime.planfile.keeping import document_of
    from panchime.terminal.output import note

    board = open_board(options.port)
    try:
        follower = Follower(board, document_of(board.plan_json()))
    except BaseException:
        board.client.close()
        raise
    unit = options.unit or ("F" if follower.roast.plan.get("unit") == "F" else "C")
    try:
        if options.json:
            follow(follower, JsonTeller())
        elif sys.stdout.isatty():
            watch_on_terminal(follower, unit)
        else:
            follow(follower, LineTeller(unit))
    except KeyboardInterrupt:
        note("The roast goes on without the screen; 'panchime pull' fetches it when it is over.")
        return EXIT_INTERRUPTED
    finally:
        follower.board.client.close()
    note("The roast is over. 'panchime pull' fetches it into the journal.")
    return 0


def follow(follower: "Follower", teller: Teller, sleep: Callable[[float], None] = time.sleep) -> None:
    """Polls until a roast that was seen running runs no more; a board that has gone is looked for until it is back."""
    from panchime.errors import LinkError

    while not follower.roast.over:
        try:
            teller.news(follower, follower.poll())
        except LinkError as error:
            teller.trouble(follower, str(error))
            while not follower.reconnect():
                sleep(RETRY_S)
            continue
        sleep(POLL_S)


def watch_on_terminal(follower: "Follower", unit: str) -> None:
    """Follows with a screen that is drawn anew with each poll."""
    from rich.live import Live

    from panchime.terminal.output import ascii_only, console

    plain = ascii_only()  # asked before the display stands in for standard output
    with Live(console=console(), auto_refresh=False) as display:
        follow(follower, ScreenTeller(display, unit, plain))


class ScreenTeller:
    """Draws the screen."""

    def __init__(self, display: "LiveDisplay", unit: str, plain: bool) -> None:
        self._display = display
        self._plain = plain
        self._unit = unit

    def news(self, follower: "Follower", new: "list[LiveEvent]") -> None:
        """Draws what is known now."""
        self._draw(follower, "")

    def trouble(self, follower: "Follower", words: str) -> None:
        """Draws what was known last, and that it is old."""
        self._draw(follower, f"{words}. These readings are old; the board is being looked for.")

    def _draw(self, follower: "Follower", trouble: str) -> None:
        from panchime.terminal.watch_screen import watch_screen

        self._display.update(watch_screen(follower.roast, self._unit, self._plain, trouble), refresh=True)


class LineTeller:
    """Writes a line an event, and one every few seconds with the reading."""

    def __init__(self, unit: str) -> None:
        self._unit = unit
        self._told_ms: int | None = None

    def news(self, follower: "Follower", new: "list[LiveEvent]") -> None:
        """Writes what is new."""
        from panchime.terminal.watch_screen import event_line, status_line

        for event in new:
            print(event_line(event, self._unit), flush=True)
        live = follower.roast.live
        every_ms = STATUS_LINE_EVERY_MS if follower.roast.running else IDLE_LINE_EVERY_MS
        if live and (self._told_ms is None or not 0 <= live.uptime_ms - self._told_ms < every_ms):
            self._told_ms = live.uptime_ms
            print(status_line(follower.roast, self._unit), flush=True)

    def trouble(self, follower: "Follower", words: str) -> None:
        """Says so beside the results."""
        from panchime.terminal.output import note

        note(f"{words}. The board is being looked for.")


class JsonTeller:
    """Writes JSON, one object a line, as docs/json.md describes it."""

    def news(self, follower: "Follower", new: "list[LiveEvent]") -> None:
        """Writes the events, then the reading."""
        import json
        from dataclasses import asdict

        for event in new:
            print(json.dumps({"event": asdict(event)}), flush=True)
        if follower.roast.live:
            print(json.dumps({"live": asdict(follower.roast.live) | {"running": follower.roast.running}}), flush=True)

    def trouble(self, follower: "Follower", words: str) -> None:
        """Writes the trouble as an object of its own."""
        import json

        print(json.dumps({"trouble": words}), flush=True)
