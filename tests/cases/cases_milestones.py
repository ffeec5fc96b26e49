"""Stage, marks and milestones together, sample by sample: what is due when, and what is not."""

from panchime_fw import events, plan, roast, stages
from panchime_fw.milestones import MilestoneWatch


class Recorder:
    def __init__(self):
        self.events = []

    def event(self, t_ms, kind, a, b, c):
        self.events.append((t_ms, kind, a, b, c))


class Bench:
    """A roast with one milestone under test, fed at 4 Hz."""

    def __init__(self, milestone, loads="hot", start_ms=1000):
        item = {"label": "A", "sound": "rising"}
        item.update(milestone)
        document = {"name": "T", "method": "other", "limit": 245, "loads": loads, "milestone": [item]}
        compiled = plan.compile_plan(document)
        self.recorder = Recorder()
        self.roast = roast.Roast(compiled, self.recorder)
        self.watch = MilestoneWatch(compiled)
        self.now_ms = start_ms
        self.fired = []
        self.roast.start(start_ms)
        self.watch.begin()

    def hold(self, seconds, centi, rate=0, to_centi=None):
        steps = int(seconds * 4)
        for step in range(1, steps + 1):
            self.now_ms = (self.now_ms + 250) & 0x3FFFFFFF
            value = centi if to_centi is None else centi + (to_centi - centi) * step // steps
            self.roast.step(self.now_ms, value)
            t_ms = self.roast.t_ms(self.now_ms)
            self.watch.step(self.roast, t_ms, value, True, rate)
            while self.watch.take() >= 0:
                self.fired.append(t_ms)

    def mark(self, index):
        return self.roast.mark(index, roast.LINK, self.now_ms, self.now_ms)


def check_fires(milestone, loads, story, at_ms):
    """Story: ("hold", seconds, centi, rate, to_centi) and ("mark", index) and ("back",). `at_ms`: when it is due, all of it."""
    bench = Bench(milestone, loads)
    for step in story:
        if step[0] == "mark":
            assert bench.mark(step[1]) == roast.MADE
        elif step[0] == "back":
            bench.watch.mark_taken_back(bench.roast.take_back(bench.now_ms))
        else:
            bench.hold(*step[1:])
    assert bench.fired == at_ms, bench.fired


def check_wrap(start_ms):
    bench = Bench({"after_s": 30, "since": "beans in"}, "cold", start_ms)
    bench.hold(60, 10000)
    assert bench.fired == [30000], bench.fired


def check_marks(actions, made, stage):
    bench = Bench({"rises_to": 100})
    for action in actions:
        if action == "back":
            bench.roast.take_back(bench.now_ms)
        else:
            bench.mark(action)
        bench.hold(1, 10000)
    assert [index for index, t_ms in enumerate(bench.roast.mark_ms) if t_ms >= 0] == made, bench.roast.mark_ms
    assert bench.roast.stage == stage, bench.roast.stage


def check_refused(before, index):
    bench = Bench({"rises_to": 100})
    for mark in before:
        bench.mark(mark)
    assert bench.mark(index) == roast.REFUSED


def check_found(curve, marks):
    """Nobody presses; `marks` is [(index, at seconds, tolerance in s)] found in the curve."""
    bench = Bench({"rises_to": 100})
    for seconds, from_centi, to_centi in curve:
        bench.hold(seconds, from_centi, 0, to_centi)
    found = [(a, c) for _, kind, a, b, c in bench.recorder.events if kind == events.MARK and b == events.FOUND]
    assert [index for index, _ in found] == [index for index, _, _ in marks], found
    for (_, t_ms), (_, at_s, tolerance_s) in zip(found, marks):
        assert abs(t_ms - at_s * 1000) <= tolerance_s * 1000, (t_ms, at_s)


def check_confirmed(press_after_s, answer, made):
    """A press soon after a found mark means that mark; later it means the next one."""
    bench = Bench({"rises_to": 100})
    bench.hold(60, 20000)
    bench.hold(20, 20000, 0, 14000)
    assert bench.roast.stage == stages.ROASTING
    found_ms = bench.roast.mark_ms[0]
    bench.hold(press_after_s, 14000)
    index = bench.roast.next_mark()
    assert bench.roast.mark(index, roast.PRESSED, bench.now_ms, bench.now_ms) == answer
    assert bench.roast.last_made == made
    assert bench.roast.mark_ms[0] == found_ms


