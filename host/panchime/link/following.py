"""Following a board through a roast, and finding it again when the cable was loose."""

from dataclasses import dataclass, field
from typing import Any

from panchime.errors import LinkError, PanchimeError
from panchime.link.board import Board, Live, LiveEvent, LiveMark
from panchime.link.finding import ask_all
from panchime.link.ports import every_port
from panchime_fw import events


@dataclass
class Roast:
    """What is known of the roast that is followed."""

    live: Live | None = None
    running: bool = False
    begun: bool = False
    marks: list[LiveMark] = field(default_factory=list)
    happened: list[LiveEvent] = field(default_factory=list)
    plan: dict[str, Any] = field(default_factory=dict)

    @property
    def over(self) -> bool:
        """A roast was seen running, and runs no more."""
        return self.begun and not self.running

    def mark_ms(self, name: str) -> int | None:
        """When a mark was made, None when it was not."""
        return next((mark.roast_ms for mark in self.marks if mark.name == name), None)


class Follower:
    """Asks a board again and again, and keeps what it has told."""

    def __init__(self, board: Board, plan: dict[str, Any]) -> None:
        self.board = board
        self.roast = Roast(plan=plan)
        self._after = 0
        self._first = True

    def poll(self) -> list[LiveEvent]:
        """Asks once; gives the events that are new. Raises LinkError when the board does not answer."""
        roast = self.roast
        running = self.board.roast_runs()
        live = self.board.live()
        if live.last_event < self._after or (running and not roast.running):
            # The board was restarted, or a roast has begun: its events are told from the beginning.
            roast.happened.clear()
            roast.marks = []
        if live.last_event < self._after:
            self._after = 0
        new: list[LiveEvent] = []
        while self._after < live.last_event:
            some = self.board.events(self._after)
            if not some:
                break
            self._after = some[-1].number
            new += some
        if self._first:
            # Events of an earlier roast in the same power-on: only those of the one that runs are news.
            new = since_restart(new) if running else []
            self._first = False
        mark_kinds = (events.NAMES[events.MARK], events.NAMES[events.MARK_BACK])
        if running and (not roast.running or any(event.what in mark_kinds for event in new)):
            roast.marks = self.board.marks()
        roast.live, roast.running = live, running
        roast.begun = roast.begun or running
        roast.happened += new
        return new

    def reconnect(self) -> bool:
        """Looks for the board at its old port, then everywhere else by its serial number. True when it is back."""
        self.board.client.close()
        serial = self.board.identity.serial
        urls = [self.board.client.url]
        for url in urls:
            try:
                board = Board.connect(url)
            except LinkError:
                if len(urls) == 1:
                    others = ask_all(one for one in every_port() if one.url != url)
                    urls += [one.candidate.url for one in others if one.identity and one.identity.serial == serial]
                continue
            if board.identity.serial != serial:
                board.client.close()
                continue
            self.board = board
            try:
                board.set_clock()
            except PanchimeError:
                return False
            return True
        return False


def since_restart(told: list[LiveEvent]) -> list[LiveEvent]:
    """The events after the last place where the roast's clock ran backwards: those of the newest roast."""
    begin = 0
    for index in range(1, len(told)):
        if told[index].roast_ms < told[index - 1].roast_ms:
            begin = index
    return told[begin:]
