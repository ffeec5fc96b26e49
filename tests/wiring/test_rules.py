"""Every netlist that is shipped keeps every rule, and each broken one fails with the rule that it breaks."""

import copy

import pytest
from panchime_wiring import data, netlist, rules
from panchime_wiring.netlist import compose

COMBINATIONS = [(board, amplifier, drive) for board in data.BOARDS for amplifier in data.AMPLIFIERS for drive in data.DRIVES]


@pytest.mark.parametrize(("board", "amplifier", "drive"), COMBINATIONS)
def test_every_combination_keeps_every_rule(board, amplifier, drive):
    assert rules.check(compose(board, amplifier, drive)) == []


@pytest.mark.parametrize("board", [name for name in data.BOARDS if name != "esp32-c3"])
def test_a_light_of_three_colours_fits_everywhere_but_on_the_small_board(board):
    wiring = compose(board, "max31856", colours=True)
    assert rules.check(wiring) == []
    assert wiring.parts["LED2"]


def take_off(wiring, pin):
    wiring.nets[wiring.net_of(pin)].remove(pin)


def move(wiring, pin, net):
    take_off(wiring, pin)
    wiring.nets[net].append(pin)


def two_drivers(wiring):
    wiring.nets["piezo pin"] += wiring.nets.pop("clock pin")


def amplifier_on_five_volts(wiring):
    move(wiring, "U2.supply", "5 V")


def pull_up_to_five_volts(wiring):
    move(wiring, "R7.2", "5 V")


def no_decoupling(wiring):
    move(wiring, "C1.1", "5 V")


def small_decoupling(wiring):
    wiring.parts["C1"].value = 10e-9


def no_pull_down(wiring):
    move(wiring, "R2.2", "3.3 V")


def weak_pull_down(wiring):
    wiring.parts["R2"].value = 10000


def pull_down_behind_the_base_resistor(wiring):
    move(wiring, "R2.1", "base")


def no_flyback(wiring):
    move(wiring, "D1.K", "ground")


def flyback_turned_round(wiring):
    move(wiring, "D1.K", "output -")
    move(wiring, "D1.A", "output +")


def pin_twice(wiring):
    wiring.nets["button"].append("U1.piezo")


def one_number_in_two_roles(wiring):
    wiring.pin_map["button"] = wiring.pin_map["relay"]


def no_series_resistor(wiring):
    wiring.nets["clock pin"].remove("R3.1")
    wiring.nets["clock pin"].append("U2.spi_sck")
    wiring.nets["clock"].remove("U2.spi_sck")


def series_resistor_too_large(wiring):
    wiring.parts["R5"].value = 10000


def no_select_pull_up(wiring):
    move(wiring, "R6.2", "ground")


def button_to_supply(wiring):
    move(wiring, "SW1.2", "3.3 V")


def bare_probe(wiring):
    wiring.parts["TC1"].facts["insulated"] = False


def relay_on_the_usb_reset_pin(wiring):
    wiring.pin_map["relay"] = 15


def clock_on_a_data_pin(wiring):
    wiring.pin_map["spi_sck"] = 19
    wiring.pin_map["spi_mosi"] = 18


def light_on_the_radio(wiring):
    wiring.pin_map["relay"] = 23


def bare_piezo(wiring):
    wiring.parts["R8"].value = 22


def mains_at_the_output(wiring):
    wiring.parts["J1"].facts["highest_v"] = 230


def loose_wire(wiring):
    take_off(wiring, "U2.ground")


BROKEN = [
    (two_drivers, "one driver"),
    (amplifier_on_five_volts, "3.3 V parts on 3.3 V"),
    (pull_up_to_five_volts, "3.3 V parts on 3.3 V"),
    (no_decoupling, "decoupling at the amplifier"),
    (small_decoupling, "decoupling at the amplifier"),
    (no_pull_down, "relay pull-down"),
    (weak_pull_down, "relay pull-down"),
    (pull_down_behind_the_base_resistor, "relay pull-down"),
    (no_flyback, "flyback path"),
    (flyback_turned_round, "flyback path"),
    (pin_twice, "no pin twice"),
    (one_number_in_two_roles, "no pin twice"),
    (no_series_resistor, "series resistors on the bus"),
    (series_resistor_too_large, "series resistors on the bus"),
    (no_select_pull_up, "pull-ups on the bus"),
    (button_to_supply, "the button's pull"),
    (bare_probe, "insulated probe"),
    (relay_on_the_usb_reset_pin, "relay pin allowed"),
    (clock_on_a_data_pin, "pins can do it"),
    (light_on_the_radio, "pins can do it"),
    (bare_piezo, "piezo current"),
    (mains_at_the_output, "low-voltage output"),
    (loose_wire, "nothing loose"),
]


@pytest.mark.parametrize(("breakage", "rule"), BROKEN, ids=[breakage.__name__ for breakage, _ in BROKEN])
def test_a_broken_netlist_fails_with_its_rule(breakage, rule):
    wiring = copy.deepcopy(compose("pico", "max31855"))
    breakage(wiring)
    assert rule in {words.split(": ")[0] for words in rules.check(wiring)}


def test_every_rule_is_shown_to_fail():
    assert {rule for _, rule in BROKEN} == set(rules.RULES)


# Why each may not switch a relay: reset pull-up, strapping, flash, USB, serial text, input only, pulses at power-on.
FORBIDDEN = {
    "pico": (15, 0, 23, 24, 25, 29),
    "pico-w": (15, 23, 24, 25, 29),
    "pico-2": (15, 23, 24, 25, 29),
    "pico-2-w": (15, 23, 24, 25, 29),
    "esp32": (0, 1, 2, 3, 5, 6, 12, 13, 14, 15, 16, 34, 39),
    "esp32-s3": (0, 3, 18, 19, 20, 26, 33, 39, 43, 45, 46, 48),
    "esp32-c3": (2, 6, 8, 9, 12, 18, 19, 20, 21),
}


@pytest.mark.parametrize(("board", "pin"), [(board, pin) for board, pins in FORBIDDEN.items() for pin in pins])
def test_pins_that_may_not_switch_a_relay(board, pin):
    wiring = compose(board, "max31855")
    wiring.pin_map["relay"] = pin
    named = {words.split(": ")[0] for words in rules.check(wiring)}
    assert named & {"relay pin allowed", "pins can do it"}


def test_a_board_without_a_light_gets_one_and_a_board_with_one_does_not():
    for name in data.BOARDS:
        assert ("LED1" in compose(name, "max31855").parts) == name.startswith("esp32")
    assert netlist.own_light(data.board("pico-w"))
