"""Roasts in which nothing is wrong: the methods and days of the virtual roaster, on a relay or without, with real noise.

Noise: that of the amplifier, and single conversions spoiled by the relay's coil and the piezo beside the probe's wires.
How often is common practice, no source: one conversion in 400 by chance, one in five where a tone begins or ends, one in two
where the relay switches; by 5 to 60 degC, and never two samples on end (what lasts longer is a fault).
"""

import json
import random
from dataclasses import dataclass, replace

import bench_flash
import serial_loads
from bench_board import Bench, World

from panchime.virtual.roaster.kitchen import Kitchen
from panchime.virtual.roaster.scenario import Scenario, load_scenario
from panchime_fw import events, trips

MARKS = ["beans in", "yellow", "first crack", "beans out"]
LIMIT_C = 240
START_MS = 1500
BY_CHANCE = 1 / 400
BY_TONE = 1 / 5
BY_RELAY = 1 / 2
NEAR_MS = 150
QUIET_AFTER_MS = 500

METHODS = {
    "skillet": ("skillet", False),
    "crank popper": ("crank-popper", False),
    "oven tray": ("oven-tray", False),
    "hot-air popper": ("hot-air-popper", True),
    # The same vessels with an electric ring or element on the relay: the relay is closed, the beans go into something hot.
    "skillet, heater on the relay": ("skillet", True),
    "crank popper, heater on the relay": ("crank-popper", True),
    # The remaining methods of a plan, as the vessels they are nearest to.
    "wok": ("skillet", False),
    "heat gun": ("hot-air-popper", False),
}
DAYS = ("mild", "freezing")
PLAN_METHODS = {"wok": "wok", "heat gun": "heat gun"}


class Spikes:
    """Spoils single conversions: beside the piezo, beside the relay, and by chance."""

    def __init__(self, seed: int) -> None:
        self.chance = random.Random(f"spikes {seed}")
        self.bench: Bench | None = None
        self.share = 1.0
        self.count = 0
        self._last_ms = -QUIET_AFTER_MS

    def __call__(self, now_ms: int) -> float:
        board = self.bench.board if self.bench is not None else None
        if board is None or now_ms - self._last_ms < QUIET_AFTER_MS:
            return 0.0
        p = BY_CHANCE
        if now_ms - board.tone_changed_ms < NEAR_MS:
            p = max(p, BY_TONE)
        if now_ms - board.relay_changed_ms < NEAR_MS:
            p = max(p, BY_RELAY)
        if self.chance.random() >= p * self.share:
            return 0.0
        self._last_ms = now_ms
        self.count += 1
        return self.chance.choice((-1.0, 1.0)) * self.chance.uniform(5.0, 60.0)


def scenario_of(method: str, day: str, chance: random.Random) -> Scenario:
    """The scenario of a method and day, a little other every time: load, heat and noise."""
    name, on_relay = METHODS[method]
    scenario = load_scenario(f"{name}-{day}")
    return replace(
        scenario,
        vessel=replace(scenario.vessel, heater_on_relay=on_relay),
        load=replace(scenario.load, dry_kg=scenario.load.dry_kg * chance.uniform(0.93, 1.07)),
        tip=replace(scenario.tip, noise_c=chance.uniform(0.08, 0.2)),
        day=replace(scenario.day, strength=scenario.day.strength * chance.uniform(0.95, 1.03)),
    )


def plan_of(method: str, limit_c: float = LIMIT_C) -> dict[str, object]:
    on_relay = METHODS[method][1]
    plain = method.split(",")[0]
    return {
        "name": method, "method": plain, "limit": limit_c, "longest_roast_min": 30, "heater_on_relay": on_relay,
        "loads": "cold" if plain in ("hot-air popper", "heat gun") else "hot", "cool_below": 45, "marks": MARKS,
        "milestone": [
            {"label": "Load now", "rises_to": 200, "stage": "preheat", "sound": "rising twice"},
            {"label": "Yellow soon", "rises_to": 150, "sound": "beeps 1"},
            {"label": "First crack near", "ahead_s": 20, "of": 196, "sound": "morse C"},
            {"label": "First crack", "rises_to": 196, "sound": "beeps 2"},
            {"label": "Out soon", "rises_to": 208, "sound": "beeps 3"},
        ],
    }  # fmt: skip


