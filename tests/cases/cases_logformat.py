"""The log file: exact bytes, round trips, size, losses, damage."""

import long_roast

from panchime_fw import events, faults, logformat, logreader
from panchime_fw.logformat import END, HEAD, MAGIC, NO_COLD, UNKNOWN_CENTI, Encoder, crc32, end_bytes, head_bytes
from panchime_fw.zlibwriter import compress

SMALL_HEAD = {"format": 1, "board": "E6614103E7", "number": 12, "sample_ms": 250, "plan": {"name": "Any"}}


def feed(encoder, steps):
    """A step is ("s", t_ms, temperature, cold), ("f", t_ms, fault) or ("e", t_ms, kind, a, b, c)."""
    for step in steps:
        call = {"s": encoder.sample, "f": encoder.fault, "e": encoder.event}[step[0]]
        call(*step[1:])


def chunks_of(encoder, seed):
    encoder.finish()
    found = [bytes(encoder.chunk(index, seed)) for index in range(encoder.finished)]
    encoder.drop(encoder.finished)
    return found


def file_of(steps, head=SMALL_HEAD, end=None):
    raw, seed = head_bytes(head)
    encoder = Encoder()
    encoder.reset(head["sample_ms"])
    for step in steps:
        feed(encoder, [step])
        if encoder.full:
            raw += b"".join(chunks_of(encoder, seed))
    raw += b"".join(chunks_of(encoder, seed))
    if end:
        raw += end_bytes(end[0], end[1], crc32(raw), seed)
    return raw


def samples(values, begin_ms=0, step_ms=250, cold=2500):
    return [("s", begin_ms + index * step_ms, value, cold) for index, value in enumerate(values)]


def payload_is(steps, expected):
    encoder = Encoder()
    feed(encoder, steps)
    (chunk,) = chunks_of(encoder, 0)
    found = " ".join("%02X" % value for value in chunk[1:-3])
    assert found == expected, "%s instead of %s" % (found, expected)
    assert chunk[0] == len(chunk) - 4, "the length byte is %d" % chunk[0]


PAYLOADS = [
    # time 1000/20 = 50, 20.00 degC + 100 = 12000 = 0x2EE0, cold junction 25.00 = 0x09C4
    (samples([2000], 1000), "00 32 2E E0 09 C4"),
    (samples([2000, 2001, 1999, 2062, 1998], 1000), "00 32 2E E0 09 C4 41 3E 7F 00"),
    # a pair is 0x80 + 9 x first + second of 0 +25 -25 +26 -26 +1 -1 +51 -51
    (samples([2000, 2025, 2000], 1000), "00 32 2E E0 09 C4 8B"),
    (samples([2000, 2026, 2026, 2001], 1000), "00 32 2E E0 09 C4 9B 27"),
    # unchanged: one is a step of 0, two a pair, three and more a run
    (samples([2000] * 2, 1000), "00 32 2E E0 09 C4 40"),
    (samples([2000] * 3, 1000), "00 32 2E E0 09 C4 80"),
    (samples([2000] * 4, 1000), "00 32 2E E0 09 C4 D1"),
    (samples([2000] * 18, 1000), "00 32 2E E0 09 C4 DF"),
    (samples([2000] * 19, 1000), "00 32 2E E0 09 C4 DF 40"),
    # longer steps: 0xE0 + (step + 2048) in twelve bits, then the whole temperature
    (samples([2000, 2064], 1000), "00 32 2E E0 09 C4 E8 40"),
    (samples([2000, 1935], 1000), "00 32 2E E0 09 C4 E7 BF"),
    (samples([2000, 4047], 1000), "00 32 2E E0 09 C4 EF FF"),
    (samples([2000, -48], 1000), "00 32 2E E0 09 C4 E0 00"),
    (samples([2000, 4048], 1000), "00 32 2E E0 09 C4 F3 03 00 0F D0"),
    (samples([2000, -49], 1000), "00 32 2E E0 09 C4 F3 03 FF FF CF"),
    # the first temperature beyond two bytes, or none
    (samples([-10000], 1000), "00 32 00 00 09 C4"),
    (samples([55534], 1000), "00 32 FF FE 09 C4"),
    (samples([55535], 1000), "00 32 FF FF 09 C4 F3 03 00 D8 EF"),
    (samples([-10001], 1000), "00 32 FF FF 09 C4 F3 03 FF D8 EF"),
    ([("f", 1000, faults.OPEN)], "00 32 FF FF 80 00 F0 02 01 01"),
    ([("f", 1000, 1), ("f", 1250, 1), ("f", 1500, 2)], "00 32 FF FF 80 00 F0 02 01 02 F0 02 02 01"),
    # the cold junction: unknown, then told when it moved by a quarter of a degree
    ([("s", 1000, 2000, NO_COLD)], "00 32 2E E0 80 00"),
    ([("s", 1000, 2000, None)], "00 32 2E E0 80 00"),
    ([("s", 1000, 2000, 32768)], "00 32 2E E0 80 00"),
    ([("s", 1000, 2000, -500), ("s", 1250, 2000, -476)], "00 32 2E E0 FE 0C 40"),
    ([("s", 1000, 2000, -500), ("s", 1250, 2000, -475)], "00 32 2E E0 FE 0C F2 02 FE 25 40"),
    # time: 20 ms units, 25 ms of jitter are let be, more is told
    (samples([2000], 1009), "00 32 2E E0 09 C4"),
    (samples([2000], 1010), "00 33 2E E0 09 C4"),
    ([("s", 1000, 2000, 2500), ("s", 1275, 2000, 2500)], "00 32 2E E0 09 C4 40"),
    ([("s", 1000, 2000, 2500), ("s", 1276, 2000, 2500)], "00 32 2E E0 09 C4 F1 03 00 04 FC 40"),
    # events
    ([("s", 1000, 2000, 2500), ("e", 1001, events.RELAY, 1, 0, 0)], "00 32 2E E0 09 C4 F4 05 04 00 03 E9 01"),
    ([("e", 1001, events.MARK, 2, 1, 500)], "00 32 FF FF 80 00 F4 09 01 00 03 E9 02 01 00 01 F4"),
    (
        [("e", 1001, events.TRIP, 1, 24600, 24500)],
        "00 32 FF FF 80 00 F4 0B 05 00 03 E9 01 00 60 18 00 5F B4",
    ),
    ([("e", 1001, events.CLEARED, 0, 0, 0)], "00 32 FF FF 80 00 F4 04 08 00 03 E9"),
    ([("e", 1001, events.MILESTONE, 300, -1, 0)], "00 32 FF FF 80 00 F4 06 03 00 03 E9 FF 00"),
]


