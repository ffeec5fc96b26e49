"""A whole virtual roast: fast, complete and the same every time."""

import pytest

from panchime.virtual.roaster.scenario import load_scenario


def roast(tiny_board, name, seed, until_ms):
    board = tiny_board(speed=0, scenario=name, seed=seed, hold_at_ms=0)
    board.run_until(until_ms)
    events = board.events()
    trace = board.control.ask("trace")
    board.__exit__(None, None, None)
    return events, trace


def test_equal_seeds_give_equal_roasts(tiny_board):
    first = roast(tiny_board, "skillet-mild", 7, 1_000_000)
    second = roast(tiny_board, "skillet-mild", 7, 1_000_000)
    assert first == second
    events, trace = first
    assert [event["act"] for event in events if event["what"] == "person"] == [
        act.name for act in load_scenario("skillet-mild").acts
    ]
    assert len(trace["t_s"]) == 1000


def test_another_seed_gives_another_roast(tiny_board):
    assert roast(tiny_board, "skillet-mild", 1, 500_000)[1] != roast(tiny_board, "skillet-mild", 2, 500_000)[1]


def test_person_presses_a_reaction_time_after_the_sight(tiny_board):
    events, _ = roast(tiny_board, "skillet-mild", 1, 420_000)
    seen = next(event for event in events if event["what"] == "person")
    down = next(event for event in events if event["what"] == "button")
    relay = next(event for event in events if event["what"] == "relay")
    assert seen["probe_c"] == pytest.approx(200.0, abs=0.2)
    assert down["t_ms"] - seen["t_ms"] == pytest.approx(400)
    assert 0 <= relay["t_ms"] - down["t_ms"] <= 5


def test_popper_heats_only_through_the_relay(tiny_board, talk):
    board = tiny_board(speed=0, scenario="hot-air-popper-mild", hold_at_ms=0)
    board.run_until(9_000)
    assert board.state()["vessel_c"] == pytest.approx(18.0, abs=0.01)
    board.run_until(60_000)
    assert board.state()["relay"] is True, "the tiny firmware closes the relay at a press"
    hot = board.state()["vessel_c"]
    assert hot > 100
    talker = talk(board.port)
    talker.ask_held(board, "o", "ok ")
    board.run_until(90_000)
    assert board.state()["relay"] is False
    cooled = board.state()["vessel_c"]
    assert cooled < hot
    board.control.ask("relay_welded", on=True)
    board.run_until(120_000)
    assert board.state()["vessel_c"] > cooled


def test_wait_for_a_time_that_cannot_come_says_so(tiny_board, talk):
    board = tiny_board(speed=0)
    talker = talk(board.port)
    talker.do("r")  # main.py runs: a Ctrl-C in boot.py would only have ended that
    talker.send(b"\x03")
    talker.read_until(b">>> ")
    with pytest.raises(Exception, match="stands still"):
        board.wait_until(10**9)


def test_speed_can_change_while_it_runs(tiny_board):
    board = tiny_board(speed=1)
    board.set_speed(0)
    board.wait_until(100_000)
    board.set_speed(1000)
    board.wait_until(board.now_ms + 1000)
    with pytest.raises(Exception, match="speed is 0"):
        board.set_speed(-1)


def test_watchers_get_every_event_once_and_in_order(tiny_board):
    board = tiny_board(speed=0, hold_at_ms=0)
    board.control.watch()
    for n in range(50):
        board.press(at_ms=1000 + 400 * n)
    board.run_until(30_000)
    expected = board.events()
    seen = [board.control.events.get(timeout=10) for _ in expected]
    assert seen == expected
    assert [event["n"] for event in seen] == list(range(len(seen)))
    assert sum(event["what"] == "button" for event in seen) == 100
    # The world tells what it saw at its meetings with the firmware; nothing is told out of order of time.
    assert [event["t_ms"] for event in seen] == sorted(event["t_ms"] for event in seen)
