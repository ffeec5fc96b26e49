"""A rehearsal tells what the board told: the same plan over the same log gives the cues that the log holds."""

import pytest

from panchime.cli.main import main
from panchime.journal.journal import Journal
from panchime.journal.story import tell
from panchime.rehearsal.bench import CUE, MARKED, RELAY_MOVED
from panchime.rehearsal.kept_roast import over_kept_roast
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command
from panchime_fw.logformat import SAMPLE_MS
from panchime_fw.loop import SAMPLE_WAITS_MS

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")


@pytest.mark.parametrize(("method", "scenario"), [("skillet", "skillet-mild"), ("hot-air popper", "hot-air-popper-mild")])
def test_the_cues_of_a_kept_roast_are_found_again(tmp_path, monkeypatch, method, scenario):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))
    plan = tmp_path / "plan.toml"
    assert main(["plan", "new", method, str(plan)]) == 0
    with VirtualBoard(speed=1, hold_at_ms=3000, scenario=scenario) as board:
        board.go()
        assert main(["plan", "send", str(plan), "--port", board.port]) == 0
        board.set_speed(0)
        if method == "skillet":
            board.press("short")
        board.run_for(1_500_000)
        board.set_speed(1)
        board.go()
        assert main(["pull", "--port", board.port]) == 0
    with Journal() as journal:
        story = tell(journal.raw(1))
    rehearsal = over_kept_roast(story.plan, story, "roast 1")
    assert rehearsal.refused == ""
    assert rehearsal.foreign_marks == ()
    kept = [(hit.label, hit.t_ms, hit.sounded) for hit in story.milestones]
    found = [(one.words, one.t_ms, one.sounded) for one in rehearsal.happenings if one.kind == CUE]
    assert len(kept) >= 3
    assert [(label, sounded) for label, _, sounded in found] == [(label, sounded) for label, _, sounded in kept]
    for (label, found_ms, _), (_, kept_ms, _) in zip(found, kept, strict=True):
        # A sample of the board may have waited for a tone; in a rehearsal it is where the log says.
        assert abs(found_ms - kept_ms) <= SAMPLE_MS + SAMPLE_WAITS_MS, label
    marks = {one.words: one.t_ms for one in rehearsal.happenings if one.kind == MARKED}
    assert {mark.name for mark in story.marks} == set(marks)
    for mark in story.marks:
        # A mark found in the curve: the board's filter still remembers two samples from before the start, a kept log has none.
        samples = 2 if mark.source == "found" else 1
        assert abs(marks[mark.name] - mark.t_ms) <= samples * SAMPLE_MS + SAMPLE_WAITS_MS
    relay = [one.words.startswith("closes") for one in rehearsal.happenings if one.kind == RELAY_MOVED]
    assert relay == [change.closed for change in story.relay]
