"""Room on the flash: confirm marks, what may be dropped, and what is never dropped."""

import os

from scratch import Scratch, read, write

from panchime_fw import events
from panchime_fw.file_sum import SLICE, FileSum
from panchime_fw.logbook import Logbook
from panchime_fw.room import DROPS_AT_ONCE, Room

try:
    from zlib import crc32
except ImportError:
    from binascii import crc32

HEAD = {"format": 1, "board": "E6614103E7", "number": 1, "sample_ms": 250, "plan": {"name": "Any"}}


class ShortBook(Logbook):
    """A logbook on a flash that has room for so many minutes less than one more for each log."""

    minutes = 0

    def minutes_left(self):
        return max(0, self.minutes - 10 * len(self.names()))


def roasted(book, seconds=6, close=True):
    number = book.next_number()
    assert book.open(number, dict(HEAD, number=number)), book.problem
    for t_ms in range(0, seconds * 1000, 250):
        book.sample(t_ms, 2000 + number * 7 + t_ms // 250, 2500)
        if book.due:
            assert book.seal(), book.problem
    if close:
        assert book.close(seconds * 1000, events.DONE), book.problem
    return "%06d.roast" % number


def sums(folder, name):
    raw = read(folder + "/" + name)
    return len(raw), crc32(raw) & 0xFFFFFFFF


def check_whole_check(seconds):
    """The end chunk tells the CRC-32 of the whole file, in constant time."""
    with Scratch() as folder:
        book = Logbook(folder)
        name = roasted(book, seconds)
        length, check = sums(folder, name)
        assert book.length(name) == length
        assert book.whole_check(name, length) == check, "%08X" % book.whole_check(name, length)
        assert book.length("000009.roast") == -1 and book.whole_check("000009.roast", 0) == -1
        assert book.length("../main.py") == -1 and book.whole_check("../main.py", 99) == -1
        open_name = roasted(book, 6, close=False)
        assert book.whole_check(open_name, book.length(open_name)) == -1, "an open log has an end"


def check_confirmed_stays():
    with Scratch() as folder:
        book = Logbook(folder)
        first, second = roasted(book), roasted(book)
        room = Room(book)
        assert room.confirmed() == [] and not room.holds(first)
        assert room.confirm(first, *sums(folder, first)), "not confirmed"
        again = Room(Logbook(folder))
        again.recover()
        assert again.confirmed() == [first], again.confirmed()
        assert again.holds(first) and not again.holds(second)
        assert [name for name, _ in book.names()] == [first, second], "a mark is taken for a log"


def check_dropped(allowed, confirmed, expected):
    """Five logs of which some are confirmed; the oldest confirmed one goes, if that is allowed."""
    with Scratch() as folder:
        book = Logbook(folder)
        names = [roasted(book) for _ in range(5)]
        room = Room(book)
        room.may_drop = allowed
        for index in confirmed:
            assert room.confirm(names[index], *sums(folder, names[index]))
        went = room.drop_oldest()
        left = [name for name, _ in book.names()]
        gone = [index for index, name in enumerate(names) if name not in left]
        assert gone == expected and went == bool(expected), gone
        assert [index for index, name in enumerate(names) if name in room.confirmed()] == [
            index for index in confirmed if index not in expected
        ]


def check_makes_room(minutes, wanted, dropped):
    with Scratch() as folder:
        book = ShortBook(folder)
        for _ in range(8):
            name = roasted(book)
            if name != "000002.roast":
                assert Room(book).confirm(name, *sums(folder, name))
        book.minutes = minutes
        room = Room(book)
        room.may_drop = True
        assert room.make_room(wanted) == dropped, "another number went"
        assert book.length("000002.roast") > 0, "a roast went that nobody has pulled"
        assert len(book.names()) == 8 - dropped


def check_mark_of_another_log_is_no_mark(how):
    """After a mishap a mark may stand beside a log it does not belong to: that log is not dropped."""
    with Scratch() as folder:
        book = Logbook(folder)
        name = roasted(book)
        room = Room(book)
        room.may_drop = True
        mark = folder + "/000001.pulled"
        if how == "another log":
            assert room.confirm(name, *sums(folder, name))
            kept = read(mark)
            os.remove(folder + "/" + name)
            Logbook(folder).remove("x")
            other = Logbook(folder)
            assert other.open(1, dict(HEAD, boot=77)), other.problem
            assert other.close(0, events.DONE), other.problem
            assert read(mark) == kept
        elif how == "torn":
            assert room.confirm(name, *sums(folder, name))
            write(mark, read(mark)[:7])
        elif how == "empty":
            write(mark, b"")
        else:
            assert not room.confirm(name, 99, 0x12345678), "a wrong mark is taken"
            assert room.confirmed() == [], "a wrong mark is kept"
        assert not room.holds(name)
        assert not room.drop_oldest() and book.length(name) > 0, "dropped by a wrong mark"


def check_goes_with_its_mark():
    with Scratch() as folder:
        book = Logbook(folder)
        name = roasted(book)
        room = Room(book)
        assert room.confirm(name, *sums(folder, name)) and room.remove(name)
        assert [file for file in os.listdir(folder) if "000001" in file] == [], os.listdir(folder)
        assert not room.remove(name), "removed twice"


def check_orphans_go_at_boot():
    with Scratch() as folder:
        book = Logbook(folder)
        name = roasted(book)
        room = Room(book)
        assert room.confirm(name, *sums(folder, name))
        write(folder + "/000009.pulled", b"1 00000000\n")
        room.recover()
        found = sorted(file for file in os.listdir(folder) if file.endswith(".pulled"))
        assert found == ["000001.pulled"], found


def check_running_is_never_dropped():
    with Scratch() as folder:
        book = Logbook(folder)
        roasted(book, 6, close=False)
        room = Room(book)
        room.may_drop = True
        write(folder + "/000001.pulled", b"1 00000000\n")
        assert not room.drop_oldest() and len(book.names()) == 1


def check_interrupted(harm):
    """A roast without an end is confirmed and dropped as any other, by the sum of its bytes; not while it is being written."""
    with Scratch() as folder:
        book = Logbook(folder)
        name = roasted(book, 6, close=False)
        assert not Room(book).confirm(name, *sums(folder, name)), "confirmed while it is being written"
        again = Logbook(folder)
        assert again.recover() == [1]
        room = Room(again)
        room.may_drop = True
        assert room.confirm(name, *sums(folder, name)) and room.confirmed() == [name]
        later = Room(Logbook(folder))
        later.recover()
        assert later.holds(name), "the mark does not stay"
        if harm == "a byte more":
            write(folder + "/" + name, read(folder + "/" + name) + b"x")
        elif harm == "a byte less":
            write(folder + "/" + name, read(folder + "/" + name)[:-1])
        elif harm == "another byte":
            raw = bytearray(read(folder + "/" + name))
            raw[30] ^= 1
            write(folder + "/" + name, raw)
        assert room.holds(name) == (harm == "none")
        assert room.drop_oldest() == (harm == "none")
        assert (again.length(name) < 0) == (harm == "none")


def check_full_flash_in_a_roast(allowed, ends):
    """The flash is full in the middle: with leave, the oldest confirmed roast goes, and nothing of this one is lost."""
    with Scratch() as folder:
        book = Logbook(folder)
        old = roasted(book)
        room = Room(book)
        room.may_drop = allowed
        assert room.confirm(old, *sums(folder, old))
        number = book.next_number()
        assert book.open(number, HEAD)
        write_chunk = book._write

        def refused(file, chunk, whole):
            if book.length(old) > 0:
                raise OSError(28, "no room")
            return write_chunk(file, chunk, whole)

        book._write = refused
        for t_ms in range(0, 30000, 250):
            book.sample(t_ms, 2000, 2500)
            if book.due and not book.seal():
                assert book.flash_full, "the reason is not known"
                if room.drop_oldest():
                    assert book.due and book.seal(), "not tried again"
        assert (book.length(old) < 0) == ends
        assert book.flash_full != ends


def check_sum(length, offset, count):
    with Scratch() as folder:
        raw = bytes(index * index % 251 for index in range(length))
        write(folder + "/000001.roast", raw)
        file_sum = FileSum(Logbook(folder), "000001.roast", offset, count, lambda check: check)
        steps = 1
        while file_sum.step():
            steps += 1
        assert steps == max(1, -(-count // SLICE)), "%d slices" % steps
        assert file_sum.answer() == crc32(raw[offset : offset + count]) & 0xFFFFFFFF


def check_sum_of_a_log_that_ends_early():
    with Scratch() as folder:
        write(folder + "/000001.roast", b"0123456789")
        file_sum = FileSum(Logbook(folder), "000001.roast", 0, 20, lambda check: check)
        try:
            while file_sum.step():
                pass
        except OSError:
            return
        raise AssertionError("a sum over bytes that are not there")


TABLES = {
    "the whole's check": (check_whole_check, [(1,), (6,), (100,)]),
    "confirmed over a restart": (check_confirmed_stays, [()]),
    "the oldest confirmed goes": (
        check_dropped,
        [
            (True, [1, 3], [1]),
            (True, [0, 1, 2, 3, 4], [0]),
            (True, [], []),
            (False, [0, 1, 2, 3, 4], []),
        ],
    ),
    "makes room": (check_makes_room, [(100, 30, 1), (100, 40, 2), (100, 20, 0), (80, 60, DROPS_AT_ONCE)]),
    "a mark of another log": (
        check_mark_of_another_log_is_no_mark,
        [("another log",), ("torn",), ("empty",), ("wrong",)],
    ),
    "goes with its mark": (check_goes_with_its_mark, [()]),
    "orphans go at boot": (check_orphans_go_at_boot, [()]),
    "the running roast": (check_running_is_never_dropped, [()]),
    "an interrupted roast": (
        check_interrupted,
        [("none",), ("a byte more",), ("a byte less",), ("another byte",)],
    ),
    "a flash that fills up in a roast": (check_full_flash_in_a_roast, [(True, True), (False, False)]),
    "sums": (check_sum, [(0, 0, 0), (10, 0, 10), (10, 3, 4), (3000, 0, 3000), (3000, 1, 2048)]),
    "a log that ends early": (check_sum_of_a_log_that_ends_early, [()]),
}
