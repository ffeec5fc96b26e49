"""Fetching what a board has kept: only what is new or has grown, and nothing that the board's own checksum does not prove."""

import zlib
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import partial
from typing import TypeVar

from panchime.errors import BoardRefusal, LinkError
from panchime.journal.journal import Journal, KeptFile
from panchime.journal.story import HeadLost, Story, tell
from panchime.journal.summary import RUNNING, summarise
from panchime.link.board import PIECE_BYTES, Board, Catalogue, LogFile
from panchime_fw.logformat import head_length

TAIL_BYTES = 64  # its last check is seeded by the roast's head, so the same tail is the same roast
ATTEMPTS_WITHOUT_PROGRESS = 3
CATALOGUE_ATTEMPTS = 5
LAST_COMMAND_ERROR, FIRST_COMMAND_ERROR = -199, -100  # SCPI-1999 volume 2, 21.8.9: the board did not understand the line

NEW = "new"
GROWN = "grown"
SAME = "same"
UNREADABLE = "unreadable"

Progress = Callable[[str, int, int], None]  # file name, bytes so far, bytes in all
Answer = TypeVar("Answer")


@dataclass(frozen=True)
class Pulled:
    """What became of one file of the board: its journal number (None when unreadable) and what it was found to be."""

    file: LogFile
    change: str
    number: int | None
    problems: tuple[str, ...] = ()


@dataclass
class PullReport:
    """What one pull did, file by file, the names of the files it deleted from the board, and the room there afterwards.

    ``confirmed`` are the files that the board knows to be kept here; ``unconfirmed`` are those it refused to, with its words.
    """

    files: list[Pulled] = field(default_factory=list)
    deleted: list[str] = field(default_factory=list)
    confirmed: list[str] = field(default_factory=list)
    unconfirmed: list[tuple[str, str]] = field(default_factory=list)
    free_bytes: int = 0
    minutes_left: int = 0
    may_drop: bool = False


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

    ``everything`` fetches also what the journal has. Every log that is kept and no longer grows is confirmed to the
    board. ``tidy`` deletes from the board the logs that are, by the board's own checksum of its flash, in the journal as a
    whole; never the one that is being written. Raises LinkError when the line keeps failing.
    """
    running = patiently(board, partial(running_file, board))
    catalogue = agreed_catalogue(board)
    report = PullReport()
    for file in catalogue.files:
        pulled = pull_file(board, journal, file, file.name == running, everything, progress)
        report.files.append(pulled)
    if tidy:
        for pulled in report.files:
            if pulled.number is not None and pulled.file.name != patiently(board, partial(running_file, board)):
                tidy_up(board, pulled.file.name, journal.raw(pulled.number))
        catalogue = agreed_catalogue(board)
        left = [file.name for file in catalogue.files]
        report.deleted = [pulled.file.name for pulled in report.files if pulled.file.name not in left]
    confirm(board, journal, report, running)
    room = patiently(board, board.room)
    report.free_bytes, report.minutes_left, report.may_drop = catalogue.free_bytes, room.minutes_left, room.may_drop
    return report


def patiently(board: Board, ask: Callable[[], Answer]) -> Answer:
    """Asks again when the answer was broken, or the board did not understand what came. Raises LinkError in the end."""
    for attempt in range(1, ATTEMPTS_WITHOUT_PROGRESS + 1):
        try:
            return ask()
        except LinkError:
            if attempt == ATTEMPTS_WITHOUT_PROGRESS:
                raise
        except BoardRefusal as refusal:
            if attempt == ATTEMPTS_WITHOUT_PROGRESS:
                if LAST_COMMAND_ERROR <= refusal.number <= FIRST_COMMAND_ERROR:
                    raise LinkError(
                        f"{refusal}. What was kept stays kept. Check the cable and pull again; if the same comes back, the "
                        "firmware on the board is older than this program: install the new one"
                    ) from refusal
                raise LinkError(f"{refusal}. What was kept stays kept: pull again") from refusal
        board.client.recover()
    raise AssertionError("the last attempt returns or raises")


def agreed_catalogue(board: Board) -> Catalogue:
    """The board's catalogue, told twice with the same names: its answer has no checksum, and a name it lost would be missed."""
    first = patiently(board, board.catalogue)
    for _ in range(CATALOGUE_ATTEMPTS):
        second = patiently(board, board.catalogue)
        if [file.name for file in first.files] == [file.name for file in second.files]:
            return second
        first = second
    raise LinkError("the board lists other roasts each time it is asked. What was kept stays kept: check the cable, pull again")


