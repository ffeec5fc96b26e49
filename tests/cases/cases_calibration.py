"""The probe's correction in whole numbers, and what it refuses.

Tolerances: IEC 60584-1 class 2 (K, J, N +-2.5 degC to 333 degC, then 0.75 %; T +-1.0 to 133, then 0.75 %) and ASTM E230
standard (E 1.7 degC or 0.5 %); R and S from memory.
"""

from panchime_fw import calibration


def point(shown_centi, true_centi, how="ice water", date="2026-11-25"):
    return {"shown_centi": shown_centi, "true_centi": true_centi, "how": how, "date": date}


def document(*pairs):
    return {"points": [point(shown, true) for shown, true in pairs]}


def check_apply(pairs, readings):
    found = document(*pairs) if pairs else None
    assert calibration.check(found, "K") == [], calibration.check(found, "K")
    correct = calibration.Calibration(found, "K")
    for shown, wanted in readings:
        assert correct.apply(shown) == wanted, (shown, correct.apply(shown), wanted)


def check_order_of_points_does_not_matter(pairs):
    forth = calibration.Calibration(document(*pairs), "K")
    back = calibration.Calibration(document(pairs[1], pairs[0]), "K")
    for shown in range(-4000, 40000, 333):
        assert forth.apply(shown) == back.apply(shown), shown


def check_rises(pairs):
    """A hotter reading never becomes a colder one."""
    correct = calibration.Calibration(document(*pairs), "K")
    last = correct.apply(-20001)
    for shown in range(-20000, 137200, 7):
        now = correct.apply(shown)
        assert now >= last, shown
        last = now


def check_tolerance(letter, true_centi, allowed_centi):
    assert calibration.tolerance_centi(letter, true_centi) == allowed_centi, calibration.tolerance_centi(letter, true_centi)
    for sign in (1, -1):
        good = document((true_centi + sign * allowed_centi, true_centi))
        assert calibration.check(good, letter) == [], calibration.check(good, letter)
        faults = calibration.check(document((true_centi + sign * (allowed_centi + 1), true_centi)), letter)
        assert len(faults) == 1 and "a sound type %s probe is within" % letter in faults[0], faults
        for cause in ("not stirred", "altitude or pressure", "thermocouple type", "swapped"):
            assert cause in faults[0], faults[0]


def check_refused(found, words):
    faults = calibration.check(found, "K")
    assert len(faults) == 1, faults
    assert words in faults[0], faults[0]


TABLES = {
    "offset and line": (
        check_apply,
        [
            ((), [(-4000, -4000), (0, 0), (23000, 23000)]),
            (((42, 0),), [(42, 0), (0, -42), (23042, 23000), (-500, -542)]),
            # +0.30 degC to add at 0, +0.60 at 100: +0.90 at 200.
            (((-30, 0), (9940, 10000)), [(-30, 0), (9940, 10000), (4955, 5000), (19910, 20000)]),
            # One point exact, the other 0.50 too high.
            (((0, 0), (10050, 10000)), [(0, 0), (10050, 10000), (20100, 20000), (5025, 5000)]),
            # A steep line is held to what a sound probe can be off: 2.50 degC to 333, then 0.75 %.
            (((150, 0), (9800, 10000)), [(150, 0), (9800, 10000), (20000, 20250), (40000, 40300), (-20000, -20250)]),
            # Halves go up.
            (((0, 0), (10000, 10001)), [(4999, 4999), (5000, 5001), (10000, 10001)]),
        ],
    ),
    "order of points": (check_order_of_points_does_not_matter, [(((40, 0), (9900, 9965)),), (((-150, 0), (9900, 10020)),)]),
    "hotter stays hotter": (
        check_rises,
        [(((-90, 0), (10090, 10000)),), (((90, 0), (9910, 10000)),), (((-250, 0), (10250, 10000)),)],
    ),
    "tolerance": (
        check_tolerance,
        [
            ("K", 0, 250), ("K", 10000, 250), ("K", 39000, 292), ("J", 10000, 250), ("N", 0, 250),
            ("T", 0, 100), ("T", 13300, 100), ("T", 20000, 150), ("E", 0, 170), ("E", 39000, 195), ("R", 10000, 150),
        ],
    ),
    "refused": (
        check_refused,
        [
            (3, "must be null or a table with points"),
            ({"points": []}, "must be 1 or 2 points, and there are 0"),
            (document((0, 0), (5000, 5000), (10000, 10000)), "there are 3"),
            (document((0, 0), (4999, 4999)), "at least 50.00 C apart"),
            ({"points": [point(0, 0)], "who": "me"}, "'who' is not a key"),
            ({"points": [{"shown_centi": 0}]}, "must have shown_centi, true_centi, how and date"),
            ({"points": [point(0.5, 0)]}, "shown_centi must be a whole number"),
            ({"points": [point(True, 0)]}, "shown_centi must be a whole number"),
            ({"points": [point(0, 40001)]}, "true_centi must be a whole number of hundredths, -40.00 to 400.00 C"),
            ({"points": [point(0, 0, how="x" * 61)]}, "how must be at most 60"),
            ({"points": [point(0, 0, date="caf\u00e9")]}, "date must be at most 10 plain"),
        ],
    ),
}  # fmt: skip
