"""A roast's usual sample calls nothing whose frame MicroPython takes from the heap: see panchime/measure/python_frames.py."""

import sys

import pytest

from panchime.install.files import PACKAGE, compile_one, compiled_modules
from panchime.measure.board_files import SCENARIO, SCRIPTS, frames
from panchime.measure.python_frames import HANDLER_WORDS, STACK_WORDS, frame_words, named_frames
from panchime.virtual.board import default_firmware

SAMPLES = 440
LOOKED_AT = 8  # fewer than a chunk of the log holds


@pytest.fixture(scope="module")
def bare_board():
    sys.path.insert(0, str(SCRIPTS))
    try:
        import bare_board

        yield bare_board
    finally:
        sys.path.remove(str(SCRIPTS))
        sys.modules.pop("bare_board", None)


def called(work) -> set[tuple[str, str]]:
    """(module, qualified name) of the firmware's functions that a piece of work calls."""
    found = set()

    def note(frame, event, _):
        if event == "call" and f"/{PACKAGE}/" in frame.f_code.co_filename.replace("\\", "/"):
            found.add((frame.f_globals["__name__"], frame.f_code.co_qualname))

    sys.setprofile(note)
    try:
        work()
    finally:
        sys.setprofile(None)
    return found


def test_every_sample_keeps_to_the_stack(bare_board, tmp_path):
    bench = bare_board.Bench(frames(SCENARIO, SAMPLES + 20), str(tmp_path))
    bench.start()
    for _ in range(SAMPLES - LOOKED_AT):
        bench.sample_pass()
    passes = [called(bench.sample_pass) for _ in range(LOOKED_AT)]
    every_time = set.intersection(*passes) | called(bench.idle_pass)
    assert ("panchime_fw.signal", "RateOfRise.add") in every_time
    assert ("panchime_fw.amplifier.max31855", "Max31855.decode") in every_time
    folder = default_firmware()
    words = {}
    for path, compiled in compiled_modules(folder):
        module = path.removesuffix(".mpy").removesuffix("/__init__").replace("/", ".")
        source = (folder / path).with_suffix(".py")
        for function, count in named_frames(source.read_text(encoding="utf-8"), path, compiled).items():
            words[module, function] = count
    too_wide = {function: words[function] for function in every_time if words.get(function, 0) > STACK_WORDS}
    assert not too_wide, f"these take their frames from the heap, {STACK_WORDS} words are the most: {too_wide}"


MADE = """
def narrow(a, b):
    return a + b

class Thing:
    def wide(self):
{}
        return v0

    def handles(self):
        try:
            return 1
        except ValueError:
            return 2
""".format("\n".join(f"        v{k} = {k}" for k in range(12)))


def test_what_is_read_is_what_is_there():
    """Counted by hand: `narrow` has two arguments and adds them on the stack; `wide` has self, twelve locals and one on it."""
    found = named_frames(MADE, "made.py", compile_one("made.py", MADE))
    assert found["narrow"] == 4
    assert found["Thing.wide"] == 14
    assert found["Thing.handles"] >= 1 + HANDLER_WORDS


def test_no_byte_code():
    with pytest.raises(ValueError, match="version 6"):
        frame_words(b"import sys\n")
