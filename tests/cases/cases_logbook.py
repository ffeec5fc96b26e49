"""The logbook in a real folder: numbers, files, sealing, recovery, and a flash that refuses for a while."""

import os

import long_roast
from scratch import Scratch, read, write

from panchime_fw import events, logreader
from panchime_fw.logbook import CHUNKS_A_SEAL, Logbook

HEAD = {"format": 1, "board": "E6614103E7", "number": 1, "sample_ms": 250, "plan": {"name": "Any"}}


def roast(book, seconds, number=None, close=True):
    """A roast with a sample each 250 ms, sealed when due; gives its number."""
    number = number or book.next_number()
    assert book.open(number, HEAD), book.problem
    t_ms = 0
    for t_ms in range(0, seconds * 1000, 250):
        book.sample(t_ms, 2000 + t_ms // 250, 2500)
        if book.due:
            assert book.seal(), book.problem
    if close:
        assert book.close(t_ms, events.DONE), book.problem
        assert not book.due, "due after the end"
    return number


def log_of(folder, number):
    return logreader.decode(read("%s/%06d.roast" % (folder, number)))


def whole_roast():
    with Scratch() as folder:
        book = Logbook(folder + "/log")
        assert book.recover() == [] and book.names() == [], "a new folder is not empty"
        number = book.next_number()
        assert number == 1, "the first number is %d" % number
        assert book.open(number, long_roast.HEAD), book.problem
        happens = list(long_roast.HAPPENS)
        given = []
        t_ms = 0
        for t_ms, temperature_centi, cold_centi in long_roast.samples(0.1, 25):
            given.append(temperature_centi)
            book.sample(t_ms, temperature_centi, cold_centi)
            while happens and happens[0][0] <= t_ms:
                book.event(*happens.pop(0))
            if book.due:
                assert book.seal(), book.problem
            assert not book.due, "due right after a seal"
        assert book.close(t_ms, events.DONE), book.problem
        log = log_of(folder + "/log", 1)
        assert not log.problems, log.problems
        assert log.temperature_centi == given, "temperatures differ"
        assert log.events == list(long_roast.HAPPENS), log.events
        assert log.end == (t_ms, events.DONE) and log.head == long_roast.HEAD, "head or end differ"
        assert book.recover() == [], "a closed roast needs recovery"


def sealed_in_time():
    """At no moment are more than 18 slots only in the buffer, once the due seals have been made."""
    with Scratch() as folder:
        book = Logbook(folder)
        book.open(1, HEAD)
        for index in range(100):
            book.sample(index * 250, 2000, 2500)
            if book.due:
                assert book.seal(), book.problem
            kept = len(log_of(folder, 1).t_ms)
            assert index + 1 - kept <= 18, "%d slots unsealed" % (index + 1 - kept)


def sealed_at_once(kind, due):
    with Scratch() as folder:
        book = Logbook(folder)
        book.open(1, HEAD)
        book.sample(0, 2000, 2500)
        assert not book.due, "due after one sample"
        book.event(10, kind, 1, 0, 0)
        assert book.due is due, "due is %r" % book.due
        assert book.seal(), book.problem
        assert len(log_of(folder, 1).events) == 1, "the event is not on the flash"


def numbers_are_never_reused():
    with Scratch() as folder:
        book = Logbook(folder)
        roast(book, 1)
        roast(book, 1)
        assert [name for name, _ in book.names()] == ["000001.roast", "000002.roast"], book.names()
        assert book.remove("000001.roast") and book.remove("000002.roast"), "not removed"
        assert book.names() == [], book.names()
        assert Logbook(folder).next_number() == 3, "number %d" % Logbook(folder).next_number()
        os.remove(folder + "/roasts.a")
        os.remove(folder + "/roasts.b")
        write(folder + "/000041.roast", b"x")
        assert Logbook(folder).next_number() == 42, "a file's number is not minded"


def recovers():
    with Scratch() as folder:
        book = Logbook(folder)
        roast(book, 20)
        roast(book, 20, close=False)
        roast(book, 20)
        whole = read(folder + "/000003.roast")
        write(folder + "/000004.roast", whole[:-3])
        write(folder + "/000005.roast", whole[:8])
        write(folder + "/000006.roast", b"")
        write(folder + "/notes.txt", b"")
        write(folder + "/1.roast", b"")
        before = [(name, read(folder + "/" + name)) for name, _ in book.names()]
        assert Logbook(folder).recover() == [2, 4, 5], Logbook(folder).recover()
        after = [(name, read(folder + "/" + name)) for name, _ in book.names()]
        assert after == before[:5], "recovery changed a file"
        assert "notes.txt" in os.listdir(folder) and "1.roast" in os.listdir(folder), "a foreign file is gone"


def interrupted_and_next():
    """A roast that was never closed ends with its last seal; the next one begins as if nothing had been."""
    with Scratch() as folder:
        book = Logbook(folder)
        roast(book, 20, close=False)
        book.sample(20000, 2000, 2500)
        roast(book, 3)
        first, second = log_of(folder, 1), log_of(folder, 2)
        assert first.end is None and not first.problems, first.problems
        assert len(first.t_ms) == 81, "%d samples" % len(first.t_ms)
        assert second.end and not second.problems and len(second.t_ms) == 12, second.problems


def refuses_a_number_twice():
    with Scratch() as folder:
        book = Logbook(folder)
        roast(book, 2)
        before = read(folder + "/000001.roast")
        assert book.open(1, HEAD) is False, "the same number twice"
        assert "next_number" in book.problem and not book.recording, book.problem
        book.sample(0, 2000, 2500)
        book.event(0, events.RELAY, 1, 0, 0)
        assert not book.due and book.seal() and book.close(0, 0), "something is due"
        assert read(folder + "/000001.roast") == before, "the old roast changed"


def refuses_a_head():
    with Scratch() as folder:
        book = Logbook(folder)
        assert book.open(1, {"plan": "x" * 20000}) is False, "a head that does not fit"
        assert "head" in book.problem and not book.recording, book.problem


def flash_comes_back(refused_seconds, lost):
    """The folder's place is taken by a file, so nothing can be written; then it is free, and what was held is written."""
    with Scratch() as folder:
        place = folder + "/log"
        write(place, b"")
        book = Logbook(place)
        assert book.open(1, HEAD) is False, "written nowhere"
        assert book.recording and book.problem, "the roast is not recorded"
        tries = 0
        t_ms = 0
        for t_ms in range(0, refused_seconds * 1000, 250):
            book.sample(t_ms, 2000, 2500)
            if book.due:
                tries += 1
                assert book.seal() is False, "written nowhere"
                assert not book.due, "tried again at once"
        assert abs(tries - refused_seconds * 4 // 19) <= 1, "%d tries" % tries
        os.remove(place)
        while not book.due:
            t_ms += 250
            book.sample(t_ms, 2000, 2500)
        seals = 0
        while book.due:
            assert book.seal(), book.problem
            seals += 1
        assert seals >= min(refused_seconds * 4 // 19, 60) // CHUNKS_A_SEAL, "%d seals" % seals
        assert book.close(t_ms, events.DONE), book.problem
        log = log_of(place, 1)
        assert not log.problems, log.problems
        assert len(log.t_ms) == t_ms // 250 + 1 - lost, "%d of %d samples" % (len(log.t_ms), t_ms // 250 + 1)
        gaps = [event for event in log.events if event[1] == events.GAP]
        assert (gaps[-1][2] if gaps else 0) == lost, gaps


def end_waits():
    """A flash that refuses at the end: the end is written once something has been deleted, or before the next roast."""
    with Scratch() as folder:
        place = folder + "/log"
        write(place, b"")
        book = Logbook(place)
        book.open(1, HEAD)
        book.sample(0, 2000, 2500)
        assert book.close(250, events.DONE) is False, "closed nowhere"
        assert not book.due, "tried again at once"
        os.remove(place)
        roast(book, 2, 2)
        assert log_of(place, 1).end == (250, events.DONE), "the end is missing"
        assert log_of(place, 2).end, "the next end is missing"


def torn_try(keep):
    """A seal that failed half-way left `keep` bytes of it behind: everything is written again, and nothing counts twice."""
    with Scratch() as folder:
        book = Logbook(folder)
        book.open(1, HEAD)
        for index in range(19 * 3):
            book.sample(index * 250, 2000 + index * index % 37, 2500)
        path = folder + "/000001.roast"
        before = read(path)
        assert book.seal(), book.problem
        torn = read(path)[len(before) :][:keep]

        again = Logbook(folder)
        os.remove(path)
        again.open(1, HEAD)
        for index in range(19 * 3):
            again.sample(index * 250, 2000 + index * index % 37, 2500)
        # What a failed write does: the file is closed and holds some of what was meant for it.
        again._close_file()
        write(path, before + torn)
        assert again.seal() and again.close(14250, events.DONE), again.problem
        log = log_of(folder, 1)
        assert len(log.t_ms) == 57, "%d samples, %r" % (len(log.t_ms), log.problems)
        assert log.end and not [words for _, words in log.problems if "whole file" in words], log.problems


def reads(offset, size, expected):
    with Scratch() as folder:
        book = Logbook(folder)
        write(folder + "/000007.roast", b"0123456789")
        buffer = bytearray(size)
        count = book.read_into("000007.roast", offset, buffer)
        assert bytes(buffer[:count]) == expected, bytes(buffer[:count])


def touches_nothing_else(name):
    with Scratch() as folder:
        write(folder + "/main.py", b"code")
        os.mkdir(folder + "/log")
        book = Logbook(folder + "/log")
        assert book.read_into(name, 0, bytearray(4)) == 0, "read %s" % name
        assert book.remove(name) is False, "removed %s" % name
        assert read(folder + "/main.py") == b"code", "main.py changed"


def not_while_recording():
    with Scratch() as folder:
        book = Logbook(folder)
        roast(book, 6, close=False)
        assert book.remove("000001.roast") is False, "removed while recording"
        buffer = bytearray(9)
        assert book.read_into("000001.roast", 0, buffer) == 9 and buffer == b"PANCHIME1", buffer
        book.close(6000, events.DONE)
        assert book.remove("000001.roast"), "not removed after the end"
        assert book.minutes_left() > 0, "no room at all"


TABLES = {
    "a whole roast": (whole_roast, [()]),
    "sealed in time": (sealed_in_time, [()]),
    "sealed at once": (
        sealed_at_once,
        [
            (events.MARK, True),
            (events.MARK_BACK, True),
            (events.TRIP, True),
            (events.RELAY, True),
            (events.STAGE, False),
            (events.MILESTONE, False),
        ],
    ),
    "numbers are never reused": (numbers_are_never_reused, [()]),
    "recovers": (recovers, [()]),
    "interrupted, then the next": (interrupted_and_next, [()]),
    "refuses a number twice": (refuses_a_number_twice, [()]),
    "refuses a head": (refuses_a_head, [()]),
    "a flash that comes back": (flash_comes_back, [(1, 0), (60, 0), (290, 0), (304, 19), (400, 21 * 19)]),
    "an end that waits": (end_waits, [()]),
    "a torn try": (torn_try, [(0,), (1,), (20,), (45,), (60,), (500,)]),
    "reads": (
        reads,
        [(0, 4, b"0123"), (8, 4, b"89"), (10, 4, b""), (99, 4, b""), (0, 10, b"0123456789"), (-1, 4, b"")],
    ),
    "touches nothing else": (
        touches_nothing_else,
        [("../main.py",), ("main.py",), ("",), ("1.roast",), ("../00001.roast",), ("0000001.roast",), ("x.roast",)],
    ),
    "not while recording": (not_while_recording, [()]),
}
