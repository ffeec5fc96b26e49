"""ngspice on the committed circuits: every measure within its limit, and the page tells what is found here too."""

import os
import shutil
import subprocess

import pytest
from panchime_wiring import data, lists, spice_decks, spice_run
from panchime_wiring.netlist import compose

DECKS = {deck.name: deck for deck in spice_decks.decks()}
# Versions of ngspice choose their time steps differently.
SAME_WITHIN = 0.05
SMALLEST = 0.01

if spice_run.program() is None and not os.environ.get("CI"):
    pytest.skip("ngspice is not installed: apt-get install ngspice", allow_module_level=True)


@pytest.mark.parametrize("name", DECKS)
def test_every_measure_keeps_its_limit_and_is_what_the_page_says(name):
    found = spice_run.run(DECKS[name])
    told = lists.results()[name]
    for measure in DECKS[name].measures:
        assert spice_run.within(measure, found[measure.name]), f"{measure.words}: {found[measure.name]} {measure.unit}"
        assert found[measure.name] == pytest.approx(told[measure.name], rel=SAME_WITHIN, abs=SMALLEST)


@pytest.mark.parametrize("name", DECKS)
def test_the_committed_circuit_runs_by_itself(name, tmp_path):
    shutil.copy(data.SPICE / "models.lib", tmp_path)
    shutil.copy(data.SPICE / f"{name}.cir", tmp_path)
    program = spice_run.program()
    assert program is not None, "ngspice must be installed where CI is set"
    done = subprocess.run([program, "-b", f"{name}.cir"], cwd=tmp_path, capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    assert "failed" not in done.stdout + done.stderr


def with_value(text, part, value):
    """The deck's text with another value of a part."""
    lines = text.splitlines()
    at = next(index for index, line in enumerate(lines) if line.startswith(f"{part} "))
    lines[at] = " ".join([*lines[at].split()[:3], value])
    return "\n".join(lines)


def broken(name, part, value):
    """The measures of a deck in which one part has another value."""
    deck = DECKS[name]
    circuit = with_value(deck.circuit, part, value)
    found = spice_run.run(spice_decks.Deck(name, deck.title, circuit, deck.analysis, deck.measures))
    return {measure.name: spice_run.within(measure, found[measure.name]) for measure in deck.measures}


@pytest.mark.parametrize(
    ("name", "part", "value", "measure"),
    [
        ("relay-level-on", "R1", "100k", "v_sat"),
        ("relay-level-overdrive", "R1", "4.7k", "margin"),
        ("relay-level-pin", "R1", "220", "pin_ma"),
        ("relay-level-leak", "R2", "22k", "coil_ma"),
        ("piezo", "R8", "100", "pin_ma"),
        ("relay-moving-one-edge", "C3", "10u", "coil_ma"),
    ],
)
def test_a_wrong_part_breaks_its_limit(name, part, value, measure):
    assert not broken(name, part, value)[measure]


def test_a_smaller_hold_would_not_outlast_a_flash_erase():
    assert not broken("relay-moving-weakest", "C4", "2.2u")["hold_s"]


def test_the_circuits_carry_the_values_of_the_netlist():
    parts = compose("pico", "max31855").parts
    assert f"R1 pin base {parts['R1'].value:g}\n" in DECKS["relay-level-on"].circuit
    moving = compose("pico", "max31855", "moving").parts
    assert f"C3 in pump {moving['C3'].value:g}\n" in DECKS["relay-moving-typical"].circuit
