"""The fault campaign: many virtual roasts with a fault each, and many with none.

Prints tables and writes build/campaign-faults.json.

Usage: python tests/campaigns/faults/run.py [--faults N] [--good N] [--seed N] [--processes N] [--only KIND]
"""

import argparse
import collections
import json
import multiprocessing
import random
import sys
from collections.abc import Iterable
from dataclasses import asdict
from pathlib import Path
from typing import Any

HERE = Path(__file__).parent
ROOT = HERE.parent.parent.parent
for folder in (ROOT / "firmware", ROOT / "host", HERE.parent, HERE):
    if str(folder) not in sys.path:
        sys.path.insert(0, str(folder))

import bench_flash  # noqa: E402  # after the paths
import fault_kinds  # noqa: E402
import fault_runs  # noqa: E402
import good_roast  # noqa: E402
import layers  # noqa: E402
from how_far import shown  # noqa: E402

RESULT = ROOT / "build" / "campaign-faults.json"
FAULTS_FROM_A_BASE = 100
EXAMPLES = 8
TRIES = 30


def fault_batch(job: tuple[int, int, int, str | None]) -> tuple[dict[str, Any], list[dict[str, Any]]]:
    """Three good roasts, one of each heated method, and so many faults from their moments."""
    number, count, seed, only = job
    day = good_roast.DAYS[number % 2]
    with bench_flash.installed():
        bases = [fault_runs.make_base(method, day, seed * 1000 + number) for method in fault_runs.HEATED_METHODS]
        moments: dict[str, list[bytes]] = collections.defaultdict(list)
        for base in bases:
            for stage, found in base.moments.items():
                moments[stage] += found
        cells = [cell for cell in fault_runs.all_cells() if only in (None, cell[0])]
        chance = random.Random(f"batch {seed} {number}")
        chance.shuffle(cells)
        outcomes = []
        for index in range(count):
            # Every cell comes as often as any other over the batches.
            kind, stage, load, stall_ms = cells[index % len(cells)]
            if not moments[stage]:
                continue
            for again in range(TRIES):
                case_seed = ((seed * 1000 + number) * 1000 + index) * 100 + again
                outcome = fault_runs.Run(chance.choice(moments[stage]), kind, stage, load, stall_ms, case_seed).go()
                if outcome.problem != fault_runs.MOVED_ON:
                    outcomes.append(asdict(outcome))
                    break
    told = {"false_trips": [f"{base.method}, {base.day}, {base.seed}: {base.false_trip}" for base in bases if base.false_trip]}
    # A good roast that trips by itself is no missed fault, and is told apart.
    early = [outcome for outcome in outcomes if outcome["problem"].startswith(fault_runs.FALSE_TRIP)]
    told["false_trips"] += [f"{day}, {outcome['seed']}: {outcome['problem']}" for outcome in early]
    outcomes = [outcome for outcome in outcomes if outcome not in early]
    return told, outcomes


def good_batch(job: tuple[int, int, int]) -> list[dict[str, Any]]:
    first, count, seed = job
    with bench_flash.installed():
        return [asdict(good_roast.good_case(index, seed)) for index in range(first, first + count)]


def percentile(values: list[int], share: float) -> int:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(share * len(ordered)))]


def fault_rows(outcomes: list[dict[str, Any]]) -> list[dict[str, Any]]:
    rows = []
    for kind in [*fault_kinds.KINDS, *fault_kinds.SPECIAL]:
        of_kind = [outcome for outcome in outcomes if outcome["kind"] == kind]
        if not of_kind:
            continue
        watched = [outcome for outcome in of_kind if outcome["watched"]]
        over = [outcome["from_shown_ms"] - outcome["allowed_ms"] for outcome in watched if outcome["from_shown_ms"] is not None]
        times = [outcome["from_shown_ms"] for outcome in watched if outcome["from_shown_ms"] is not None]
        missed = [outcome for outcome in watched if outcome["problem"]]
        unwatched = [outcome for outcome in of_kind if not outcome["watched"]]
        rows.append(
            {
                "kind": kind,
                "roasts": len(watched),
                "median_ms": percentile(times, 0.5) if times else None,
                "p99_ms": percentile(times, 0.99) if times else None,
                "worst_ms": max(times) if times else None,
                "least_to_spare_ms": -max(over) if over else None,
                "missed": len(missed),
                "not_watched": len(unwatched),
                "not_watched_heated_on": sum(outcome["from_shown_ms"] is None for outcome in unwatched),
                "caught_by": dict(collections.Counter(outcome["caught_by"] for outcome in of_kind).most_common()),
                "examples": missed[:EXAMPLES],
            }
        )
    return rows


