"""A session by ear: what sounds in a roast, in which order, and what is recorded of what could not sound."""

from bench_session import Bench

from panchime_fw import events, faults, player, sound_words, sounds, stages

GUIDE = {"guide": [[0, 20], [300, 170], [600, 220]], "guide_every_s": 30, "guide_band": 3}


class Ear:
    """Feeds a bench in passes of 10 ms and writes down what is heard."""

    def __init__(self, **changes):
        self.bench = Bench(**changes)
        self.heard = []
        self.bench.session.player._output = self._hear

    def _hear(self, hz):
        self.heard.append((self.bench.now_ms, hz))

    def feed(self, seconds, from_centi, to_centi, fault=faults.NONE):
        bench = self.bench
        steps = int(seconds * 4)
        bench.reading.fault = fault
        for step in range(1, steps + 1):
            bench.reading.temperature_centi = from_centi + (to_centi - from_centi) * step // steps + step % 2 * 25
            for _ in range(25):
                bench.now_ms = (bench.now_ms + 10) & 0x3FFFFFFF
                if bench.now_ms % 250 == 0:
                    bench.session.on_sample(bench.reading, bench.now_ms)
                bench.session.player.step(bench.now_ms)
                bench.session.step_sounds(bench.now_ms)
                bench.session.step_flash(bench.now_ms)

    def starts(self):
        self.feed(1, 2000, 2000)
        assert self.bench.session.start(self.bench.now_ms)
        self.heard = []
        return self.bench

    def count(self, tones):
        """How often these tones were heard whole, one after the other."""
        pitches = [hz for _, hz in self.heard if hz]
        wanted = [hz for hz, _, _ in tones]
        return sum(1 for at in range(len(pitches)) if pitches[at : at + len(wanted)] == wanted)


def milestone(label, sound, rises_to, **more):
    found = {"label": label, "sound": sound, "rises_to": rises_to}
    found.update(more)
    return found


def check_two_in_one_second(urgent_last):
    last = milestone("c", "long", 100, urgent=urgent_last)
    ear = Ear(milestone=[milestone("a", "rising", 100), milestone("b", "beeps 2", 100), last])
    bench = ear.starts()
    ear.feed(60, 2000, 11000)
    onsets = [t_ms for t_ms, hz in ear.heard if hz]
    lengths = []
    for index, (t_ms, hz) in enumerate(ear.heard):
        if hz:
            lengths.append(ear.heard[index + 1][0] - t_ms)
    # rising: its two tones; then long before or after the two beeps
    expected = [260, 260, 900, 180, 180] if urgent_last else [260, 260, 180, 180, 900]
    assert lengths == expected, lengths
    gaps = [after - before for before, after in zip(onsets, onsets[1:])]
    assert max(gaps) >= player.CUE_GAP_MS, gaps
    assert [event[2:4] for event in bench.kinds(events.MILESTONE)] == [(0, 0), (1, 0), (2, 0)]


def check_pushed_out_is_missed(_):
    """Ten cues in one moment behind an alarm: eight wait, and what comes to nothing is written down as missed."""
    ear = Ear(milestone=[milestone("m%d" % number, "long", 100) for number in range(10)])
    bench = ear.starts()
    bench.session.player.play(sounds.ALARM, player.ALARM, bench.now_ms, player.NO_TAG, True)
    ear.feed(40, 2000, 11000)
    told = [event[2:4] for event in bench.kinds(events.MILESTONE)]
    assert told == [(number, 0) for number in range(8)] + [(8, 1), (9, 1)], told
    bench.session.player.play(sounds.TAKEN, player.ANSWER, bench.now_ms)
    told = [event[2:4] for event in bench.kinds(events.MILESTONE)]
    assert told[10:] == [(7, 1)], told
    # Half a minute behind an alarm: nothing of it is told as if it were now.
    ear.feed(40, 11000, 12000)
    bench.session.player.stop(player.ALARM, bench.now_ms)
    ear.feed(5, 12000, 12100)
    told = [event[2:4] for event in bench.kinds(events.MILESTONE)]
    assert sorted(told[11:]) == [(number, 1) for number in range(7)], told


def check_guide(off_centi, tones):
    ear = Ear(**GUIDE)
    ear.starts()
    ear.feed(300, 2000 + off_centi, 17000 + off_centi)
    for other in (sounds.GUIDE_HOTTER, sounds.GUIDE_COOLER, sounds.GUIDE_MUCH_HOTTER, sounds.GUIDE_MUCH_COOLER):
        if other == tones:
            assert ear.count(other) >= 8, ear.count(other)
    if tones is None:
        assert ear.heard == [], ear.heard


def check_guide_waits_for_a_cue(_):
    """At 30 s a milestone sounds: the guide speaks after it, with the gap between."""
    ear = Ear(milestone=[{"label": "a", "sound": "long", "after_s": 29.75, "since": "start"}], **GUIDE)
    ear.starts()
    ear.feed(40, 4000, 6000)
    ends = [t_ms for t_ms, hz in ear.heard if not hz]
    begins = [t_ms for t_ms, hz in ear.heard if hz]
    assert [hz for _, hz in ear.heard if hz][:2] == [sound_words.HIGH_HZ, sounds.GUIDE_HOTTER[0][0]], ear.heard
    assert begins[1] - ends[0] >= player.CUE_GAP_MS, ear.heard


