"""Circuits for ngspice, with the values of the netlists: the two relay drivers and the piezo stage at their corners."""

from dataclasses import dataclass, field

from panchime_wiring.netlist import compose

# The control input that the output is made for: at most 40 mA at 5 V. A relay coil of 125 Ohm is the same load with a kick.
COIL_OHM = 125
COIL_H = 0.1
NOMINAL_A = 5 / COIL_OHM
USB_LOWEST_V = 4.40  # USB 2.0, 7.2.2: a low-power port under load
FUSE_HIGHEST_OHM = 7.5  # resettable fuses of 100 mA hold (from memory)
HIGH_LOWEST_V = 2.62  # RP2040 and RP2350 datasheets, VOH min; the ESP32s' 2.64 V is above it
MUST_OPERATE = "control inputs of listed switches: 3 V (labels say 3 to 32 V DC)"
MUST_RELEASE = "relay datasheets: must release at 10 % of the nominal voltage"
WATCHDOG_S = 5.0


@dataclass(frozen=True)
class Measure:
    """What a deck measures, its limits and their source; `expression` is ngspice's .meas without its name."""

    name: str
    expression: str
    unit: str
    words: str
    source: str
    lowest: float | None = None
    highest: float | None = None
    factor: float = 1.0


@dataclass(frozen=True)
class Deck:
    """One run: its file's name, what it shows, the circuit, the analysis and the measures. `plot` names vectors to keep."""

    name: str
    title: str
    circuit: str
    analysis: str
    measures: tuple[Measure, ...]
    plot: dict[str, str] = field(default_factory=dict)

    def text(self) -> str:
        """The deck as ngspice reads it, in the folder of models.lib."""
        kind = self.analysis.split()[0]
        lines = [f"* {self.title}", ".include models.lib", self.circuit.strip(), f".{self.analysis}"]
        for measure in self.measures:
            lines.append(f".meas {kind} {measure.name} {measure.expression}")
        return "\n".join([*lines, ".end", ""])


def _ohm(part: str, drive: str = "level") -> float:
    return compose("pico", "max31855", drive).parts[part].value


def _load(usb_v: float, fuse_ohm: float, minus: str = "minus") -> str:
    return f"""
Vusb usb 0 {usb_v}
RF1 usb plus {fuse_ohm}
Lcoil plus coil {COIL_H}
Rcoil coil sense {COIL_OHM}
Vsense sense {minus} 0
Eout out 0 plus {minus} 1
D1 {minus} plus DCLAMP"""


