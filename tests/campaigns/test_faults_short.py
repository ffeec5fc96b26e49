"""The fault campaign in its short form: every fault in every stage once and more, some good roasts, and the layers."""

import importlib.util
import sys
from pathlib import Path

import pytest

FOLDER = Path(__file__).parent / "faults"
sys.path.insert(0, str(FOLDER))

import bench_flash  # noqa: E402  # after the paths
import fault_kinds  # noqa: E402
import fault_runs  # noqa: E402
import good_roast  # noqa: E402
import layers  # noqa: E402
import snapshots  # noqa: E402

SPEC = importlib.util.spec_from_file_location("run_faults", FOLDER / "run.py")
assert SPEC is not None
assert SPEC.loader is not None
run_faults = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(run_faults)

FAULTS = 120
SEED = 5


@pytest.fixture(autouse=True)
def flash_in_memory():
    with bench_flash.installed():
        yield


def test_short_campaign():
    told, outcomes = run_faults.fault_batch((0, FAULTS, SEED, None))
    rows = run_faults.fault_rows(outcomes)
    missed = [example for row in rows for example in row["examples"]]
    assert missed == []
    assert {row["kind"] for row in rows} == {*fault_kinds.KINDS, *fault_kinds.SPECIAL}
    assert len(outcomes) >= FAULTS * 9 // 10
    assert told["false_trips"] == []
    # A relay that never opens would be no campaign either: most faults are caught by the rule made for them.
    caught = {words for row in rows for words in row["caught_by"]}
    assert {"over the limit", "probe fault", "reading frozen", "board was late", "watchdog"} <= caught


def test_a_moment_kept_goes_on_as_the_roast_does():
    bench = good_roast.new_bench("hot-air popper", "mild", 3)
    bench.run_to(120_000)
    kept = snapshots.take(bench)

    def rest_of(run):
        run.run_to(260_000)
        return run.board.relay_log, run.session.roast.mark_ms, run.flash.files, run.world.kitchen.probe.tip_c, run.board.reads

    assert rest_of(bench) == rest_of(snapshots.restore(kept))


def test_a_cutoff_that_sleeps_is_found():
    base = fault_runs.make_base("hot-air popper", "mild", 2)
    run = fault_runs.Run(base.moments[fault_kinds.LATE][0], "probe open", fault_kinds.LATE, "nobody", 0, 1)
    run.bench.session.cutoff._judge = lambda sample, now_ms: 0
    outcome = run.go()
    assert outcome.from_shown_ms is None
    assert "stayed closed" in outcome.problem


@pytest.mark.parametrize("index", [0, 3, 5, 7])
def test_good_roasts_do_not_trip(index):
    good = good_roast.good_case(index, SEED)
    assert good.trip == ""
    assert good.wrong_marks == []
    assert good.ended
    assert good.spikes > 5


def test_every_layer_alone():
    rows = layers.table()
    assert layers.holds(rows), layers.told(rows)
    by = {(row["fault"], row["without"]): row["opened_by"] for row in rows}
    assert by["the loop ends with an error", layers.MAIN] == layers.WATCHDOG
    assert by["a call never returns", "none"] == layers.WATCHDOG
    assert by["reset", layers.PULL_DOWN] == "boot.py"
    # What only one layer covers shows what the layers are for: without it nothing opens.
    assert by["probe open", layers.CUTOFF] == layers.NOBODY
