"""From a true temperature to the bytes the firmware reads, and the faults in between."""

import pytest


@pytest.fixture
def board(tiny_board):
    return tiny_board(speed=0, hold_at_ms=0)


@pytest.fixture
def frame_at(board, talk):
    talker = talk(board.port)
    board.run_until(500)

    def frame():
        board.run_for(800)
        talker.send(b"f")
        # A held board hears nothing, and the letter takes wall time to arrive: let it run until the answer is there.
        while b"frame " not in talker.seen:
            board.run_for(20)
            talker.seen += talker.port.read(200)
        return int(talker.ask("", "frame "), 16)

    return frame


def test_equal_temperatures_read_back(board, frame_at):
    # Datasheet 19-5793: +25.00 with a cold junction of 25 is 0x01901900.
    board.control.ask("cold", c=25.0)
    board.probe(25.01)  # a converter rounds down
    assert frame_at() == 0x01901900


def test_hot_probe_reads_low_as_a_straight_line_does(board, frame_at):
    # ITS-90: type K at 200 degC against 25 degC gives 8.1385 - 1.0002 = 7.1383 mV; over 41.276 uV/degC that is 197.94.
    board.control.ask("cold", c=25.0)
    board.probe(200.0)
    assert (frame_at() >> 18) / 4 == pytest.approx(25 + 7.1383 / 0.041276, abs=0.25)


@pytest.mark.parametrize(("kind", "bits"), [("open", 1), ("short to ground", 2), ("short to supply", 4)])
def test_wire_faults_set_their_bit_and_the_summary(board, frame_at, kind, bits):
    assert frame_at() & 0x10007 == 0
    board.fault(kind)
    assert frame_at() & 0x10007 == 0x10000 | bits
    board.fault("none")
    assert frame_at() & 0x10007 == 0


@pytest.mark.parametrize(("kind", "word"), [("absent low", 0), ("absent high", 0xFFFFFFFF)])
def test_absent_amplifier(board, frame_at, kind, word):
    board.fault(kind)
    assert frame_at() == word


def test_frozen_amplifier_repeats_its_last_frame(board, frame_at):
    board.probe(100.0)
    before = frame_at()
    board.fault("frozen")
    board.probe(150.0)
    assert frame_at() == before
    board.fault("none")
    assert frame_at() != before


def test_spikes_come_and_go(board, frame_at):
    board.probe(100.0)
    board.control.ask("spikes", c=80.0, share=0.5)
    seen = {round(((frame_at() >> 18) / 4) / 80) for _ in range(12)}
    assert seen == {1, 2}


def test_button_and_relay(board, talk):
    board.press(at_ms=1000, ms=300)
    board.run_until(2000)
    down, up = board.events("button")
    assert (down["t_ms"], up["t_ms"]) == (1000, 1300)
    relay = board.events("relay")[0]
    assert relay["on"] is True
    assert 1000 <= relay["t_ms"] <= 1005
    assert board.state()["contact"] is True


def test_welded_relay_conducts_although_the_pin_is_low(board):
    board.control.ask("relay_welded", on=True)
    state = board.state()
    assert (state["relay"], state["contact"]) == (False, True)


def test_flash_stall_takes_virtual_time(tiny_board, talk):
    took = {}
    for erase_ms in (0, 45, 400):
        board = tiny_board(speed=0)
        board.control.ask("flash_stall", erase_ms=erase_ms)
        took[erase_ms] = int(talk(board.port).ask("e", "took "))
    erases = round((took[400] - took[0]) / 400)
    assert erases >= 3, "9000 bytes are more than two blocks"
    assert took[45] - took[0] == pytest.approx(45 * erases, abs=2)