def round_trip(steps, sample_ms, chunk_count):
    head = dict(SMALL_HEAD)
    head["sample_ms"] = sample_ms
    last_ms = max(step[1] for step in steps) + 1
    log = logreader.decode(file_of(steps, head, (last_ms, events.DONE)))
    assert not log.problems, log.problems
    assert log.head == head, log.head
    assert log.end == (last_ms, events.DONE), log.end
    given = [step for step in steps if step[0] == "s"]
    assert log.temperature_centi == [step[2] for step in given], "temperatures differ"
    for t_ms, step in zip(log.t_ms, given):
        assert abs(t_ms - step[1]) <= logformat.JITTER_MS, "%d instead of %d" % (t_ms, step[1])
    for cold, step in zip(log.cold_centi, given):
        if step[3] is None or step[3] == NO_COLD:
            assert cold is None, "an unknown cold junction became %r" % cold
        else:
            assert abs(cold - step[3]) < logformat.COLD_STEP_CENTI, "%d instead of %d" % (cold, step[3])
    missing = [step for step in steps if step[0] == "f"]
    assert [fault for _, fault in log.no_reading] == [step[2] for step in missing], "faults differ"
    for (t_ms, _), step in zip(log.no_reading, missing):
        assert abs(t_ms - step[1]) <= logformat.JITTER_MS, "%d instead of %d" % (t_ms, step[1])
    assert log.events == [step[1:] for step in steps if step[0] == "e"], log.events
    assert len(log.chunks) == chunk_count, "%d chunks" % len(log.chunks)


def ragged(count):
    """Everything there is, mixed by a seeded hand, with jitter and leaps of time."""
    noise = long_roast.Noise(7)
    steps = []
    t_ms = 137
    for _ in range(count):
        pick = noise.below(40)
        if pick == 0:
            steps.append(("f", t_ms, 1 + noise.below(9)))
        elif pick == 1:
            steps.append(("s", t_ms, noise.below(200000) - 100000, NO_COLD))
        else:
            steps.append(("s", t_ms, 20000 + noise.below(1 << noise.below(13)), 2500 + noise.below(90)))
        if pick == 2:
            steps.append(("e", t_ms + 3, events.MARK, noise.below(5), noise.below(3), t_ms - noise.below(t_ms)))
        elif pick == 3:
            steps.append(("e", t_ms + 3, events.TRIP, noise.below(14), UNKNOWN_CENTI, -500 + noise.below(30000)))
        elif pick == 4:
            steps.append(("e", t_ms + 3, events.GAP, 0x800001, 65535, t_ms))
        t_ms += 250 + noise.below(9) if pick < 38 else 1000 + noise.below(90000)
    return steps


