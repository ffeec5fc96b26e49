"""Roasts in which nothing is wrong: the methods and days of the virtual roaster, on a relay or without, with real noise.

Noise: that of the amplifier, and single conversions spoiled by the relay's coil and the piezo beside the probe's wires.
How often is common practice, no source: one conversion in 400 by chance, one in five where a tone begins or ends, one in two
where the relay switches; by 5 to 60 degC, and never two on end (what lasts longer is a fault).
"""

import json
import random
from dataclasses import replace

import bench_flash
from bench_board import Bench, World

from panchime.virtual.roaster.kitchen import Kitchen
from panchime.virtual.roaster.scenario import Scenario, load_scenario
from panchime_fw import events

MARKS = ["beans in", "yellow", "first crack", "beans out"]
LIMIT_C = 240
START_MS = 1500
BY_CHANCE = 1 / 400
BY_TONE = 1 / 5
BY_RELAY = 1 / 2
NEAR_MS = 150

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
        self._last = False

    def __call__(self, now_ms: int) -> float:
        board = self.bench.board if self.bench is not None else None
        if self._last or board is None:
            self._last = False
            return 0.0
        p = BY_CHANCE
        if now_ms - board.tone_changed_ms < NEAR_MS:
            p = max(p, BY_TONE)
        if now_ms - board.relay_changed_ms < NEAR_MS:
            p = max(p, BY_RELAY)
        if self.chance.random() >= p * self.share:
            return 0.0
        self._last = True
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
    """Lets a sync take as long as a sector erase may: mostly nothing, sometimes up to 400 ms."""

    def __init__(self, bench: Bench, chance: random.Random) -> None:
        self.bench = bench
        self.chance = random.Random(chance.random())
        self.longest_ms = 400

    def __call__(self) -> None:
        if self.longest_ms and self.chance.random() < 0.5:
            self.bench.board.let_pass(self.chance.randint(0, self.longest_ms))


def marks_found(bench: Bench) -> dict[str, int]:
    """Marks that the firmware found in the curve by itself: name -> ms since power-up."""
    roast = bench.session.roast
    start_ms = bench.started_ms  # type: ignore[attr-defined]
    return {
        MARKS[index]: start_ms + roast.mark_ms[index]
        for index in range(len(MARKS))
        if roast.mark_ms[index] >= 0 and roast.source(index) == events.FOUND
    }
