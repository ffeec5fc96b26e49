"""A plan over the virtual roaster: kitchen, probe and person of a scenario around the board's engine, in one process.

The amplifier is an ideal one; how the board behaves in its own interpreter, with its chips and its flash, is what
``panchime virtual`` shows.
"""

import heapq
from typing import Any

from panchime.rehearsal.bench import START_MS, Bench
from panchime.rehearsal.rehearsal import Rehearsal, rehearsal_of
from panchime.virtual.roaster.kitchen import STEP_US, Kitchen
from panchime.virtual.roaster.person import REACTION_MS
from panchime.virtual.roaster.scenario import Scenario
from panchime_fw.events import STOPPED_BY_PRESS
from panchime_fw.logformat import SAMPLE_MS
from panchime_fw.roast import PRESSED

STEP_MS = STEP_US // 1000
# Longer than any plan lets a roast and its cooling last.
LONGEST_MS = 120 * 60_000


def over_scenario(document: dict[str, Any], scenario: Scenario, seed: int = 0) -> Rehearsal:
    """What the board would do in a scenario with this plan, until the roast is over.

    ``document`` has no mistakes. A plan for cold beans is started by the first press of the button, any other one at once.
    """
    bench = Bench(document)
    kitchen = Kitchen(scenario, seed)
    presses: list[tuple[int, str]] = []
    started = False
    for now_ms in range(START_MS, START_MS + LONGEST_MS, STEP_MS):
        for act in kitchen.step(bench.relay_closed):
            if act.press != "none":
                heapq.heappush(presses, (now_ms + REACTION_MS, act.press))
        if (now_ms - START_MS) % SAMPLE_MS == 0:
            # A MAX31855 tells quarters of a degree.
            centi = round(kitchen.probe.reading_c() * 4) * 25
            bench.sample(now_ms, centi, round(kitchen.cold_c * 16) * 100 // 16)
            if not started and not bench.plan.loads_cold:
                started = True
                refused = bench.session.why_not_start(now_ms)
                if refused:
                    return rehearsal_of(bench, scenario.name, refused=refused)
                bench.session.start(now_ms)
        while presses and presses[0][0] <= now_ms:
            _, press = heapq.heappop(presses)
            started = answer(bench, press, now_ms, started)
        if started and not bench.session.roast.running:
            break
    return rehearsal_of(bench, scenario.name)


def answer(bench: Bench, press: str, now_ms: int, started: bool) -> bool:
    """What the board does at a press of its button; answers whether the roast has been started."""
    session = bench.session
    bench.pass_time(now_ms)
    if press == "long":
        session.stop(now_ms, STOPPED_BY_PRESS)
    elif press == "double":
        session.take_back(now_ms)
    elif not session.acknowledge(now_ms):
        if not started:
            return bool(session.start(now_ms))
        session.mark(session.roast.next_mark(), PRESSED, now_ms, now_ms)
    return started