def new_bench(method: str, day: str, seed: int, pressed: bool = True, lag_s: float | None = None) -> Bench:
    """A board before the roast, everything wired and the person ready. `pressed`: the person marks what happens."""
    chance = random.Random(f"roast {method} {day} {seed}")
    scenario = scenario_of(method, day, chance)
    if not pressed:
        silent = tuple(replace(act, press="short" if act.at_s is not None else "none") for act in scenario.acts)
        scenario = replace(scenario, acts=silent)
    world = World(Kitchen(scenario, seed), seed, ticks_start=chance.choice((0, chance.randrange(1 << 30))))
    plan = plan_of(method)
    if lag_s is not None:
        plan["probe_lag_s"] = lag_s
    text = json.dumps(plan)
    flash = bench_flash.Flash()
    bench = Bench(world, flash, text)
    flash.on_sync = Stalls(bench, chance)
    spikes = Spikes(seed)
    spikes.bench = bench
    world.noise = spikes
    if plan["loads"] == "hot":
        world.press("short", START_MS)
    return bench


class Stalls:
    """Lets a sync take as long as a sector erase may: mostly up to 55 ms, sometimes up to 400 ms."""

    def __init__(self, bench: Bench, chance: random.Random) -> None:
        self.bench = bench
        self.chance = random.Random(chance.random())
        self.longest_ms = 400
        self.share_of_long = 0.1

    def __call__(self) -> None:
        if self.longest_ms:
            rare = self.chance.random() < self.share_of_long
            self.bench.board.let_pass(self.chance.randint(0, self.longest_ms if rare else min(55, self.longest_ms)))


# With all of them stalled the button is dead as well, and there is no roast to look at.
STALLED_WRITES = 0.05
LONGEST_MS = 45 * 60000
# A found mark is right when it lies so near to what the person did (the fall takes some seconds to be sure of).
NEAR_IN_MS = 6000
NEAR_OUT_MS = 20000


@dataclass
class Good:
    """What came of one roast in which nothing was wrong."""

    method: str
    day: str
    seed: int
    pressed: bool
    trip: str
    wrong_marks: list[str]
    missing_marks: list[str]
    spikes: int
    minutes: float
    ended: bool


def run_good(method: str, day: str, seed: int, pressed: bool, lag_s: float | None, load: str) -> Good:
    """One good roast from power-up to its end."""
    bench = new_bench(method, day, seed, pressed, lag_s)
    bench.flash.files[serial_loads.OLD_LOG] = bytearray(serial_loads.OLD_LOG_BYTES)
    bench.board.host = serial_loads.host_of(load)
    bench.board.host.stall_share = STALLED_WRITES
    started_ms = None
    roast = bench.session.roast
    while bench.world.now_ms < LONGEST_MS and bench.session.cutoff.reason == trips.NONE:
        bench.step()
        if started_ms is None and roast.running:
            started_ms = bench.world.now_ms
        if started_ms is not None and not roast.running:
            break
    acts = {name: round(t_s * 1000) for name, t_s in bench.world.kitchen.person.done}
    wrong, missing = [], []
    for index, (name, near_ms) in enumerate((("beans in", NEAR_IN_MS), ("beans out", NEAR_OUT_MS))):
        place = 0 if index == 0 else len(MARKS) - 1
        made_ms = roast.mark_ms[place] + (started_ms or 0)
        if roast.mark_ms[place] < 0:
            if name in acts and bench.session.cutoff.reason == trips.NONE:
                missing.append(name)
        elif roast.source(place) == events.FOUND and abs(made_ms - acts.get(name, -near_ms)) > near_ms:
            wrong.append(f"{name} at {made_ms} ms, done at {acts.get(name)}")
    reason = bench.session.cutoff.reason
    # Who tips the beans out and presses nothing leaves the heater on under an empty probe: that trip is right.
    forgotten = reason == trips.PROBE_IN_AIR and "beans out" in acts
    words = ""
    if reason and not forgotten:
        words = trips.trip_words(reason, bench.session.cutoff.reading_centi, bench.session.cutoff.limit_centi)
    return Good(
        method, day, seed, pressed, words, wrong, missing, bench.world.noise.count, bench.world.now_ms / 60000,
        started_ms is not None and (forgotten or not roast.running),
    )  # fmt: skip


def good_case(index: int, seed: int) -> Good:
    """The case of this number: method, day, load and whether anybody presses come from it and the seed."""
    chance = random.Random(f"good {seed} {index}")
    method = tuple(METHODS)[index % len(METHODS)]
    day = DAYS[index // len(METHODS) % len(DAYS)]
    pressed = chance.random() < 0.6
    lag_s = chance.choice((None, None, 6.0, 20.0))
    load = chance.choices(serial_loads.LOADS, (6, 1, 1, 1))[0]
    return run_good(method, day, seed * 100000 + index, pressed, lag_s, load)
