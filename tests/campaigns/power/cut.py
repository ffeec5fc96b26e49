"""Cuts the power at every write and every erase of whatever the board keeps on its flash. Runs on MicroPython.

Usage: micropython THIS firmware_folder cases_folder campaign_folder seconds cuts seed

The work is done once on a real littlefs over a flash in memory, and every change of the flash is kept. Then, for each change,
the flash is put into the state at that moment - before the change, after a first part of it, with some of its bits - and is
mounted anew, and everything that must hold is checked. To show that this is what a cut does, the work is also cut for good at
some of the changes, and the flash must be in the very state that the trace says.

Prints how many steps it has, a line at each, and last one line of JSON.
"""

# Runs on MicroPython, which has other rules than the host's code.
# ruff: noqa: B905, E402, I001, UP031

import json
import os
import random
import sys
from binascii import crc32

sys.path[:0] = sys.argv[1:4]

import flash as chip
import long_roast
import vfs
from panchime_fw import events, logreader, trips
from panchime_fw.guard_record import GuardRecord
from panchime_fw.logbook import Logbook
from panchime_fw.logformat import END_BYTES
from panchime_fw.popper_rest import RESTED, RESTING, PopperRest
from panchime_fw.room import MARK_ENDING, Room
from panchime_fw.store import Store

BLOCKS = 24
PLACE = "/cut"
LOGS = PLACE + "/log"
STATE = PLACE + "/state"
OLD_PLAN = json.dumps(long_roast.PLAN)
NEW_PLAN = OLD_PLAN.replace("City", "Vienna") + " " * 700
OLD_SETTINGS = '{"amplifier":"MAX31855"}'
NEW_SETTINGS = '{"amplifier":"MAX31856","thermocouple":"K"}'
TRIP = (trips.OVER_LIMIT, 24600, 24500)
# What is kept as a text in two copies: name, before, after.
TEXTS = (
    ("plan", OLD_PLAN, NEW_PLAN),
    ("settings", OLD_SETTINGS, NEW_SETTINGS),
    ("guard", "heating 3", "tripped 3 %d %d %d" % TRIP),
    ("rest", RESTED, RESTING),
)
CONFIRMED = ("000001.roast", "000002.roast")  # the second was interrupted
MOST_LOST_MS = 5000
DECODE_EVERY = 40
LIVE_CUTS = 25
STEP = "step:"  # begins the line of a step, which tells it from what the interpreter itself prints


class Work:
    """What was done when, in numbers of changes of the flash."""

    def __init__(self, flash):
        self.flash = flash
        self.given = []  # (changes when the sample was given, its time)
        self.sealed = []  # (changes when it was acknowledged, length of the file, time of the last sample in it)
        self.saved = {}  # name -> changes when the save was acknowledged
        self.marked = {}  # name of a log -> changes when its being confirmed was acknowledged
        self.dropped = {}  # name of a log -> changes when it began to be dropped, and when it was
        self.phases = []  # (name, changes at its begin)


def mount(flash, make=False):
    if make:
        vfs.VfsLfs2.mkfs(flash, progsize=chip.PAGE)
    # Without the time of a file's change, which would make every run another.
    vfs.mount(vfs.VfsLfs2(flash, progsize=chip.PAGE, mtime=False), PLACE)


def read(path):
    with open(path, "rb") as file:
        return file.read()


def roast(book, seconds, work=None):
    """One roast of so many seconds from the long one, a sample after another, sealed when due."""
    number = book.next_number()
    head = dict(long_roast.HEAD)
    head["number"] = number
    assert book.open(number, head), book.problem
    happens = [happening for happening in long_roast.HAPPENS if happening[0] < seconds * 1000]
    path = "%s/%06d.roast" % (LOGS, number)

    def note(t_ms):
        if work:
            work.sealed.append((work.flash.changes, os.stat(path)[6], t_ms))

    note(0)
    t_ms = 0
    for t_ms, temperature_centi, cold_centi in long_roast.samples(0.1, 25, number):
        if t_ms > seconds * 1000:
            break
        if work:
            work.given.append((work.flash.changes, t_ms))
        book.sample(t_ms, temperature_centi, cold_centi)
        while happens and happens[0][0] <= t_ms:
            book.event(*happens.pop(0))
        if book.due:
            assert book.seal(), book.problem
            note(t_ms)
    assert book.close(t_ms, events.DONE), book.problem
    note(t_ms)


