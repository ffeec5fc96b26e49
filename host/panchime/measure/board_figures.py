"""The board's figures: work of a pass, heap, the longest pass, the way from power-on to a watched relay."""

from panchime.measure.board_files import BoardFiles, board_files
from panchime.measure.board_work import (
    COLLECTION_NOISE,
    HEAP_SAMPLES,
    PASS_TURNS,
    PASSES,
    TURNS,
    heap_taken,
    instructions_a_pass,
    instructions_to_guard,
    longest_passes,
    ms_to_guard,
    times_a_pass,
)
from panchime.measure.figure import Figure
from panchime.measure.instructions import can_count
from panchime.virtual.interpreter import micropython_command

PASS_NAMES = {"sample": "a pass with a sample, frame to milestones and log", "idle": "a pass without a sample"}
LONGEST_NAMES = {"pull": "longest pass while 100 KB are pulled in a roast", "plan": "longest pass while a plan is sent"}


def board_figures() -> list[Figure]:
    """All of them; without MicroPython none, without valgrind those that need no counting."""
    if micropython_command() is None:
        print("   there is no MicroPython for this computer: the board's own work is left out")
        return []
    with board_files() as files:
        found = [*heap_figures(files), *time_figures(files)]
        if can_count():
            found += counted_figures(files)
        else:
            print("   valgrind is not installed: instructions are not counted")
        ready = ms_to_guard(files)
        return [
            *found,
            Figure("loop's start to the first judged reading", ready, "ms", "the loop's clock, computing takes none"),
        ]


def counted_figures(files: BoardFiles) -> list[Figure]:
    found = []
    for kind, name in PASS_NAMES.items():
        value = instructions_a_pass(files, kind) / 1000
        how = f"callgrind: {2 * PASSES[kind]} passes less {PASSES[kind]}, MicroPython's unix build"
        found.append(Figure(name, value, "1000 instr.", how, noise=COLLECTION_NOISE))
    start = instructions_to_guard(files) / 1e6
    how = "callgrind, less the interpreter's own start, MicroPython's unix build"
    found.append(Figure("start to the first judged reading", start, "million instr.", how, noise=COLLECTION_NOISE))
    return found


def heap_figures(files: BoardFiles) -> list[Figure]:
    heap = heap_taken(files)
    how = f"gc.mem_alloc with collections off, {HEAP_SAMPLES} samples of a roast, 64-bit words"
    return [
        Figure("heap from frame to relay, milestones and log buffer", heap.in_path, "bytes/sample", how, goal=0),
        Figure("heap of a pass with a sample, flash writes included", heap.mean, "bytes/pass", how),
        Figure("heap of a pass with a sample, the most of one", heap.most, "bytes/pass", how),
        Figure("heap of a pass without a sample", heap.idle, "bytes/pass", how, goal=0),
    ]


def time_figures(files: BoardFiles) -> list[Figure]:
    found = []
    for kind, name in PASS_NAMES.items():
        turns = times_a_pass(files, kind)
        how = f"{PASSES[kind]} passes on MicroPython's unix build, median of {TURNS}, in turns"
        peer = "the same on CPython"
        found.append(Figure(name + ", time", turns.ours_s * 1e6, "us", how, peer, turns.ratio.median, turns.ratio.noise))
    for name, longest in longest_passes(files).items():
        how = f"the least of {PASS_TURNS} runs for each pass, the most of all passes"
        peer = "a usual pass with a sample"
        found.append(Figure(LONGEST_NAMES[name], longest.longest_s * 1000, "ms", how, peer, longest.usual, longest.noise))
    return found