def level_decks() -> list[Deck]:
    """The plain driver."""
    stage = f"""R1 pin base {_ohm("R1"):g}
R2 pin 0 {_ohm("R2"):g}"""
    saturated = "a transistor in saturation, common practice: 0.3 V"
    return [
        Deck(
            "relay-level-on",
            "Plain driver on: lowest pin voltage, weakest transistor, cold, lowest USB voltage, highest fuse resistance",
            f".options temp=0\nVpin pin 0 {HIGH_LOWEST_V}\n{stage}\n"
            f"Q1 minus base 0 QNPNMIN{_load(USB_LOWEST_V, FUSE_HIGHEST_OHM)}",
            "tran 100u 20m",
            (
                Measure("v_sat", "find v(minus) at=19m", "V", "voltage left across the transistor", saturated, highest=0.3),
                Measure("v_out", "find v(out) at=19m", "V", "voltage at the control input", MUST_OPERATE, lowest=3.0),
                Measure(
                    "coil_part", "find par('v(out)/5') at=19m", "%", "of a 5 V coil's nominal voltage",
                    "relay datasheets: must operate at 75 %", lowest=75, factor=100,
                ),
            ),
        ),
        Deck(
            "relay-level-overdrive",
            "Plain driver: how much collector current the base could carry, lowest pin voltage, weakest transistor, cold",
            f".options temp=0\nVpin pin 0 {HIGH_LOWEST_V}\n{stage}\nQ1 minus base 0 QNPNMIN\nVc minus 0 0.3",
            "tran 100u 1m",
            (
                Measure(
                    "margin", f"find par('-i(Vc)/{NOMINAL_A}') at=0.9m", "times",
                    "collector current at 0.3 V over what the load takes", "common practice: twice", lowest=2.0,
                ),
            ),
        ),
        Deck(
            "relay-level-pin",
            "Plain driver: what the pin gives at 3.3 V",
            f"Vpin pin 0 3.3\n{stage}\nQ1 minus base 0 QNPN{_load(5.0, 2.5)}",
            "tran 100u 20m",
            (
                Measure(
                    "pin_ma", "find par('-i(Vpin)') at=19m", "mA", "current out of the pin (base and pull-down)",
                    "the pin's drive step at reset: the RP2040's datasheet guarantees VOH at 4 mA", highest=4.0, factor=1000,
                ),
            ),
        ),
        Deck(
            "relay-level-off",
            "Plain driver switching off a coil",
            f"Vpin pin 0 PULSE(3.3 0 30m 10n 10n 1 2)\n{stage}\nQ1 minus base 0 QNPN{_load(5.25, 2.5)}",
            "tran 5u 60m",
            (
                Measure(
                    "v_peak", "max v(minus) from=30m to=60m", "V", "highest collector voltage",
                    "2222 class datasheets: 40 V collector to emitter (30 V for the oldest); half of that", highest=15.0,
                ),
                Measure(
                    "release_ms", f"trig at=30m targ par('abs(i(Vsense))') val={0.1 * NOMINAL_A} fall=1", "ms",
                    "until the coil's current is a tenth", "under the 250 ms between two samples", highest=250, factor=1000,
                ),
            ),
            {"time": "time", "pin": "v(pin)", "collector": "v(minus)", "coil mA": "1000*i(Vsense)"},
        ),
        Deck(
            "relay-level-floating",
            "Plain driver with the pin an input: a board that starts, hangs in reset or has lost its program; warm",
            f".options temp=60\n{stage}\nQ1 minus base 0 QNPN{_load(5.25, 2.5)}",
            "tran 100u 20m",
            (
                Measure(
                    "coil_ua", "find par('abs(i(Vsense))') at=19m", "uA", "current through the load",
                    f"{MUST_RELEASE}: 4 mA; here nothing is asked for", highest=10.0, factor=1e6,
                ),
            ),
        ),
        Deck(
            "relay-level-unpowered",
            "Plain driver with the board dead (3.3 V at zero, the pin on its protection diodes) and 5 V still there; warm",
            f".options temp=60\nVlogic logic 0 0\nDup pin logic DESD\nDdown 0 pin DESD\n{stage}\n"
            f"Q1 minus base 0 QNPN{_load(5.25, 2.5)}",
            "tran 100u 20m",
            (
                Measure(
                    "coil_ua", "find par('abs(i(Vsense))') at=19m", "uA", "current through the load",
                    f"{MUST_RELEASE}: 4 mA; here nothing is asked for", highest=10.0, factor=1e6,
                ),
            ),
        ),
        Deck(
            "relay-level-leak",
            "Plain driver with the leak of RP2350 erratum E9 (120 uA out of an input) into the pin; warm",
            f".options temp=60\nIleak 0 pin 120u\n{stage}\nQ1 minus base 0 QNPN{_load(5.25, 2.5)}",
            "tran 100u 20m",
            (
                Measure("pin_v", "find v(pin) at=19m", "V", "voltage at the pin", "VIL max 0.8 V", highest=0.8),
                Measure(
                    "coil_ma", "find par('abs(i(Vsense))') at=19m", "mA", "current through the load", MUST_RELEASE,
                    highest=4.0, factor=1000,
                ),
            ),
        ),
    ]  # fmt: skip