def prepare(flash):
    """A board that has been used: an earlier roast, an interrupted one, a plan and settings."""
    mount(flash, make=True)
    os.mkdir(STATE)
    for name, old, _ in TEXTS:
        assert Store(STATE, name).save(old), "no " + name
    roast(Logbook(LOGS), 60)
    book = Logbook(LOGS)
    assert book.open(book.next_number(), long_roast.HEAD), book.problem
    for index in range(30):
        book.sample(index * 250, 2000, 2500)
        if book.due:
            book.seal()
    book._close_file()


def work_on(flash, seconds, work):
    """What is cut: a roast, a plan upload, a settings change, a trip, a popper that must rest, logs confirmed and dropped."""

    def save(name, text):
        assert Store(STATE, name).save(text), "not saved"
        work.saved[name] = flash.changes

    def phase(name):
        work.phases.append((name, flash.changes))

    book = Logbook(LOGS)
    book.recover()
    phase("roast")
    roast(book, seconds, work)
    phase("plan upload")
    save("plan", NEW_PLAN)
    phase("settings change")
    save("settings", NEW_SETTINGS)
    phase("trip")
    record = GuardRecord(Store(STATE, "guard"))
    record.load()
    record.tripped(*TRIP)
    assert record.save(), "no trip"
    work.saved["guard"] = flash.changes
    phase("popper's rest")
    rest = PopperRest(Store(STATE, "rest"), 0)
    rest.heated(0)
    assert rest.save(), "no rest"
    work.saved["rest"] = flash.changes
    phase("confirming")
    room = Room(book)
    for name in CONFIRMED:
        raw = read(LOGS + "/" + name)
        assert room.confirm(name, len(raw), crc32(raw) & 0xFFFFFFFF), "not confirmed"
        work.marked[name] = flash.changes
    phase("dropping")
    room.may_drop = True
    for name in CONFIRMED:
        begun = flash.changes
        dropped = room.drop_oldest()
        assert dropped, "not dropped"
        work.dropped[name] = begun, flash.changes
    assert not room.drop_oldest(), "one too many dropped"


def check(work, whole, earlier, change, problems):
    """Everything that must hold after a cut at `change`, on the file system that is mounted."""

    def must(holds, words):
        if not holds:
            problems.append((change, words))

    room = Room(Logbook(LOGS))
    for name, raw in earlier:
        begun, done = work.dropped[name]
        if change >= begun and room._log.length(name) < 0:
            continue
        must(change < done, name + " was dropped and is there")
        must(read(LOGS + "/" + name) == raw, name + " differs")
        if work.marked[name] <= change < begun:
            must(room.holds(name), "the mark of a confirmed log is gone: " + name)
    for name, _ in room._log.names():
        must(name in CONFIRMED or not room.holds(name), name + " is confirmed by nobody")
    must_have, last_ms = 0, -1
    for at, length, t_ms in work.sealed:
        if at <= change:
            must_have, last_ms = length, t_ms
    given_ms = 0
    for at, t_ms in work.given:
        if at <= change:
            given_ms = t_ms
    try:
        raw = read(LOGS + "/000003.roast")
    except OSError:
        raw = b""
    must(raw == whole[: len(raw)], "the roast differs")
    must(len(raw) >= must_have, "a sealed chunk is gone: %d of %d bytes" % (len(raw), must_have))
    must(len(raw) in [0] + [length for _, length, _ in work.sealed], "a part of a chunk: %d bytes" % len(raw))
    for _, length, t_ms in work.sealed:
        if length == len(raw):
            last_ms = max(last_ms, t_ms)
    lost_ms = given_ms - max(last_ms, 0)
    must(lost_ms <= MOST_LOST_MS, "%d ms lost" % lost_ms)
    for name, old, new in TEXTS:
        text = Store(STATE, name).load()
        must(text == new or (text == old and change < work.saved[name]), "the %s is %r" % (name, text and text[:20]))
    return raw, lost_ms


def goes_on(raw, whole, change, problems):
    """The board starts again: it says which roasts have no end, and the next roast is written whole."""
    book = Logbook(LOGS)
    unclosed = book.recover()
    ended = len(raw) == len(whole)
    expected = [2] if book.length(CONFIRMED[1]) >= 0 else []
    if raw and not ended:
        expected.append(3)
    if unclosed != expected:
        problems.append((change, "roasts without an end: %r" % unclosed))
    Room(book).recover()
    marks = [name for name in os.listdir(LOGS) if name.endswith(MARK_ENDING)]
    for mark in marks:
        if book.length(mark[: -len(MARK_ENDING)] + ".roast") < 0:
            problems.append((change, "a mark without a log: " + mark))
    number = book.next_number()
    if number < 3 or (raw and number < 4):
        problems.append((change, "the next number is %d" % number))
    roast(book, 3)
    name = "%06d.roast" % number
    log = logreader.decode(read(LOGS + "/" + name))
    if log.problems or not log.end or len(log.t_ms) < 11:
        problems.append((change, "the next roast is not whole: %r" % log.problems))
    if raw and read(LOGS + "/000003.roast") != raw:
        problems.append((change, "the cut roast was changed by the next start"))


