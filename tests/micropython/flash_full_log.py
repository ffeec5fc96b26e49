"""A roast while the flash fills up, on a real littlefs. Runs on MicroPython.

Usage: INTERPRETER flash_full_log.py FIRMWARE_FOLDER CASES_FOLDER POWER_CAMPAIGN_FOLDER. Prints what happened.
"""

# Runs on MicroPython, which has other rules than the host's code.
# ruff: noqa: E402, PT018, UP031

import os
import sys

sys.path[:0] = sys.argv[1:4]

import flash
import long_roast
import vfs

from panchime_fw import events, logreader
from panchime_fw.logbook import Logbook
from panchime_fw.store import Store

PLACE = "/small"


def fill():
    """Fills the flash to its last block, with one file after another until none fits."""
    while True:
        name = "%s/filler%d" % (PLACE, len(os.listdir(PLACE)))
        try:
            with open(name, "wb") as file:
                for _ in range(8):
                    file.write(b"x" * 1024)
                    file.flush()
        except OSError:
            if os.stat(name)[6] == 0:
                return


def empty():
    for name in os.listdir(PLACE):
        if name.startswith("filler"):
            os.remove(PLACE + "/" + name)


def decoded(name):
    with open(PLACE + "/log/" + name, "rb") as file:
        return logreader.decode(file.read())


def main():
    chip = flash.Flash(20)
    vfs.VfsLfs2.mkfs(chip, progsize=flash.PAGE)
    vfs.mount(vfs.VfsLfs2(chip, progsize=flash.PAGE), PLACE)
    store = Store(PLACE, "plan")
    assert store.save("the old plan " * 500), "no room for a plan"
    book = Logbook(PLACE + "/log")
    assert book.open(1, long_roast.HEAD), book.problem

    filled = emptied = False
    given = []
    refused = 0
    t_ms = 0
    for t_ms, temperature_centi, cold_centi in long_roast.samples(0.2, 25):
        if t_ms > 400000 and not filled:
            filled = True
            fill()
            saved = store.save("a new plan " * 700)
            assert saved is False, "saved on a full flash"
            assert store.load() == "the old plan " * 500, "the old plan is gone"
        if t_ms > 640000 and not emptied:
            emptied = True
            empty()
        book.sample(t_ms, temperature_centi, cold_centi)
        given.append(temperature_centi)
        if book.due and not book.seal():
            refused += 1
    assert book.close(t_ms, events.DONE) or book.due, book.problem
    while book.due:
        assert book.seal(), book.problem
    log = decoded("000001.roast")
    assert not [words for _, words in log.problems if "twice" not in words], log.problems
    assert log.temperature_centi == given, "%d of %d samples" % (len(log.temperature_centi), len(given))
    assert log.end == (t_ms, events.DONE), log.end

    fill()
    assert book.open(2, long_roast.HEAD) is False, "opened on a full flash"
    assert book.recording, "given up"
    for index in range(100):
        book.sample(index * 250, 2000 + index, 2500)
        if book.due:
            assert book.seal() is False, "written on a full flash"
    empty()
    assert book.close(25000, events.DONE) is False or not book.due, book.problem
    while book.due:
        assert book.seal(), book.problem
    log = decoded("000002.roast")
    assert len(log.t_ms) == 100 and log.end and not log.problems, log.problems
    print("refused", refused)


main()