def check_foretells(milestone, loads, story, at_s, tolerance_s):
    """A forecast: when it fires, in seconds, and how far off it may be; `at_s` None: never."""
    bench = Bench(milestone, loads)
    for step in story:
        if step[0] == "mark":
            bench.mark(step[1])
        else:
            bench.hold(*step[1:])
    if at_s is None:
        assert bench.fired == [], bench.fired
    else:
        assert len(bench.fired) == 1, bench.fired
        assert abs(bench.fired[0] - at_s * 1000) <= tolerance_s * 1000, bench.fired


def check_no_early_forecast(noise_centi, rate, lead_s, slack_s):
    """A straight rise under noise: once, and not sooner than so many seconds before its time. A repeatable rattle, no dice."""
    bench = Bench({"ahead_s": lead_s, "of": 196}, "cold")
    rattle = 1
    seconds = (19600 - 9600) * 60 // rate
    for step in range(seconds * 4):
        rattle = (rattle * 75 + 74) % 65537
        bench.hold(0.25, 9600 + rate * step // 240 + (rattle % (2 * noise_centi + 1)) - noise_centi)
    assert len(bench.fired) == 1, bench.fired
    assert abs(bench.fired[0] / 1000 - (seconds - lead_s)) <= slack_s, (bench.fired, seconds - lead_s)


LOADED = [("hold", 60, 20000), ("mark", 0), ("hold", 60, 20000, -3000, 9000)]

TABLES = {
    "due": (
        check_fires,
        [
            # the pan is hot: due once, however long it stays
            ({"rises_to": 200, "stage": "preheat"}, "hot", [("hold", 60, 2000, 0, 19999), ("hold", 30, 20000)], [60250]),
            ({"rises_to": 200, "stage": "preheat"}, "hot", [("hold", 60, 2000, 0, 19999)], []),
            # a pan that was hot already
            ({"rises_to": 200, "stage": "preheat"}, "hot", [("hold", 5, 21000)], [250]),
            # just after loading the probe still shows the pan: nothing has risen
            ({"rises_to": 150}, "hot", LOADED, []),
            ({"rises_to": 150}, "hot", LOADED + [("hold", 60, 9000, 1000, 15000)], [180000]),
            ({"rises_to": 150}, "cold", [("hold", 60, 2000, 1000, 15000)], [60000]),
            # falls to: only from above
            ({"falls_to": 150}, "hot", LOADED, [87500]),
            ({"falls_to": 150}, "cold", [("hold", 30, 2000, 0, 14000)], []),
            ({"falls_to": 60, "stage": "cooling"}, "cold",
             [("hold", 10, 20000), ("mark", 4), ("hold", 100, 20000, 0, 5000)], [103500]),
            # durations
            ({"after_s": 10, "since": "start"}, "hot", [("hold", 20, 2000)], [10000]),
            ({"after_s": 10, "since": "first crack"}, "cold",
             [("hold", 5, 2000), ("mark", 2), ("hold", 9.75, 2000)], []),
            ({"after_s": 10, "since": "first crack"}, "cold",
             [("hold", 5, 2000), ("mark", 2), ("hold", 10, 2000)], [15000]),
            # a mark that is taken back makes it wait again
            ({"after_s": 10, "since": "first crack"}, "cold",
             [("hold", 5, 2000), ("mark", 2), ("hold", 12, 2000), ("back",),
              ("hold", 20, 2000), ("mark", 2), ("hold", 12, 2000)],
             [15000, 47000]),
            # rates count past the turning point, and must hold
            ({"rate_below": 5, "for_s": 10}, "hot", LOADED + [("hold", 10, 9000, -500, 9000)], []),
            ({"rate_below": 5, "for_s": 10}, "cold",
             [("hold", 10, 2000, 1500, 3000), ("hold", 9.75, 3000, 500), ("hold", 1, 3000, 501), ("hold", 9, 3000, 400)], []),
            ({"rate_below": 5, "for_s": 10}, "cold", [("hold", 10, 2000, 1500, 3000), ("hold", 11, 3000, 500)], [20250]),
            ({"rate_above": 25, "for_s": 5}, "cold", [("hold", 10, 2000, 2499, 3000), ("hold", 6, 3000, 2500)], [15250]),
            # development share: (t - crack) / (t - in)
            ({"development_share": 20}, "cold", [("hold", 480, 2000, 0, 19600), ("mark", 2), ("hold", 119, 19600)], []),
            ({"development_share": 20}, "cold",
             [("hold", 480, 2000, 0, 19600), ("mark", 2), ("hold", 121, 19600)], [600000]),
            ({"rises_to": 120, "waits_for": "yellow"}, "cold",
             [("hold", 60, 2000, 0, 15000), ("mark", 1), ("hold", 1, 15000)], [60250]),
        ],
    ),
    "a forecast": (
        check_foretells,
        [
            # 15 degC a minute: 196 is reached at 704 s
            ({"ahead_s": 20, "of": 196}, "cold", [("hold", 704, 2000, 1500, 19600)], 684, 1.5),
            ({"ahead_s": 60, "of": 196}, "cold", [("hold", 704, 2000, 1500, 19600)], 644, 1.5),
            ({"ahead_s": 3, "of": 196}, "cold", [("hold", 704, 2000, 1500, 19600)], 701, 1.5),
            # it slows down from 20 to 10 degC a minute on the way
            ({"ahead_s": 30, "of": 196}, "cold", [("hold", 480, 2000, 2000, 18000), ("hold", 96, 18000, 1000, 19600)], 546, 6),
            # nowhere near, falling, or standing still below
            ({"ahead_s": 20, "of": 196}, "cold", [("hold", 600, 2000, 1500, 17000)], None, 0),
            ({"ahead_s": 20, "of": 196}, "cold", [("hold", 60, 19500), ("hold", 60, 19500, 0, 19400)], None, 0),
            # into a pan that is hotter than the temperature: that is past only when it has come back there
            ({"ahead_s": 20, "of": 196}, "hot",
             [("hold", 60, 20000), ("mark", 0), ("hold", 60, 20000, 0, 9000), ("hold", 424, 9000, 1500, 19600)], 524, 1.5),
            # past it without a forecast: too late to mean anything
            ({"ahead_s": 20, "of": 196}, "cold",
             [("hold", 10, 18000), ("hold", 30, 20000), ("hold", 60, 19000, 0, 19590)], None, 0),
        ],
    ),
    "no early forecast under noise": (
        check_no_early_forecast,
        [(25, 1000, 20, 2.5), (50, 1000, 20, 3), (100, 1000, 30, 5), (50, 500, 30, 5), (50, 2500, 10, 2)],
    ),
    "across the wrap of the clock": (check_wrap, [((1 << 30) - 10000,), ((1 << 30) - 35000,)]),
    "marks": (
        check_marks,
        [
            ([0], [0], stages.ROASTING), ([0, 1, 2], [0, 1, 2], stages.ROASTING), ([0, 2], [0, 2], stages.ROASTING),
            ([0, 1, "back"], [0], stages.ROASTING), ([0, "back"], [], stages.PREHEAT), ([0, 4], [0, 4], stages.COOLING),
            ([0, 4, "back"], [0], stages.ROASTING), (["back"], [], stages.PREHEAT),
            ([0, 2, "back", 1], [0, 1], stages.ROASTING),
        ],
    ),
    "marks refused": (check_refused, [([0, 2], 1), ([0], 0), ([0, 4], 4), ([0], 5), ([0], -1)]),
    "found in the curve": (
        check_found,
        [
            ([(120, 2000, 20000), (60, 20000, 10000), (240, 10000, 21000), (30, 21000, 15000)], [(0, 120, 1), (4, 420, 1)]),
            ([(120, 2000, 20000), (60, 20000, 10000), (240, 10000, 21000), (60, 21000, 19500)], [(0, 120, 1)]),
            ([(300, 2000, 20000), (300, 20000, 12000)], []),
        ],
    ),
    "a press after a found mark": (check_confirmed, [(5, roast.CONFIRMED, 0), (40, roast.MADE, 1)]),
}  # fmt: skip