def main():
    seconds, cuts, seed = [int(word) for word in sys.argv[4:7]]
    random.seed(seed)
    flash = chip.Flash(BLOCKS)
    prepare(flash)
    before = bytes(flash.image)
    # Switched off and on: littlefs begins its search for free blocks anew, as it does in the live cuts.
    vfs.umount(PLACE)
    mount(flash)
    begun = flash.changes
    flash.trace = []
    work = Work(flash)
    earlier = [(name, read(LOGS + "/" + name)) for name in CONFIRMED]
    work_on(flash, seconds, work)
    whole = read(LOGS + "/000003.roast")
    assert not logreader.decode(whole).problems, "the whole roast is not whole"
    assert work.sealed[-1][1] == len(whole), "not all of it was acknowledged"
    assert work.sealed[-1][1] - work.sealed[-2][1] >= END_BYTES, "no end"
    vfs.umount(PLACE)
    trace = flash.trace
    live_cuts = min(LIVE_CUTS, len(trace) // 4)
    print(len(trace) + live_cuts)

    rounds = max(1, (cuts + len(trace) - 1) // len(trace))
    again = chip.Flash(BLOCKS)
    base = bytearray(before)
    problems = []
    phases = [[name, 0, 0, 0] for name, _ in work.phases]
    by_cut = [0, 0, 0]
    done = worst_lost_ms = 0
    states = []
    live = [len(trace) * (2 * index + 1) // (2 * live_cuts) for index in range(live_cuts)]
    for index, (kind, begin, raw) in enumerate(trace):
        if index in live:
            states.append((index, bytes(base)))
        place = 0
        for candidate, (_, at) in enumerate(work.phases):
            if begun + index >= at:
                place = candidate
        for turn in range(rounds):
            cut = chip.NOT_BEGUN if turn == 0 else 1 + turn % 2
            again.image[:] = base
            if cut != chip.NOT_BEGUN:
                chip.apply_torn(again.image, kind, begin, raw, cut)
            change = begun + index
            try:
                mount(again)
            except OSError as error:
                problems.append((change, "does not mount: %s" % error))
                continue
            try:
                found, lost_ms = check(work, whole, earlier, change, problems)
                worst_lost_ms = max(worst_lost_ms, lost_ms)
                if done % DECODE_EVERY == 0 and found and logreader.decode(found).problems:
                    problems.append((change, "the reader finds a problem"))
                goes_on(found, whole, change, problems)
            except Exception as error:
                problems.append((change, "%s: %s" % (type(error).__name__, error)))
            vfs.umount(PLACE)
            done += 1
            by_cut[cut] += 1
            phases[place][1] += 1
            phases[place][2] += kind == chip.ERASE
            phases[place][3] = max(phases[place][3], lost_ms)
        chip.apply(base, kind, begin, raw)
        print(STEP, "change", index)

    for index, state in states:
        cut_flash = chip.Flash(BLOCKS, begun + index)
        cut_flash.image[:] = before
        cut_flash.changes = begun
        mount(cut_flash)
        try:
            work_on(cut_flash, seconds, Work(cut_flash))
            problems.append((index, "the live cut did not happen"))
        except chip.PowerCut:
            pass
        if cut_flash.image != state:
            problems.append((index, "a live cut leaves another flash than the trace"))
        vfs.umount(PLACE)
        print(STEP, "cut live at", index)

    print(
        json.dumps(
            {
                "cuts": done,
                "changes": len(trace),
                "roast_bytes": len(whole),
                "seed": seed,
                "by_cut": dict(zip(chip.KINDS_OF_CUT, by_cut)),
                "phases": [
                    {"phase": name, "cuts": count, "at_erases": erases, "worst_lost_ms": lost}
                    for name, count, erases, lost in phases
                ],
                "live_cuts": len(states),
                "worst_lost_ms": worst_lost_ms,
                "problem_count": len(problems),
                "problems": ["change %d: %s" % problem for problem in problems[:50]],
            }
        )
    )


main()
