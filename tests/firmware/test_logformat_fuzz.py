"""The reader of logs takes any bytes: never an error, always bounded, and a good chunk beside a damaged one is read."""

import random
import sys
from pathlib import Path

from hypothesis import example, given, settings
from hypothesis import strategies as st

from panchime_fw import logformat, logreader

sys.path.insert(0, str(Path(__file__).parent.parent / "campaigns"))
from log_damage import count_of_damage, mutate, whole_log

MUTATIONS = 2000
SLOTS_A_BYTE = 128  # an escape of four bytes can count 255 slots without a reading; a run 17 samples a byte


def check_bounded(raw: bytes) -> logreader.Log:
    log = logreader.decode(raw)
    slots = len(log.t_ms) + len(log.no_reading)
    assert slots <= SLOTS_A_BYTE * len(raw)
    assert len(log.t_ms) == len(log.temperature_centi) == len(log.cold_centi)
    assert len(log.events) + len(log.problems) <= len(raw) + 10
    assert all(0 <= offset <= len(raw) and words for offset, words in log.problems)
    return log


@given(st.binary(max_size=600))
@settings(max_examples=300, deadline=None)
def test_any_bytes(raw):
    assert check_bounded(raw).problems


@given(st.binary(max_size=600))
@settings(max_examples=300, deadline=None)
def test_any_bytes_behind_a_good_head(raw):
    head, _ = logformat.head_bytes({"format": 1, "plan": {}})
    assert check_bounded(head + raw).head == {"format": 1, "plan": {}}


@given(st.binary(min_size=6, max_size=127))
@example(b"\x00\x00\xff\xff\x80\x00" + b"\xf0\x02\x01\xff" * 30)
@settings(max_examples=500, deadline=None)
def test_any_payload_with_a_right_check(payload):
    head, seed = logformat.head_bytes({"format": 1, "plan": {}})
    chunk = bytes([len(payload)]) + payload
    check = logformat.crc32(chunk, seed) & 0xFFFFFF
    log = check_bounded(head + chunk + check.to_bytes(3, "big"))
    assert len(log.chunks) == 1


slot = st.tuples(
    st.integers(0, 3000),  # ms after the slot before, beyond the 250
    st.one_of(st.integers(-20000, 60000), st.integers(-(2**23) + 1, 2**23 - 1)),
    st.one_of(st.none(), st.integers(-32768, 32767)),
    st.booleans(),
)


@given(st.lists(slot, max_size=80))
@settings(max_examples=300, deadline=None)
def test_what_is_written_is_read(slots):
    head, seed = logformat.head_bytes({"format": 1, "plan": {}})
    encoder = logformat.Encoder()
    t_ms = 0
    given_temperatures, given_times = [], []
    for late_ms, temperature_centi, cold_centi, faulty in slots:
        t_ms += 250 + late_ms
        if faulty:
            encoder.fault(t_ms, 1)
        else:
            encoder.sample(t_ms, temperature_centi, cold_centi)
            given_temperatures.append(temperature_centi)
            given_times.append(t_ms)
    encoder.finish()
    log = logreader.decode(head + b"".join(encoder.chunk(index, seed) for index in range(encoder.finished)))
    assert not log.problems
    assert log.temperature_centi == given_temperatures
    assert len(log.no_reading) == len(slots) - len(given_temperatures)
    assert all(abs(found - told) <= logformat.JITTER_MS for found, told in zip(log.t_ms, given_times, strict=True))


def test_seeded_mutations():
    whole = whole_log()
    good = logreader.decode(whole)
    assert not good.problems
    assert good.end
    chance = random.Random(20261125)
    damaged = 0
    for _ in range(MUTATIONS):
        raw = mutate(whole, chance)
        log = check_bounded(raw)
        damaged += bool(log.problems)
        assert count_of_damage(good, log) == 0, "a sample that was never taken is shown"
    assert damaged > MUTATIONS * 0.9


def test_one_damaged_byte_costs_one_chunk():
    whole = whole_log()
    good = logreader.decode(whole)
    chance = random.Random(7)
    for _ in range(300):
        at = chance.randrange(good.chunks[0], len(whole))
        raw = whole[:at] + bytes([whole[at] ^ (1 << chance.randrange(8))]) + whole[at + 1 :]
        log = logreader.decode(raw)
        assert len(good.t_ms) - len(log.t_ms) <= logformat.SLOTS_IN_CHUNK
        assert log.problems
