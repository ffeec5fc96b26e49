"""Feeds a logbook with the heap locked: any allocation raises MemoryError. Usage: micropython THIS firmware_folder folder"""

import sys

import micropython

sys.path.insert(0, sys.argv[1])

from panchime_fw import events, logformat
from panchime_fw.logbook import Logbook


def feed(book, kinds, slots):
    t_ms = 0
    index = due = 0
    while index < slots:
        t_ms += 250 + index % 60
        if index % 23 == 0:
            book.fault(t_ms, 1 + index % 2)
        elif index % 29 == 0:
            book.sample(t_ms, 60000 + index, logformat.NO_COLD)
        else:
            book.sample(t_ms, 20000 + index * index % 997 - index % 3 * 400, 2500 + index % 41)
        if index % 7 == 0:
            book.event(t_ms, kinds[index // 7 % 9], index % 5, 20000 + index, t_ms - 250)
        due += book.due
        index += 1
    return due


def main():
    kinds = tuple(sorted(events.NAMES))
    book = Logbook(sys.argv[2])
    assert book.open(1, {"format": 1, "plan": {}}), book.problem
    feed(book, kinds, 50)
    while book.due:
        assert book.seal(), book.problem
    failure = None
    micropython.heap_lock()
    try:
        due = feed(book, kinds, 4000)
    except MemoryError as error:
        failure = error
    finally:
        micropython.heap_unlock()
    if failure is not None:
        sys.print_exception(failure)
        sys.exit(1)
    assert due > 0, "never due in 4000 slots"
    seals = 0
    while book.due:
        assert book.seal(), book.problem
        seals += 1
    assert book.close(1100000, events.DONE), book.problem
    print("seals", seals, "lost", book._encoder.lost_slots)


main()
