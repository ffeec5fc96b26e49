"""The bench's own rules: what counts as worse, what noise is, what is written. No clock is asserted here."""

import json
from dataclasses import replace

import pytest

from panchime.errors import PanchimeError
from panchime.measure import bench
from panchime.measure.board_work import longest
from panchime.measure.comparison import as_json, got_worse, read_baseline, renewed
from panchime.measure.figure import Figure
from panchime.measure.repeats import LEAST_NOISE, in_turns, of_turns, repeats

TIMED = Figure("start", 50.0, "ms", "median of 7", "peer", 0.5, noise=0.1)
COUNTED = Figure("heap", 0.0, "bytes", "gc.mem_alloc")


@pytest.mark.parametrize(
    ("now", "then", "worse"),
    [
        (replace(TIMED, ratio=0.54), TIMED, False),  # within the noise
        (replace(TIMED, ratio=0.56), TIMED, True),
        (replace(TIMED, ratio=0.30), TIMED, False),  # better
        (replace(TIMED, value=500.0), TIMED, False),  # a slower computer: the ratio is what is held
        (replace(TIMED, ratio=0.56, noise=0.2), TIMED, False),  # the greater noise of the two counts
        (replace(TIMED, ratio=0.56), replace(TIMED, noise=0.2), False),
        (COUNTED, COUNTED, False),
        (replace(COUNTED, value=16.0), COUNTED, True),  # what was nothing has no noise
        (replace(COUNTED, value=3.0), None, False),  # new
        (replace(TIMED, ratio=9.0, compared_with="another"), TIMED, False),  # compared with something else before
        (replace(TIMED, ratio=None, compared_with=None, value=99.0), TIMED, False),
    ],
)
def test_what_got_worse(now, then, worse):
    assert got_worse(now, then) is worse


def test_where_more_is_better():
    pull = Figure("pull", 300.0, "kB/s", "median of 7", "peer", 30.0, noise=0.1, less_is_better=False, goal=20.0)
    assert got_worse(replace(pull, ratio=26.0), pull)
    assert not got_worse(replace(pull, ratio=28.0), pull)
    assert not got_worse(replace(pull, ratio=60.0), pull)
    assert pull.meets_goal
    assert not replace(pull, ratio=19.0).meets_goal


def test_goals_are_of_what_is_held():
    assert replace(TIMED, value=900.0, ratio=1.4, goal=1.5).meets_goal
    assert not replace(TIMED, value=1.0, ratio=1.6, goal=1.5).meets_goal
    assert replace(COUNTED, goal=0).meets_goal
    assert not replace(COUNTED, value=16.0, goal=0).meets_goal


def test_noise_is_that_of_the_repeats():
    assert repeats([10.0, 10.0, 10.0]).noise == LEAST_NOISE
    # Quartiles of 8, 9, 10, 11, 12 are 9 and 11.
    assert repeats([12.0, 8.0, 10.0, 9.0, 11.0]).noise == pytest.approx(0.2)
    # One repeat that the computer spoilt moves neither.
    spoilt = repeats([12.0, 8.0, 10.0, 9.0, 500.0])
    assert spoilt.median == 10.0
    assert spoilt.noise == pytest.approx(0.3)
    assert repeats([7.0]).noise == LEAST_NOISE


def test_ratios_are_taken_turn_by_turn():
    # The computer is half as fast in the last turn: both sides feel it, and the ratio does not.
    turns = of_turns([1.0, 1.0, 2.0], [4.0, 4.0, 8.0])
    assert turns.ratio.median == 0.25
    assert turns.ratio.noise == LEAST_NOISE
    assert (turns.ours_s, turns.theirs_s) == (1.0, 4.0)


def test_turns_alternate():
    done = []
    in_turns(lambda: done.append("ours"), lambda: done.append("theirs"), 3)
    assert done == ["ours", "theirs"] * 3


def test_the_longest_pass_is_the_longest_of_the_least():
    # The third pass is long in every run; the first one only where the computer was elsewhere.
    usual = [[2.0, 2.0, 7.0], [9.0, 2.0, 2.0], [2.0, 2.0, 2.0], [2.0, 4.0, 2.0]]
    found = longest([[9.0, 1.0, 5.0], [1.0, 1.0, 5.0], [1.0, 8.0, 6.0], [1.0, 1.0, 5.5]], usual)
    assert found.longest_s == 5.0
    assert found.usual == 2.5
    # The first half of the runs says 2.5 times, the second 2.75.
    assert found.noise == pytest.approx(0.1)


def test_json_round_trip(tmp_path):
    path = tmp_path / "baseline.json"
    path.write_text(as_json([TIMED, COUNTED]))
    entries = json.loads(path.read_text())
    assert {"name", "value", "unit", "how", "compared_with", "ratio", "noise", "less_is_better", "goal"} == set(entries[0])
    assert read_baseline(path) == {"start": TIMED, "heap": COUNTED}


def test_no_baseline_and_a_broken_one(tmp_path):
    assert read_baseline(tmp_path / "none.json") == {}
    broken = tmp_path / "broken.json"
    broken.write_text('[{"name": "start"}]')
    with pytest.raises(PanchimeError, match="--write-baseline"):
        read_baseline(broken)


def test_a_part_alone_leaves_the_rest_of_the_baseline():
    faster = replace(TIMED, ratio=0.1)
    assert renewed({"start": TIMED, "heap": COUNTED}, [faster]) == [faster, COUNTED]


def test_the_command_marks_what_got_worse(tmp_path, monkeypatch, capsys):
    measured = [replace(TIMED, ratio=0.9), replace(COUNTED, goal=0)]
    monkeypatch.setattr(bench, "PARTS", {"made up": lambda: measured})
    monkeypatch.setattr(bench, "RESULT", tmp_path / "build" / "bench.json")
    baseline = tmp_path / "baseline.json"
    baseline.write_text(as_json([TIMED, COUNTED]))
    assert bench.main(["--baseline", str(baseline)]) == 1
    out = capsys.readouterr().out
    (marked,) = [line for line in out.splitlines() if "WORSE" in line]
    assert marked.startswith("start")
    assert "0.900 x peer" in marked
    assert "2 figures" in out
    assert "1 worse" in out
    assert json.loads((tmp_path / "build" / "bench.json").read_text())[0]["ratio"] == 0.9
    # Written as the new baseline, the same figures are no worse than themselves, and what is measured no more is gone.
    baseline.write_text(as_json([TIMED, COUNTED, replace(COUNTED, name="measured no more")]))
    bench.main(["--baseline", str(baseline), "--write-baseline"])
    assert set(read_baseline(baseline)) == {"start", "heap"}
    assert bench.main(["--baseline", str(baseline)]) == 0
    assert "WORSE" not in capsys.readouterr().out.splitlines()[-3:]


def test_a_missed_goal_is_told(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr(bench, "PARTS", {"made up": lambda: [replace(COUNTED, value=16.0, goal=0)]})
    monkeypatch.setattr(bench, "RESULT", tmp_path / "build" / "bench.json")
    assert bench.main(["--baseline", str(tmp_path / "none.json")]) == 1
    assert "GOAL 0 MISSED" in capsys.readouterr().out