MOVING_HZ = 90  # a pass without work sleeps 4 ms and works for 1 to 2 ms; two passes make a period
MOVING_S = 2.0
MOVING_PLOT = {"time": "time", "pin": "v(pin)", "gate": "v(gate)", "coil mA": "1000*i(Vsense)"}
SLOW_HZ = 20  # passes of 25 ms, with the serial port at its busiest
# One edge, then stillness: how long a flash erase may take (datasheets of flash chips: 400 ms at most).
ERASE_S = 0.4


def _pump(model: str, pin: str, c_part: float = 1.0, usb_v: float = 5.0, fuse_ohm: float = 2.5, temp: int = 25) -> str:
    parts = compose("pico", "max31855", "moving").parts
    return f"""
.options temp={temp}
{pin}
R2 pin 0 {parts["R2"].value:g}
R1 pin in {parts["R1"].value:g}
C3 in pump {parts["C3"].value:g}
D2 0 pump DPUMP
D3 pump gate DPUMP
C4 gate 0 {parts["C4"].value * c_part:g} IC=0
R12 gate 0 {parts["R12"].value:g}
R13 gate 0 {parts["R13"].value:g}
M1 minus gate 0 0 {model} W=100u L=100u
Dbody 0 minus DCLAMP{_load(usb_v, fuse_ohm)}"""


def _pulses(high_v: float, hz: float, stop_s: float, ends_high: bool) -> str:
    """A pin that moves until a moment and then stands still: a pulse source behind a switch in time."""
    period = 1 / hz
    return (
        f"Vmove move 0 PULSE(0 {high_v} {period / 2:.6g} 1u 1u {period / 2:.6g} {period:.6g})\n"
        f"Bpin pin 0 V = time < {stop_s:.6g} ? v(move) : {high_v if ends_high else 0}"
    )


def moving_decks() -> list[Deck]:
    """The driver that needs movement."""
    found = []
    corners = [
        ("weakest", "MHIGH", HIGH_LOWEST_V, MOVING_HZ, 0.9, USB_LOWEST_V, FUSE_HIGHEST_OHM, 0, False),
        ("slow", "MHIGH", HIGH_LOWEST_V, SLOW_HZ, 0.9, USB_LOWEST_V, FUSE_HIGHEST_OHM, 0, False),
        ("typical", "MTYP", 3.2, MOVING_HZ, 1.0, 5.0, 2.5, 25, False),
        ("stuck-high", "MTYP", 3.2, MOVING_HZ, 1.0, 5.0, 2.5, 25, True),
        ("slowest-drop", "MLOW", 3.3, MOVING_HZ, 1.1, 5.25, 2.5, 0, True),
        ("warm", "MHIGH", HIGH_LOWEST_V, MOVING_HZ, 0.9, USB_LOWEST_V, FUSE_HIGHEST_OHM, 50, False),
    ]
    for name, model, high_v, hz, c_part, usb_v, fuse_ohm, temp, ends_high in corners:
        stop_s = MOVING_S
        end_s = stop_s + 6
        found.append(
            Deck(
                f"relay-moving-{name}",
                f"Driver that needs movement, {name}: {model}, pin {high_v} V at {hz} Hz, {temp} degC, "
                f"USB {usb_v} V, then still and {'high' if ends_high else 'low'}",
                _pump(model, _pulses(high_v, hz, stop_s, ends_high), c_part, usb_v, fuse_ohm, temp),
                f"tran 1m {end_s:.4g} uic",
                (
                    Measure(
                        "pull_in_s", "when v(out)=3.0 rise=1", "s", "from the first movement until the input has 3 V",
                        "a second, so that nobody notices; no source", highest=1.0,
                    ),
                    Measure("v_out", f"find v(out) at={stop_s - 0.01:.6g}", "V", "voltage at the control input", MUST_OPERATE,
                            lowest=3.0),
                    Measure(
                        "hold_s", f"trig at={stop_s:.6g} targ v(out) val=3.0 fall=last", "s", "held after the last movement",
                        "longer than a flash erase, 0.4 s", lowest=ERASE_S,
                    ),
                    Measure(
                        "drop_s", f"trig at={stop_s:.6g} targ i(Vsense) val={0.1 * NOMINAL_A} fall=last", "s",
                        "open after the last movement", "sooner than the watchdog, 5 s", highest=WATCHDOG_S,
                    ),
                ),
                MOVING_PLOT if name == "stuck-high" else {},
            )
        )  # fmt: skip
    still = {"highest": 0.1 * NOMINAL_A * 1000, "factor": 1000.0}
    found.append(
        Deck(
            "relay-moving-one-edge",
            "Driver that needs movement: a pin that rises once and stays high, lowest threshold, warm",
            _pump("MLOW", "Vpin pin 0 PULSE(0 3.3 10m 1u 1u 10 20)", 0.9, 5.25, 2.5, 60),
            "tran 1m 1 uic",
            (Measure("coil_ma", "max i(Vsense)", "mA", "highest current through the load", MUST_RELEASE, **still),),
        )
    )
    broken = _pump("MTYP", "Vpin pin 0 PULSE(0 3.3 10m 1u 1u 10 20)").replace("C3 in pump", "R99 in pump 1\n*C3 in pump")
    found.append(
        Deck(
            "relay-moving-c3-shorted",
            "Driver that needs movement with C3 shorted and the pin stuck high: two faults at once, and it closes",
            broken,
            "tran 1m 3 uic",
            (
                Measure("coil_ma", "find i(Vsense) at=2.9", "mA", "current through the load: this pair is not covered",
                        "shown, so that nobody believes more of it", lowest=30.0, factor=1000.0),
            ),
        )
    )  # fmt: skip
    return found


