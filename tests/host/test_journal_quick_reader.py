"""The quick reader of logs gives what the board's own reader gives, whatever the bytes."""

import sys
from binascii import crc32
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from panchime.journal.quick_reader import decode, decode_whole
from panchime.measure.made_journal import written_log
from panchime.virtual.roaster.scenario import scenario_names
from panchime_fw import events, faults, logformat, logreader

sys.path.insert(0, str(Path(__file__).parent))
from kitchen_roast import kitchen_roast
from made_roast import made_roast, usual_events

PLAN = {"name": "Tried out", "method": "skillet", "unit": "C", "marks": ["beans in", "beans out"]}
HEAD = {"board": "B", "boot": 1, "uptime_ms": 0}


def alike(raw):
    assert vars(decode(raw)) == vars(logreader.decode(raw))


@pytest.mark.parametrize("name", scenario_names())
def test_roasts_of_the_kitchen_are_read_quickly_and_alike(name):
    _, _, raw = kitchen_roast(name)
    assert decode_whole(raw) is not None
    alike(raw)


@pytest.mark.parametrize(
    "raw",
    [
        made_roast(),
        made_roast([]),
        made_roast(end=None),
        made_roast(faults=[(300_000, 312_000, faults.OPEN)]),
        made_roast([*usual_events(), (650_000, events.TRIP, 1, 24600, 24500), (650_000, events.RELAY, 0, 0, 0)]),
        made_roast()[:-3],
        made_roast() + b"more",
        b"",
        b"PANCHIME1\n",
        b"PANCHIME2\n" + made_roast()[10:],
    ],
)
def test_other_logs_are_read_alike(raw):
    alike(raw)


def test_a_chunk_that_was_written_twice_is_read_alike():
    raw = kitchen_roast("skillet-mild")[2]
    at = logformat.head_length(raw)
    chunk = raw[at : at + 4 + raw[at]]
    seed = int.from_bytes(raw[at - 4 : at], "big")
    body = raw[: at + len(chunk)] + raw[at : -logformat.END_BYTES]
    end = logformat.end_bytes(0, events.DONE, crc32(body), seed)
    alike(body + end)
    assert any("written twice" in words for _, words in decode(body + end).problems)


STEPS = st.one_of(
    st.sampled_from([0, 0, 0, 25, -25, 26, 1, -51]), st.integers(-63, 63), st.integers(-2048, 2047), st.integers(-30000, 30000)
)
GAPS = st.one_of(st.just(250), st.just(250), st.just(250), st.integers(200, 900), st.sampled_from([5_000, 700_000, 1_400_000]))
SAMPLES = st.lists(st.tuples(GAPS, STEPS, st.sampled_from([0, 0, 0, 30, -200])), min_size=1, max_size=120)


@settings(max_examples=150, deadline=None)
@given(SAMPLES, st.lists(st.integers(0, 30_000), max_size=4, unique=True))
def test_any_samples_are_read_alike(steps, marks_ms):
    samples, t_ms, centi, cold = [], 0, 2000, 2500
    for gap_ms, step, cold_step in steps:
        t_ms, cold = t_ms + gap_ms, max(-4000, min(12500, cold + cold_step))
        centi = max(-9000, min(50_000, centi + step))
        samples.append((t_ms, centi, cold))
    acts = dict(zip(("beans in", "yellow", "first crack", "beans out"), sorted(marks_ms), strict=False))
    alike(written_log(samples, acts, PLAN, **HEAD))


@settings(max_examples=60, deadline=None)
@given(st.data())
def test_damaged_bytes_are_read_alike(data):
    raw = bytearray(made_roast(until_ms=60_000))
    for _ in range(data.draw(st.integers(1, 3))):
        raw[data.draw(st.integers(0, len(raw) - 1))] = data.draw(st.integers(0, 255))
    alike(bytes(raw))
