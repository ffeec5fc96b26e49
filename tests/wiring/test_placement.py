"""The breadboard of the pictures joins exactly what the netlist joins."""

from collections import Counter

import pytest
from panchime_wiring import data
from panchime_wiring.netlist import compose
from panchime_wiring.placement import all_holes, joined, place, strip

# The probe and the capacitor at its terminals sit on the breakout, not on the breadboard.
ELSEWHERE = ("TC1.", "C2.", "U2.T")
COMBINATIONS = [(board, amplifier) for board in data.BOARDS for amplifier in data.AMPLIFIERS]


def on_the_breadboard(pins):
    return frozenset(pin for pin in pins if not pin.startswith(ELSEWHERE))


@pytest.mark.parametrize(("board", "amplifier"), COMBINATIONS)
def test_it_joins_what_the_netlist_joins(board, amplifier):
    netlist = compose(board, amplifier)
    wanted = {on_the_breadboard(pins) for pins in netlist.nets.values()} - {frozenset()}
    assert {frozenset(group) for group in joined(place(netlist))} == wanted


@pytest.mark.parametrize(("board", "amplifier"), COMBINATIONS)
def test_no_hole_is_taken_twice(board, amplifier):
    twice = [hole for hole, count in Counter(all_holes(place(compose(board, amplifier)))).items() if count > 1]
    assert twice == []


def test_the_spare_legs_of_the_button_meet_nothing():
    """Whichever legs a push button joins inside, the columns of the two spare ones carry nothing else."""
    placement = place(compose("esp32", "max31856"))
    taken = Counter(strip(hole) for hole in all_holes(placement))
    for hole in placement.spare["SW1"]:
        assert taken[strip(hole)] == 1


def test_a_misplaced_leg_is_seen():
    netlist = compose("pico", "max31855")
    placement = place(netlist)
    placement.pins["R2.2"] = "i15"
    wanted = {on_the_breadboard(pins) for pins in netlist.nets.values()} - {frozenset()}
    assert {frozenset(group) for group in joined(placement)} != wanted
