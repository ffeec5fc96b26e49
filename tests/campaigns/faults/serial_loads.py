"""What goes on at the serial port while something goes wrong."""

from binascii import crc32

from bench_board import BenchBoard, Host

IDLE = "nobody"
PULL = "a log is pulled"
PLAN = "a plan is sent"
HOLD = "host does not read"
LOADS = (IDLE, PULL, PLAN, HOLD)

OLD_LOG = "log/000900.roast"
OLD_LOG_BYTES = 12000
PASS_MS = 4  # a pass that does serial work, on the board
STALL_MS = 500  # a write to a host that holds the port and does not read


class Puller(Host):
    """Reads a log as fast as it comes, then rests a second, again and again."""

    def __init__(self, stall_ms: int = 0) -> None:
        super().__init__()
        self.stall_ms = stall_ms
        self._waits_for = 0
        self._next_ms = 0

    def step(self, board: BenchBoard) -> None:
        if self._waits_for == 0 and board.world.now_ms >= self._next_ms:
            self._waits_for = OLD_LOG_BYTES
            self.to_board += b'ROAS:LIVE?\nMMEM:DATA? "000900.roast"\n'

    def taken(self, board: BenchBoard, part: bytes) -> None:
        board.world.now_ms += PASS_MS
        if self._waits_for and len(part) >= self._waits_for:
            self._next_ms = board.world.now_ms + 1000
        self._waits_for = max(0, self._waits_for - len(part))


class Sender(Host):
    """Sends a plan again and again; in a roast the board refuses each."""

    def __init__(self) -> None:
        super().__init__()
        body = b'{"name":"another","method":"wok","limit":274,"note":"' + b"x" * 390 + b'"}'
        block = b"%08X" % crc32(body) + body
        self._next_ms = 0
        self._message = b"PROG:DEF #3%d" % len(block) + block + b"\nSYST:ERR?\n"

    def step(self, board: BenchBoard) -> None:
        running = board.loop is not None and board.loop._session.roast.running  # before the start it would be taken
        if running and not self.to_board and board.world.now_ms >= self._next_ms:
            self._next_ms = board.world.now_ms + 200
            self.to_board += self._message

    def taken(self, board: BenchBoard, part: bytes) -> None:
        board.world.now_ms += PASS_MS


def host_of(load: str) -> Host:
    return {IDLE: Host, PULL: Puller, PLAN: Sender, HOLD: lambda: Puller(STALL_MS)}[load]()