def check_pace(stage, seconds, beats):
    ear = Ear(pace=[{"stage": stage, "every_s": 2}])
    bench = ear.starts()
    ear.feed(seconds, 2000, 4000)
    clicks = [t_ms for t_ms, hz in ear.heard if hz]
    assert len(clicks) == beats, clicks
    assert all(after - before == 2000 for before, after in zip(clicks, clicks[1:])), clicks
    bench.session.stop(bench.now_ms, events.STOPPED_BY_PRESS)
    ear.heard = []
    ear.feed(5, 4000, 4000)
    assert ear.heard == [], "a beat after the roast"


def check_pace_masks_nothing(_):
    """With the fastest beat there is, a cue sounds to the millisecond as it does without."""
    heard = []
    for changes in ({}, {"pace": [{"stage": "roasting", "every_s": 0.5}]}):
        ear = Ear(milestone=[milestone("a", "morse C", 60), milestone("b", "rising", 60)], **changes)
        ear.starts()
        ear.feed(40, 2000, 8000)
        heard.append([(t_ms, hz) for t_ms, hz in ear.heard if hz in (2700, 1500)])
        clicks = [t_ms for t_ms, hz in ear.heard if hz == sounds.TICK[0][0]]
        first, last = heard[-1][0][0], heard[-1][-1][0]
        assert not any(first <= t_ms <= last + 500 for t_ms in clicks), clicks
    assert len(heard[0]) == 6, heard[0]
    assert heard[0] == heard[1], heard


def check_trip_of_a_popper(method, heater_on_relay, tips_out):
    ear = Ear(method=method, heater_on_relay=heater_on_relay)
    bench = ear.starts()
    ear.feed(120, 2000, 20000)
    ear.feed(1, 20000, 20000, faults.OPEN)
    ear.feed(10, 20000, 20000, faults.OPEN)
    assert bench.session.stage == stages.TRIPPED
    assert bench.session.beans_to_tip_out == tips_out
    assert (ear.count(sounds.ALARM_DUMP) >= 4) == tips_out, ear.heard
    assert bench.session.acknowledge(bench.now_ms)
    ear.heard = []
    ear.feed(10, 20000, 20000, faults.OPEN)
    assert ear.heard == [], "the alarm goes on after it was acknowledged"


def check_left_on(minutes, chirps):
    ear = Ear(milestone=[])
    bench = ear.starts()
    ear.feed(10, 2000, 3000)
    bench.session.stop(bench.now_ms, events.STOPPED_BY_PRESS)
    ear.heard = []
    for _ in range(minutes * 60):
        bench.now_ms += 1000
        bench.session.step_sounds(bench.now_ms)
        bench.session.player.step(bench.now_ms)
        bench.session.player.step(bench.now_ms + 200)
        bench.session.player.step(bench.now_ms + 400)
        bench.session.player.step(bench.now_ms + 600)
    assert ear.count(sounds.LEFT_ON) == chirps, ear.heard


def check_flash_waits(tones, longest_ms, level):
    """A write that is due while a tone sounds is made before the next onset is near, and never later than so."""
    ear = Ear()
    bench = ear.starts()
    ear.feed(2, 2000, 2000)
    session = bench.session
    session.step_flash(bench.now_ms)
    session.player.play(tones, level, bench.now_ms, player.NO_TAG, level == player.ALARM)
    bench.now_ms += tones[0][1] - 50
    session.player.step(bench.now_ms)
    bench.log.due = True
    due_ms = bench.now_ms
    while bench.log.due and bench.now_ms - due_ms < 5000:
        session.step_flash(bench.now_ms)
        if bench.log.due:
            bench.now_ms += 10
            session.player.step(bench.now_ms)
    waited_ms = bench.now_ms - due_ms
    assert 50 <= waited_ms <= longest_ms, waited_ms


QUICK = ((2000, 60, 30),) * 50

TABLES = {
    "cues in one second": (check_two_in_one_second, [(False,), (True,)]),
    "pushed out is missed": (check_pushed_out_is_missed, [(0,)]),
    "the guide": (
        check_guide,
        [(0, None), (200, None), (500, sounds.GUIDE_HOTTER), (-500, sounds.GUIDE_COOLER), (1500, sounds.GUIDE_MUCH_HOTTER),
         (-1500, sounds.GUIDE_MUCH_COOLER)],
    ),
    "the guide waits for a cue": (check_guide_waits_for_a_cue, [(0,)]),
    "a beat": (check_pace, [("roasting", 21, 10), ("preheat", 21, 0), ("cooling", 21, 0)]),
    "a beat masks nothing": (check_pace_masks_nothing, [(0,)]),
    "a popper's trip": (
        check_trip_of_a_popper,
        [("hot-air popper", True, True), ("hot-air popper", False, False), ("skillet", True, False)],
    ),
    "left on": (check_left_on, [(29, 0), (31, 1), (45, 2), (200, 6)]),
    "the flash waits between two tones": (
        check_flash_waits,
        [(sounds.ALARM, 60, player.ALARM), (((2700, 200, 140),) * 3, 60, player.MILESTONE), (QUICK, 3010, player.MILESTONE)],
    ),
}  # fmt: skip

