"""Voltage and temperature against the printed tables."""

from panchime_fw.thermocouple import Thermocouple

# NIST SRD 60 (ITS-90), printed values in microvolts, reference junction at 0 degC, rounded to 1 uV by the printer.
PRINTED = {
    "K": ((-50, -1889), (-10, -392), (0, 0), (25, 1000), (50, 2023), (100, 4096), (150, 6138), (196, 7979),
          (200, 8138), (224, 9101), (250, 10153), (300, 12209), (500, 20644)),
    "J": ((-50, -2431), (-10, -501), (0, 0), (25, 1277), (50, 2585), (100, 5269), (150, 8010), (196, 10557),
          (200, 10779), (224, 12111), (250, 13555), (300, 16327), (500, 27393)),
    "N": ((-50, -1269), (-10, -260), (0, 0), (25, 659), (50, 1340), (100, 2774), (150, 4302), (196, 5782),
          (200, 5913), (224, 6713), (250, 7597), (300, 9341), (500, 16748)),
    "T": ((-50, -1819), (-10, -383), (0, 0), (25, 992), (50, 2036), (100, 4279), (150, 6704), (196, 9076),
          (200, 9288), (224, 10580), (250, 12013), (300, 14862)),
    "E": ((-50, -2787), (-10, -582), (0, 0), (25, 1495), (50, 3048), (100, 6319), (150, 9789), (196, 13126),
          (200, 13421), (224, 15212), (250, 17181), (300, 21036), (500, 37005)),
}  # fmt: skip
# E(1000 degC)/1000 in nV/degC: the datasheet's sensitivities of the MAX31855 S and R variants, which tie these two
# types to a printed number.
AT_1000 = {"S": 9587000, "R": 10506000}


def check_voltage(letter: str, t_c: int, microvolts: int) -> None:
    nanovolts = Thermocouple(letter).nanovolts(t_c * 100)
    # Half a unit of the printed value's last place, and the table's own error.
    assert abs(nanovolts - microvolts * 1000) <= 500 + 200, "%d nV" % nanovolts


def check_temperature(letter: str, t_c: int, microvolts: int) -> None:
    curve = Thermocouple(letter)
    centi = curve.centi(microvolts * 1000)
    # Half a microvolt is at most 0.02 degC where these types are used (type N: 26 uV/degC), and one hundredth to round.
    assert abs(centi - t_c * 100) <= 3, "%d centi" % centi


def check_at_1000(letter: str, nanovolts: int) -> None:
    found = Thermocouple(letter).nanovolts(100000)
    assert abs(found - nanovolts) <= 500 + 200, "%d nV" % found


def check_ends(letter: str, lowest_centi: int, highest_centi: int) -> None:
    curve = Thermocouple(letter)
    assert curve.lowest_centi == lowest_centi, "%d" % curve.lowest_centi
    assert curve.highest_centi == highest_centi, "%d" % curve.highest_centi
    low = curve.nanovolts(lowest_centi)
    high = curve.nanovolts(highest_centi)
    assert curve.centi(low) == lowest_centi, "lowest voltage"
    assert abs(curve.centi(high) - highest_centi) <= 1, "highest voltage"
    assert curve.centi(low - 1) == lowest_centi - 1, "one nanovolt below the table"
    assert curve.centi(high + 1) == highest_centi + 1, "one nanovolt above the table"
    assert curve.nanovolts(lowest_centi - 50000) == low, "held at the lowest"
    assert curve.nanovolts(highest_centi + 50000) == high, "held at the highest"


def check_refused(letter: str) -> None:
    message = ""
    try:
        Thermocouple(letter)
    except ValueError as error:
        message = str(error)
    assert "K, J, N, T, E, R, S" in message, message or "it was taken"


TABLES = {
    "voltage": (check_voltage, [(letter, t, uv) for letter in PRINTED for t, uv in PRINTED[letter]]),
    "temperature": (check_temperature, [(letter, t, uv) for letter in PRINTED for t, uv in PRINTED[letter]]),
    "types S and R": (check_at_1000, list(AT_1000.items())),
    "ends": (
        check_ends,
        [
            ("K", -20000, 137200),
            ("J", -20000, 120000),
            ("N", -20000, 130000),
            ("T", -20000, 40000),
            ("E", -20000, 100000),
            ("R", -5000, 176800),
            ("S", -5000, 176800),
        ],
    ),
    "refused types": (check_refused, [("B",), ("k",), ("",), ("KJ",)]),
}
