"""One roast, told through each amplifier: the same milestones at the same times, within a sample's and the chip's step's worth.

The same beans in the same kitchen, without noise, so that nothing differs but the chip. What may differ then, for a milestone
at a temperature that the probe passes at `rate`:

- when the sample is taken: 250 ms (the grid of samples begins when the chip's first conversion is due);
- how old the conversion is that it reads: 200 ms for a MAX6675 twin, 100 ms or less for the others;
- by how much the chip's last step cuts off: 0.25 degC for MAX31855 and MAX6675 and the hundredth or two of their correction,
  0.0625 degC for MCP9600 and MCP9601 (which differ in their fault bits alone: one of them roasts here), 0.0078 for MAX31856,
  each divided by the rate.

Two chips may differ by no more than the sum; and none may sound before the probe is there, nor later than the sum and the spike
filter's one sample. A milestone that hangs on a mark alone has none of the temperature's part.
"""

from dataclasses import replace
from itertools import pairwise

import pytest

from panchime.demo.hearing import Ear
from panchime.link.board import Board
from panchime.planfile.wire import to_json
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command
from panchime.virtual.roaster.scenario import load_scenario
from panchime_fw import events
from panchime_fw.logreader import decode
from panchime_fw.plan import compile_plan

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

SAMPLE_S = 0.25
SOUND_S = 0.02  # the loop steps its sounds every few milliseconds
# Step in degC, and the age of a conversion in s.
CHIPS = {
    "MAX31855": (0.27, 0.1),
    "MAX31856": (0.01, 0.1),
    "MAX6675": (0.27, 0.2),
    "MCP9601": (0.065, 0.1),
}
TEMPERATURES = {"Damp": 90, "Yellow soon": 150, "Halfway": 170, "Crack soon": 188}
PLAN = {
    "name": "Four chips",
    "method": "hot-air popper",
    "loads": "cold",
    "heater_on_relay": True,
    "limit": 235,
    "marks": ["beans in", "yellow", "first crack", "beans out"],
    "milestone": [
        *(
            {"label": label, "rises_to": celsius, "sound": sound}
            for (label, celsius), sound in zip(
                TEMPERATURES.items(), ("beeps 1", "beeps 2", "beeps 3", "rising twice"), strict=True
            )
        ),
        {"label": "Half a minute of yellow", "after_s": 30, "since": "yellow", "sound": "falling"},
        {"label": "Developed", "development_share": 5, "sound": "long"},
    ],
}


def kitchen():
    """A strong popper on a warm day: a roast in a few minutes, the amplifier at the 25 degC that a MAX6675 is assumed at."""
    mild = load_scenario("hot-air-popper-mild")
    acts = tuple(replace(act, at_s=40.0) if act.at_s is not None else act for act in mild.acts)
    return replace(
        mild,
        day=replace(mild.day, air_c=25.0, cold_junction_rise_c=0.0, strength=1.5),
        tip=replace(mild.tip, lag_s=2.0, noise_c=0.0),
        acts=acts,
    )


def roast(chip):
    """(milestone -> ms in the roast by the log, milestone -> (s, true degC of the probe) when heard, [(s, true degC)])."""
    with VirtualBoard(speed=1, scenario=kitchen(), chip=chip) as virtual:
        with Board.connect(virtual.port) as board:
            board.client.command(f"SENSe:TEMPerature:TRANsducer:AMPLifier {chip}")
            board.define_plan(to_json(PLAN))
        assert virtual.now_ms < 35_000, "the beans are in before the board knew its chip"
        virtual.set_speed(0)
        virtual.wait_for("relay", on=True)
        virtual.wait_for("relay", on=False)
        virtual.wait_until(virtual.now_ms + 3000)
        trace = virtual.control.ask("trace")
        ear = Ear(compile_plan(PLAN))
        heard, truth = {}, {}
        for event in virtual.events("tone"):
            ear.hear(event)
            truth[event["t_ms"]] = event["probe_c"]
        for sound in ear.finished(float("inf")):
            if sound.written:
                heard[sound.meaning] = (sound.t_ms / 1000, truth[sound.t_ms])
        virtual.set_speed(1)
        with Board.connect(virtual.port) as board:
            board.client.command("PROGram:STATe STOP")
            (file,) = board.catalogue().files
            log = decode(board.read_log(file.name, 0, file.bytes))
    assert log.head["amplifier"] == chip
    assert log.problems == []
    logged = {PLAN["milestone"][a]["label"]: t_ms for t_ms, kind, a, _, _ in log.events if kind == events.MILESTONE}
    return logged, heard, list(zip(trace["t_s"], trace["probe_c"], strict=True))


def rate_at(trace, celsius):
    """The probe's true rate where it passes this temperature on its way up, degC/s."""
    for (t0, c0), (t1, c1) in pairwise(trace):
        if c0 < celsius <= c1:
            return (c1 - c0) / (t1 - t0)
    raise AssertionError(f"the probe never passes {celsius} degC")


def test_every_amplifier_tells_the_same_roast():
    roasts = {chip: roast(chip) for chip in CHIPS}
    labels = [milestone["label"] for milestone in PLAN["milestone"]]
    for chip, (logged, heard, _) in roasts.items():
        assert sorted(logged) == sorted(labels), chip
        assert set(heard) >= set(TEMPERATURES), chip
    for label in labels:
        for chip, (step_c, age_s) in CHIPS.items():
            logged, heard, trace = roasts[chip]
            if label in TEMPERATURES:
                rate = rate_at(trace, TEMPERATURES[label])
                late_s = 3 * SAMPLE_S + age_s + SOUND_S  # up to one sample, and two of the median of five
                true_c = heard[label][1]
                assert true_c >= TEMPERATURES[label] - 0.03, f"{chip}: {label} at {true_c}"
                assert true_c <= TEMPERATURES[label] + step_c + rate * late_s, f"{chip}: {label} at {true_c}, {rate}"
            for other, (other_step_c, other_age_s) in CHIPS.items():
                allowed_s = SAMPLE_S
                if label in TEMPERATURES:
                    allowed_s += max(age_s, other_age_s) + max(step_c, other_step_c) / rate
                apart_s = abs(logged[label] - roasts[other][0][label]) / 1000
                assert apart_s <= allowed_s, f"{label}: {chip} and {other} are {apart_s} s apart, allowed {allowed_s:.2f}"