ALL_EVENTS = [("e", 5000 + kind, kind, 1 if events.WIDTHS[kind][0] else 0, 0, 0) for kind in sorted(events.NAMES)]
ROUND_TRIPS = [
    (samples([2000]), 250, 1),
    (samples([2000] * 20), 250, 2),
    (samples(range(2000, 20000, 7)), 250, 136),
    (samples(range(20000, -9000, -61), 99, 200), 200, 26),
    (samples([2500, 60000, -20000, 8388607, -8388607, 0] * 4, 3), 250, 2),
    ([("f", 250 * index, 1) for index in range(60)], 250, 4),
    (ALL_EVENTS, 250, 1),
    (samples([2000] * 3) + [("e", 700, events.RELAY, 1, 0, 0)] + samples([2001] * 3, 750), 250, 1),
    # beyond the turn of the short time (21.8 min), of the 24 bits (4.66 h), and of both at once after a long silence
    (samples([2000] * 6, 1310500), 250, 1),
    (samples([2000] * 6, 16777000), 250, 1),
    (samples([2000] * 30) + samples([2100] * 30, 1310720 + 80), 250, 4),
    (samples([2000] * 30) + samples([2100] * 30, 8000000), 250, 4),
]


def ragged_trip(count):
    steps = ragged(count)
    log = logreader.decode(file_of(steps, SMALL_HEAD, (steps[-1][1] + 5, 3)))
    round_trip(steps, 250, len(log.chunks))


def size(noise_c, resolution_centi, seed, whole_limit, body_limit):
    count = 0
    happens = list(long_roast.HAPPENS)
    raw, head_seed = head_bytes(long_roast.HEAD)
    plan_bytes = len(logformat.ascii_json(long_roast.PLAN))
    assert 880 <= plan_bytes <= 960, "the plan of the measurement has %d bytes" % plan_bytes
    encoder = Encoder()
    body = 0
    for t_ms, temperature_centi, cold_centi in long_roast.samples(noise_c, resolution_centi, seed):
        count += 1
        encoder.sample(t_ms, temperature_centi, cold_centi)
        early = False
        while happens and happens[0][0] <= t_ms:
            encoder.event(*happens[0])
            early = early or happens[0][1] in events.SEALED_AT_ONCE
            happens.pop(0)
        if encoder.full or early:
            body += sum(len(chunk) for chunk in chunks_of(encoder, head_seed))
    body += sum(len(chunk) for chunk in chunks_of(encoder, head_seed))
    whole = (len(raw) + body + logformat.END_BYTES) / count
    assert whole <= whole_limit, "%.3f bytes a sample, all told" % whole
    assert body / count <= body_limit, "%.3f bytes a sample without the head" % (body / count)