def tidy_up(board: Board, name: str, raw: bytes) -> None:
    """Deletes a log unless the board holds something else than ``raw`` under its name, or writes to it."""
    try:
        board.delete_log(name, raw)
    except LinkError:
        board.client.recover()
        # Whether it went, the next catalogue tells.
    except BoardRefusal:
        return


def confirm(board: Board, journal: Journal, report: PullReport, running: str | None) -> None:
    """Tells the board which logs are kept here whole, as far as it does not know; the one that it writes still grows."""
    report.confirmed = list(patiently(board, board.confirmed_logs))
    for pulled in report.files:
        name = pulled.file.name
        if pulled.number is None or name == running or name in report.deleted or name in report.confirmed:
            continue
        try:
            board.confirm_log(name, journal.raw(pulled.number))
            report.confirmed.append(name)
        except BoardRefusal as refusal:
            report.unconfirmed.append((name, str(refusal)))
        except LinkError as error:
            board.client.recover()
            report.unconfirmed.append((name, str(error)))


def pull_file(board: Board, journal: Journal, file: LogFile, running: bool, everything: bool, progress: Progress) -> Pulled:
    """Fetches one file as far as it is needed, and keeps it."""
    kept = None if everything else journal.newest_of_file(board.identity.serial, file.name)
    begun = known_beginning(board, file, kept)
    if kept is not None and begun is not None and len(begun) == file.bytes:
        entry = journal.entry(kept.number)
        if entry.state != RUNNING or running:
            return Pulled(file, SAME, kept.number, entry.problems)
    raw = fetch_proven(board, file.name, begun or b"", progress)
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
    if raw[: head_length(raw)] != known.raw[: head_length(known.raw)]:
        words = (
            f"roast {known.number} of the journal began in the same boot at the same millisecond and is another one: was the "
            "board wiped, or do two boards have one serial number? PANCHIME_HOME names another folder to pull this one into"
        )
        return Pulled(file, UNREADABLE, None, (words,))
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
    return kept.raw if patiently(board, partial(board.read_log, file.name, offset, len(tail))) == tail else None


def fetch_proven(board: Board, name: str, begun: bytes, progress: Progress) -> bytes:
    """A log's bytes, proved by the board's own CRC-32 of its flash: the line itself has no checksum.

    Raises LinkError when it comes different each time; nothing of it is kept then.
    """
    for _ in range(ATTEMPTS_WITHOUT_PROGRESS):
        length, check = patiently(board, partial(board.log_checksum, name))
        raw = fetch(board, LogFile(name, length), begun if len(begun) <= length else b"", progress)
        if len(raw) == length and zlib.crc32(raw) == check:
            return raw
        begun = b""
        board.client.recover()
    raise LinkError(
        f"{name} came {ATTEMPTS_WITHOUT_PROGRESS} times with another checksum than it has on the board, so it was not kept. "
        "Try another cable or port and pull again"
    )


def fetch(board: Board, file: LogFile, begun: bytes, progress: Progress) -> bytes:
    """The file's bytes as the catalogue measured it, after those that are known.

    A piece that comes broken is asked for again from where it broke. Raises LinkError when nothing more comes.
    """
    raw = bytearray(begun)
    progress(file.name, len(raw), file.bytes)
    while len(raw) < file.bytes:
        raw += patiently(board, partial(piece_at, board, file, len(raw)))
        progress(file.name, len(raw), file.bytes)
    return bytes(raw)


def piece_at(board: Board, file: LogFile, offset: int) -> bytes:
    """The piece of a log that begins there. Raises LinkError when the log ends before the length it should have."""
    piece = board.read_log(file.name, offset, min(PIECE_BYTES, file.bytes - offset))
    if not piece:
        raise LinkError(f"{file.name} ends at {offset} bytes where {file.bytes} were promised: pull again")
    return piece
