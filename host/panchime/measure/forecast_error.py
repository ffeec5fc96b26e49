"""How well `ahead_s` foretells: whole virtual roasts with noise, from the probe's tip to the milestone's event.

    python -m panchime.measure.forecast_error [ROASTS]
"""

import sys
from dataclasses import dataclass

from panchime.measure.roast_bench import RoastBench, another_day
from panchime.virtual.roaster.scenario import Scenario, load_scenario
from panchime_fw import events
from panchime_fw.plan import Plan, compile_plan

# The scenarios that get as far as first crack.
SCENARIOS = (
    "skillet-mild", "skillet-freezing", "crank-popper-mild", "crank-popper-freezing", "hot-air-popper-mild",
    "hot-air-popper-freezing", "oven-tray-mild", "oven-tray-freezing",
)  # fmt: skip
LEADS_S = (10, 20, 30)
TARGETS_C = (150, 196)
ROASTS = 500


@dataclass(frozen=True)
class ForecastError:
    """Seconds, late is positive. `missed`: the temperature came without a forecast; `idle`: forecasts of what never came."""

    lead_s: int
    forecasts: int
    missed: int
    idle: int
    mean_s: float
    mean_size_s: float
    percentile_95_s: float


def plan_for(scenario: Scenario) -> Plan:
    """A plan that does nothing but foretell."""
    loads_hot = any(act.deed == "load" and act.probe_reaches is not None for act in scenario.acts)
    return compile_plan(
        {
            "name": "Forecasts",
            "method": "other",
            "limit": 270,
            "longest_roast_min": 60,
            "loads": "hot" if loads_hot else "cold",
            "heater_on_relay": scenario.vessel.heater_on_relay,
            "marks": ["beans in", "yellow", "first crack", "beans out"],
            "milestone": [
                {"label": f"{lead_s} s before {target_c}", "ahead_s": lead_s, "of": target_c, "sound": "beeps 1"}
                for target_c in TARGETS_C
                for lead_s in LEADS_S
            ],
        }
    )


def reached_ms(truth: list[tuple[int, float]], from_ms: int, to_ms: int, target_c: float) -> int | None:
    """When the tip rises through a temperature, past the turning point between beans in and beans out."""
    roasting = [(t_ms, tip_c) for t_ms, tip_c in truth if from_ms <= t_ms <= to_ms]
    turning = min(range(len(roasting)), key=lambda k: roasting[k][1])
    for before, after in zip(roasting[turning:], roasting[turning + 1 :], strict=False):
        if before[1] < target_c <= after[1]:
            return after[0]
    return None


def roast_errors(scenario_name: str, seed: int) -> dict[int, list[float | None]]:
    """Lead to errors in s of one roast; None for a temperature that came unforetold, infinity for a forecast in vain."""
    scenario = load_scenario(scenario_name)
    plan = plan_for(scenario)
    bench = RoastBench(another_day(scenario, seed), plan, seed)
    bench.run()
    told = [(a, t_ms) for t_ms, kind, a, b, _ in bench.log.events if kind == events.MILESTONE and b == events.SOUNDED]
    if len({index for index, _ in told}) < len(told):
        raise AssertionError("a forecast was told twice")
    sounded = dict(told)
    in_ms, out_ms = bench.session.roast.mark_ms[0], bench.session.roast.mark_ms[plan.last_mark]
    errors: dict[int, list[float | None]] = {lead_s: [] for lead_s in LEADS_S}
    if in_ms < 0 or out_ms < 0:
        return errors  # a day so cold that the beans never went in, or never came out
    for index, milestone in enumerate(plan.milestones):
        lead_s = milestone.value_2 // 1000
        there_ms = reached_ms(bench.truth, in_ms, out_ms, milestone.value / 100)
        if there_ms is None:
            if index in sounded:
                errors[lead_s].append(float("inf"))
        elif index in sounded:
            errors[lead_s].append((sounded[index] + milestone.value_2 - there_ms) / 1000)
        else:
            errors[lead_s].append(None)
    return errors


def forecast_errors(roasts: int) -> list[ForecastError]:
    """The figures for each lead, over so many roasts on days that differ."""
    gathered: dict[int, list[float | None]] = {lead_s: [] for lead_s in LEADS_S}
    for seed in range(roasts):
        for lead_s, errors in roast_errors(SCENARIOS[seed % len(SCENARIOS)], seed).items():
            gathered[lead_s] += errors
    return [figures(lead_s, errors) for lead_s, errors in gathered.items()]


def figures(lead_s: int, errors: list[float | None]) -> ForecastError:
    found = [error for error in errors if error is not None and error != float("inf")]
    sizes = sorted(abs(error) for error in found)
    return ForecastError(
        lead_s,
        len(found),
        errors.count(None),
        errors.count(float("inf")),
        sum(found) / len(found),
        sum(sizes) / len(sizes),
        sizes[min(len(sizes) - 1, len(sizes) * 95 // 100)],
    )


def table(roasts: int) -> str:
    """The figures as a Markdown table."""
    rows = [
        f"| {e.lead_s} s | {e.forecasts} | {e.mean_s:+.1f} s | {e.mean_size_s:.1f} s | {e.percentile_95_s:.1f} s "
        f"| {e.missed} | {e.idle} |\n"
        for e in forecast_errors(roasts)
    ]
    return (
        "| ahead | forecasts | mean error | mean size | 95 % within | unforetold | in vain |\n"
        "| --- | --- | --- | --- | --- | --- | --- |\n" + "".join(rows)
    )


if __name__ == "__main__":
    print(table(int(sys.argv[1]) if len(sys.argv) > 1 else ROASTS), end="")
