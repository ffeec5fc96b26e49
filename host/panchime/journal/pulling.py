"""Fetching what a board has kept: only what is new or has grown, in pieces, every checksum looked at."""

from collections.abc import Callable
from dataclasses import dataclass, field

from panchime.errors import LinkError
from panchime.journal.journal import Journal, KeptFile
from panchime.journal.story import HeadLost, Story, tell
from panchime.journal.summary import RUNNING, summarise
from panchime.link.board import PIECE_BYTES, Board, LogFile

TAIL_BYTES = 64  # its last check is seeded by the roast's head, so the same tail is the same roast
ATTEMPTS_WITHOUT_PROGRESS = 3

NEW = "new"
GROWN = "grown"
SAME = "same"
UNREADABLE = "unreadable"

Progress = Callable[[str, int, int], None]  # file name, bytes so far, bytes in all


@dataclass(frozen=True)
class Pulled:
    """What became of one file of the board: its journal number (None when unreadable) and what it was found to be."""

    file: LogFile
    change: str
    number: int | None
    problems: tuple[str, ...] = ()


@dataclass
class PullReport:
    """What one pull did, file by file, and the names of the files it deleted from the board."""

    files: list[Pulled] = field(default_factory=list)
    deleted: list[str] = field(default_factory=list)
    free_bytes: int = 0


def running_file(board: Board) -> str | None:
    """The name of the log the board is writing now, None when no roast runs."""
    return file_name(board.live().roast_number) if board.roast_runs() else None


def file_name(roast_number: int) -> str:
    """The board's file name for one of its roasts."""
    return f"{roast_number:06d}.roast"


def pull(
    board: Board,
    journal: Journal,
    *,
    everything: bool = False,
    tidy: bool = False,
    progress: Progress = lambda name, done, whole: None,
) -> PullReport:
    """Fetches the board's roasts into the journal. What was kept stays kept when the line fails in the middle.

    ``everything`` fetches also what the journal has. ``tidy`` deletes from the board the logs whose whole
    content has been read and is, byte for byte, in the journal; never the one that is being written.
    """
    running = running_file(board)
    catalogue = board.catalogue()
    report = PullReport(free_bytes=catalogue.free_bytes)
    for file in catalogue.files:
        pulled = pull_file(board, journal, file, file.name == running, everything, progress)
        report.files.append(pulled)
    if tidy:
        for pulled in report.files:
            if pulled.number is not None and pulled.file.name != running_file(board) and is_kept_whole(board, journal, pulled):
                board.delete_log(pulled.file.name)
                report.deleted.append(pulled.file.name)
        report.free_bytes = board.catalogue().free_bytes
    return report


def pull_file(board: Board, journal: Journal, file: LogFile, running: bool, everything: bool, progress: Progress) -> Pulled:
    """Fetches one file as far as it is needed, and keeps it."""
    kept = None if everything else journal.newest_of_file(board.identity.serial, file.name)
    begun = known_beginning(board, file, kept)
    if kept is not None and begun is not None and len(begun) == file.bytes:
        entry = journal.entry(kept.number)
        if entry.state != RUNNING or running:
            return Pulled(file, SAME, kept.number, entry.problems)
    raw = fetch(board, file, begun or b"", progress)
    story, trouble = told(raw)
    if story is None or story.problems:
        # Damage on the way is gone the second time, damage on the flash is not.
        raw = fetch(board, file, b"", progress)
        story, trouble = told(raw)
    if story is None:
        return Pulled(file, UNREADABLE, None, (trouble,))
    return keep(journal, file, raw, story, running)


def told(raw: bytes) -> tuple[Story | None, str]:
    """The story in a log, or None and why nobody can say which roast it is."""
    try:
        return tell(raw), ""
    except HeadLost as error:
        return None, str(error)


def keep(journal: Journal, file: LogFile, raw: bytes, story: Story, running: bool) -> Pulled:
    """Keeps a fetched log unless the journal has the same roast with more of it: a kept roast never shrinks."""
    summary = summarise(story, running)
    known = journal.kept(story.board_serial, story.boot, story.uptime_ms)
    if known is None:
        return Pulled(file, NEW, journal.keep(file.name, raw, summary), summary.problems)
    if known.raw == raw:
        if journal.entry(known.number).state != summary.state:
            journal.keep(file.name, raw, summary)
        return Pulled(file, SAME, known.number, summary.problems)
    old = tell(known.raw)
    if not (raw.startswith(known.raw) or extent(story) > extent(old)):
        return Pulled(file, SAME, known.number, tuple(old.problems))
    return Pulled(file, GROWN, journal.keep(file.name, raw, summary), summary.problems)


def extent(story: Story) -> tuple[int, bool]:
    """How much of a roast a log holds: its samples, and whether its end is there."""
    return len(story.t_ms), story.end_reason is not None


def known_beginning(board: Board, file: LogFile, kept: KeptFile | None) -> bytes | None:
    """The part of a file that the journal has already, proved by comparing tails with the board; None when none."""
    if kept is None or not kept.raw or len(kept.raw) > file.bytes:
        return None
    offset = max(0, len(kept.raw) - TAIL_BYTES)
    tail = kept.raw[offset:]
    return kept.raw if board.read_log(file.name, offset, len(tail)) == tail else None


def fetch(board: Board, file: LogFile, begun: bytes, progress: Progress) -> bytes:
    """The file's bytes as the catalogue measured it, after those that are known.

    A piece that comes broken is asked for again from where it broke. Raises LinkError when nothing more comes.
    """
    raw = bytearray(begun)
    failures = 0
    progress(file.name, len(raw), file.bytes)
    while len(raw) < file.bytes:
        try:
            piece = board.read_log(file.name, len(raw), min(PIECE_BYTES, file.bytes - len(raw)))
            if not piece:
                raise LinkError(f"{file.name} ends at {len(raw)} bytes, the board's catalogue says {file.bytes}: pull again")
        except LinkError:
            failures += 1
            if failures >= ATTEMPTS_WITHOUT_PROGRESS:
                raise
            board.client.recover()
            continue
        failures = 0
        raw += piece
        progress(file.name, len(raw), file.bytes)
    return bytes(raw)


def is_kept_whole(board: Board, journal: Journal, pulled: Pulled) -> bool:
    """Whether the board's file, read anew as a whole, is byte for byte what the journal has."""
    if pulled.number is None:
        return False
    now = next((file for file in board.catalogue().files if file.name == pulled.file.name), None)
    if now is None:
        return False
    return fetch(board, now, b"", lambda name, done, whole: None) == journal.raw(pulled.number)