def good_summary(goods: list[dict[str, Any]]) -> dict[str, Any]:
    by_method: dict[str, dict[str, Any]] = {}
    for method in good_roast.METHODS:
        of_method = [good for good in goods if good["method"] == method]
        if of_method:
            by_method[method] = {
                "roasts": len(of_method),
                "false_trips": sum(bool(good["trip"]) for good in of_method),
                "wrong_marks": sum(bool(good["wrong_marks"]) for good in of_method),
                "missing_marks": sum(bool(good["missing_marks"]) for good in of_method),
                "unfinished": sum(not good["ended"] and not good["trip"] for good in of_method),
                "spikes": sum(good["spikes"] for good in of_method),
                "trips": dict(collections.Counter(good["trip"].split(":")[0] for good in of_method if good["trip"])),
            }
    return {
        "roasts": len(goods),
        "false_trips": sum(bool(good["trip"]) for good in goods),
        "wrong_marks": sum(bool(good["wrong_marks"]) for good in goods),
        "by_method": by_method,
        "examples": [good for good in goods if good["trip"] or good["wrong_marks"] or good["missing_marks"]][: 4 * EXAMPLES],
    }


def campaign(faults: int, goods: int, seed: int, processes: int, only: str | None = None) -> dict[str, Any]:
    """Everything, as one document."""
    batches = -(-faults // FAULTS_FROM_A_BASE)
    share = -(-faults // batches) if batches else 0
    fault_jobs = [(number, share, seed, only) for number in range(batches)]
    good_jobs = [(first, min(8, goods - first), seed) for first in range(0, goods, 8)]
    outcomes: list[dict[str, Any]] = []
    told: list[str] = []
    found: list[dict[str, Any]] = []
    with multiprocessing.get_context("spawn").Pool(processes) if processes > 1 else _Here() as pool:
        for base, some in shown(pool.imap_unordered(fault_batch, fault_jobs), len(fault_jobs), "faults"):
            outcomes += some
            told += base["false_trips"]
        for some in shown(pool.imap_unordered(good_batch, good_jobs), len(good_jobs), "good roasts"):
            found += some
    outcomes.sort(key=lambda outcome: outcome["seed"])
    found.sort(key=lambda good: good["seed"])
    rows = fault_rows(outcomes)
    return {
        "seed": seed,
        "fault_roasts": len(outcomes),
        "missed": sum(row["missed"] for row in rows),
        "kinds": rows,
        "false_trips_before_a_fault": sorted(told),
        "good": good_summary(found),
        "layers": layers.table(),
    }


class _Here:
    """A pool of this process alone."""

    def __enter__(self) -> "_Here":
        return self

    def __exit__(self, *_: object) -> None:
        pass

    def imap_unordered(self, work: Any, jobs: list[Any]) -> Iterable[Any]:
        return map(work, jobs)


def seconds(ms: int | None) -> str:
    return "-" if ms is None else f"{ms / 1000:.2f}"


def told(result: dict[str, Any]) -> str:
    """The result as tables."""
    lines = [
        "Seconds from the first sample that shows the fault to the open relay.",
        f"{'fault':<26}{'roasts':>7}{'median':>8}{'99 %':>8}{'worst':>8}{'spare':>8}{'missed':>8}  caught by",
    ]
    for row in result["kinds"]:
        caught = ", ".join(f"{words} {count}" for words, count in list(row["caught_by"].items())[:3])
        lines.append(
            f"{row['kind']:<26}{row['roasts']:>7}{seconds(row['median_ms']):>8}{seconds(row['p99_ms']):>8}"
            f"{seconds(row['worst_ms']):>8}{seconds(row['least_to_spare_ms']):>8}{row['missed']:>8}  {caught}"
        )
        if row["not_watched"]:
            heated_on = row["not_watched_heated_on"]
            lines.append(f"{'':<26}{row['not_watched']:>7} more where no rule holds yet; {heated_on} heated on")
    lines.append(f"{result['fault_roasts']} roasts with a fault, {result['missed']} missed, seed {result['seed']}")
    good = result["good"]
    lines.append("")
    lines.append(f"{'good roasts':<36}{'roasts':>7}{'trips':>7}{'wrong':>7}{'missing':>8}{'spikes':>9}")
    for method, row in good["by_method"].items():
        lines.append(
            f"{method:<36}{row['roasts']:>7}{row['false_trips']:>7}{row['wrong_marks']:>7}{row['missing_marks']:>8}{row['spikes']:>9}"
            f"  {row['trips'] or ''}"
        )
    wrong = good["wrong_marks"]
    lines.append(f"{good['roasts']} good roasts: {good['false_trips']} false trips, {wrong} with wrongly found marks")
    lines.append(f"{len(result['false_trips_before_a_fault'])} false trips among the roasts that faults were put into")
    lines.append("")
    lines += layers.told(result["layers"])
    return "\n".join(lines)


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0] if __doc__ else None)
    parser.add_argument("--faults", type=int, default=10_500)
    parser.add_argument("--good", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=20261125)
    parser.add_argument("--processes", type=int, default=2)
    parser.add_argument("--only")
    asked = parser.parse_args()
    result = campaign(asked.faults, asked.good, asked.seed, asked.processes, asked.only)
    RESULT.parent.mkdir(exist_ok=True)
    RESULT.write_text(json.dumps(result, indent=2) + "\n", encoding="utf-8")
    print(told(result))
    bad = result["missed"] or result["good"]["false_trips"] or result["good"]["wrong_marks"]
    return 1 if bad or result["false_trips_before_a_fault"] or not layers.holds(result["layers"]) else 0


if __name__ == "__main__":
    sys.exit(main())