def loses_oldest(slot_count, lost):
    """A buffer of eight chunks that nobody empties: the oldest go, and the file says how much."""
    raw, seed = head_bytes(SMALL_HEAD)
    encoder = Encoder(8)
    for index in range(slot_count):
        encoder.sample(index * 250, 2000 + index, 2500)
        if index % 19 == 3:
            encoder.event(index * 250, events.STAGE, 2, 0, 0)
    log = logreader.decode(raw + b"".join(chunks_of(encoder, seed)))
    assert not log.problems, log.problems
    assert len(log.t_ms) == slot_count - lost, "%d samples" % len(log.t_ms)
    assert abs(log.t_ms[0] - lost * 250) <= logformat.JITTER_MS, "begins at %d" % log.t_ms[0]
    assert abs(log.t_ms[-1] - (slot_count - 1) * 250) <= logformat.JITTER_MS, "ends at %d" % log.t_ms[-1]
    gaps = [event[2:] for event in log.events if event[1] == events.GAP]
    assert (gaps[-1] if gaps else None) == ((lost, lost // 19, 0) if lost else None), gaps


def _whole_file():
    return file_of(samples(range(2000, 2200)), SMALL_HEAD, (49999, 1))


def damaged(change, lost_samples, words):
    """`change` makes bytes of a whole file; so many samples are lost and each of `words` is among the problems."""
    raw = _whole_file()
    log = logreader.decode(change(raw))
    told = "; ".join("byte %d: %s" % problem for problem in log.problems)
    assert len(log.t_ms) == 200 - lost_samples, "%d samples; %s" % (len(log.t_ms), told)
    for word in words:
        assert word in told, "%r is not among: %s" % (word, told)
    if not words:
        assert not told, told


def flip(offset):
    def change(raw):
        at = offset if offset >= 0 else len(raw) + offset
        return raw[:at] + bytes([raw[at] ^ 0x10]) + raw[at + 1 :]

    return change


_CHUNKS_AT = len(head_bytes(SMALL_HEAD)[0])
_CHUNK = 19  # each full chunk of that file: 1 + 6 + 9 + 3, its steps being pairs
_UNKNOWN = b"\x99\x00\x02hi"


def with_unknown_chunk(raw):
    seed = head_bytes(SMALL_HEAD)[1]
    check = crc32(_UNKNOWN, seed)
    return raw[:_CHUNKS_AT] + _UNKNOWN + bytes([check >> 16 & 0xFF, check >> 8 & 0xFF, check & 0xFF]) + raw[_CHUNKS_AT:]


DAMAGE = [
    (lambda raw: raw, 0, []),
    (lambda raw: raw[:-14], 0, []),  # without its end: interrupted, and that is no damage
    (flip(_CHUNKS_AT + 5), 19, ["byte %d: %d damaged bytes are skipped" % (_CHUNKS_AT, _CHUNK), "whole file"]),
    (flip(_CHUNKS_AT), 19, ["byte %d: %d damaged bytes are skipped" % (_CHUNKS_AT, _CHUNK)]),
    (flip(_CHUNKS_AT + _CHUNK), 19, ["byte %d: %d damaged bytes" % (_CHUNKS_AT + _CHUNK, _CHUNK)]),
    (flip(-1), 0, ["the last 14 bytes are torn or damaged"]),
    (flip(3), 0, ["does not begin as a Panchime log"]),
    (flip(10), 0, ["the length of the head is damaged"]),
    (flip(11), 0, ["the length of the head is damaged"]),
    (flip(30), 0, ["the head is damaged: board, plan and date"]),
    (flip(_CHUNKS_AT - 1), 0, ["the check of the head is damaged"]),
    (lambda raw: raw[:20], 200, ["the head is torn off"]),
    (lambda raw: b"", 200, ["does not begin", "the head is torn off"]),
    (lambda raw: raw[: _CHUNKS_AT + _CHUNK + 9], 181, ["byte %d: the last 9 bytes are torn" % (_CHUNKS_AT + _CHUNK)]),
    (lambda raw: raw[:_CHUNKS_AT] + raw[_CHUNKS_AT + _CHUNK :], 19, ["whole file"]),
    (lambda raw: raw[: _CHUNKS_AT + _CHUNK] + raw[_CHUNKS_AT:], 0, ["written twice", "whole file"]),
    (lambda raw: raw[:_CHUNKS_AT] + b"\x00\xff\x7f" + raw[_CHUNKS_AT:], 0, ["3 damaged bytes", "whole file"]),
    (with_unknown_chunk, 0, ["a chunk of the unknown kind 0x99 is skipped"]),
    (lambda raw: raw + b"more", 0, ["4 bytes after the end"]),
    (lambda raw: raw.replace(b"PANCHIME1", b"PANCHIME2", 1), 200, ["format 2", "update"]),
]


def foreign_chunk():
    """A chunk of another roast is never taken for one of this."""
    other = dict(SMALL_HEAD)
    other["number"] = 13
    raw = file_of(samples([2000] * 5))
    stray = file_of(samples([9999] * 5), other)
    log = logreader.decode(raw + stray[len(head_bytes(other)[0]) :])
    assert log.temperature_centi == [2000] * 5, log.temperature_centi
    assert "torn or damaged" in log.problems[0][1], log.problems


def newer_head_is_read():
    log = logreader.decode(b"PANCHIME3\n" + file_of(samples([2000] * 5))[len(MAGIC) :])
    assert log.version == 3 and log.head == SMALL_HEAD and not log.t_ms, "the head of a newer log is not read"


def _sealed(payload):
    """A file with one chunk of this payload and a right check."""
    raw, seed = head_bytes(SMALL_HEAD)
    chunk = bytes([len(payload)]) + payload
    check = crc32(chunk, seed)
    return raw + chunk + bytes([check >> 16 & 0xFF, check >> 8 & 0xFF, check & 0xFF])


BEGIN = b"\x00\x32\x2e\xe0\x09\xc4"
NO_BEGIN = b"\x00\x32\xff\xff\x80\x00"


def strange(payload, temperatures, words):
    """Right check, strange contents: what is known is read, the rest is named."""
    log = logreader.decode(_sealed(payload))
    assert log.temperature_centi == temperatures, log.temperature_centi
    told = "; ".join(words for _, words in log.problems)
    assert (words in told) if words else not told, told


STRANGE = [
    (BEGIN, [2000], ""),
    (BEGIN + b"\xff\x02\x00\x00\x41", [2000, 2001], "the unknown token 0xFF of 2 bytes is skipped"),
    (BEGIN + b"\xff\x30\x00\x00\x41", [2000], "reaches beyond its chunk"),
    (BEGIN + b"\xff", [2000], "reaches beyond its chunk"),
    (BEGIN + b"\xe8", [2000], "reaches beyond its chunk"),
    (BEGIN + b"\xf4\x05\xc8\x00\x00\x00\x01\x41", [2000, 2001], "unknown kind 200"),
    (BEGIN + b"\xf4\x05\x01\x00\x00\x00\x01\x41", [2000, 2001], "too short"),
    (BEGIN + b"\xf4\x07\x04\x00\x03\xe8\x01\x00\x00\x41", [2000, 2001], ""),  # a longer event of a later version
    (BEGIN + b"\xf1\x01\x00\x41", [2000, 2001], "the unknown token 0xF1 of 1 bytes"),
    (NO_BEGIN + b"\x41", [], "a step without a temperature"),
    (NO_BEGIN + b"\xf0\x02\x01\xff", [], ""),
]


def head_text(document, expected):
    found = logformat.ascii_json(document)
    assert found == expected, found


def packed(raw):
    stream = compress(raw)
    found = logreader.unpack(stream, len(raw) + 10)
    assert found == raw, "%d bytes came back of %d" % (len(found), len(raw))


def head_too_long():
    try:
        head_bytes({"plan": "x" * logformat.HEAD_LIMIT})
    except ValueError as error:
        assert "at most 16384" in str(error), error
        return
    raise AssertionError("a head that does not fit is taken")


def bad_head(packed_payload, words):
    raw = MAGIC + bytes([HEAD, 0, len(packed_payload)]) + packed_payload
    seed = crc32(packed_payload)
    log = logreader.decode(raw + bytes([seed >> shift & 0xFF for shift in (24, 16, 8, 0)]))
    assert log.head is None or words.startswith("sample_ms"), log.head
    assert words in log.problems[0][1], log.problems


def never_raises(raw):
    log = logreader.decode(raw)
    assert log.problems, "nothing is said about %r" % raw[:20]


def room(bytes_free, minutes):
    assert logformat.minutes_left(bytes_free) == minutes, logformat.minutes_left(bytes_free)


TABLES = {
    "exact payloads": (payload_is, PAYLOADS),
    "round trips": (round_trip, ROUND_TRIPS),
    "round trip of everything mixed": (ragged_trip, [(3000,)]),
    "size of a roast": (
        size,
        [
            (0.05, 25, 1, 1.6, 1.6),
            (0.1, 25, 2, 1.6, 1.6),
            (0.2, 25, 3, 1.6, 1.6),
            (0.02, 1, 4, 2.0, 1.6),
            (0.1, 1, 5, 2.0, 1.6),
        ],
    ),
    "lost when not sealed": (loses_oldest, [(152, 0), (153, 19), (152 + 19 * 5, 19 * 5), (152 + 19 * 200, 19 * 200)]),
    "damage": (damaged, DAMAGE),
    "strange contents": (strange, STRANGE),
    "a chunk of another roast": (foreign_chunk, [()]),
    "a newer log": (newer_head_is_read, [()]),
    "a head as text": (
        head_text,
        [
            ({"a": 1}, b'{"a":1}'),
            ({"a": "caf\u00e9"}, b'{"a":"caf\\u00e9"}'),
            ({"a": "\U0001f525"}, b'{"a":"\\ud83d\\udd25"}'),
            ({"a": None}, b'{"a":null}'),
        ],
    ),
    "packed and unpacked": (
        packed,
        [(b"",), (b"a",), (b"abc" * 500,), (bytes(range(256)) * 3,), (b"x" * 1000,), (b"rises_to,falls_to,rises_to",)],
    ),
    "a head that is too long": (head_too_long, [()]),
    "a whole head that is none": (
        bad_head,
        [
            (b"hello", "is not packed JSON"),
            (compress(b"hello"), "is not packed JSON"),
            (compress(b"[1]"), "not an object"),
            (compress(b'{"sample_ms":0}'), "sample_ms is not"),
            (compress(b'{"sample_ms":"x"}'), "sample_ms is not"),
        ],
    ),
    "never raises": (
        never_raises,
        [(b"",), (b"\x00" * 300,), (b"\xff" * 300,), (MAGIC,), (MAGIC + bytes([HEAD]),), (MAGIC + bytes([END] * 40),)],
    ),
    "minutes left": (room, [(0, 0), (18432, 0), (18832, 1), (1048576, 2575)]),
}