def piezo_decks() -> list[Deck]:
    """The piezo stage, and what it does to the 3.3 V that the amplifier lives on."""
    parts = compose("pico", "max31855").parts
    found = []
    for name, ohm, limits in (("piezo", parts["R8"].value, True), ("piezo-bare", 22.0, False)):
        found.append(
            Deck(
                name,
                f"Piezo at 2.5 kHz through {ohm:g} Ohm" + ("" if limits else ": why the resistor is there"),
                f"""
Vreg reg 0 3.3
Rreg reg rail 1.0
Cboard rail esr 10u IC=3.3
Resr esr 0 0.05
C1 rail 0 {parts["C1"].value:g} IC=3.3
Vgate gate 0 PULSE(0 3.3 0.1m 5n 5n 0.2m 0.4m)
Sup rail pin gate 0 SWUP
Sdown pin 0 gate 0 SWDOWN
Vpin pin drive 0
R8 drive piezo {ohm:g}
R9 piezo 0 {parts["R9"].value:g}
Cpiezo piezo 0 20n
Rm piezo m1 1k
Lm m1 m2 1.06
Cm m2 0 1.5n
.model SWUP SW(VT=1.65 VH=0.2 RON=40 ROFF=100Meg)
.model SWDOWN SW(VT=1.65 VH=0.2 RON=100Meg ROFF=40)""",
                "tran 0.2u 20m uic",
                (
                    Measure(
                        "pin_ma", "max i(Vpin) from=10m to=20m", "mA", "highest current out of the pin", "drive step 4 mA",
                        highest=4.0 if limits else None, lowest=None if limits else 4.0, factor=1000.0,
                    ),
                    Measure(
                        "rail_mv", "pp v(rail) from=10m to=20m", "mV", "what the 3.3 V moves",
                        "common practice, no source: 10 mV", highest=10.0, factor=1000.0,
                    ),
                ),
            )
        )  # fmt: skip
    return found


def decks() -> list[Deck]:
    """All of them, in the order of the page."""
    return [*level_decks(), *moving_decks(), *piezo_decks()]
