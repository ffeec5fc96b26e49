"""Beans in and beans out found in the curve. The shapes are common practice, no source."""

from panchime_fw.finder import IN_ABOVE_CENTI, IN_FALL_CENTI, FallFinder


def found_in(curve):
    """Steps a list of (seconds, centi) corners, straight lines between, at 4 Hz; answers (found at, fall began) or None."""
    finder = FallFinder(IN_FALL_CENTI, IN_ABOVE_CENTI)
    for (t0, y0), (t1, y1) in zip(curve, curve[1:]):
        for now_ms in range(t0 * 1000, t1 * 1000, 250):
            centi = y0 + (y1 - y0) * (now_ms - t0 * 1000) // ((t1 - t0) * 1000)
            if finder.step(now_ms, centi):
                return now_ms, finder.found_ms
    return None


def check_found(curve, began_ms):
    found = found_in(curve)
    assert found is not None, "not found"
    assert abs(found[1] - began_ms) <= 1000, found


def check_not_found(curve):
    assert found_in(curve) is None, found_in(curve)


TABLES = {
    "found": (
        check_found,
        [
            ([(0, 2000), (200, 20000), (230, 12000)], 200000),
            ([(0, 20000), (60, 20000), (80, 15000)], 60000),
            # the pan drifts down already: the fall is taken to begin within 2.5 s of the true moment
            ([(0, 19000), (60, 21000), (90, 20600), (100, 17000)], 87750),
            # a fall that begins slowly: 12 degC in the first 25 s
            ([(0, 20000), (30, 20000), (55, 18800), (75, 15000)], 30000),
            # 15 degC within 20 s, just
            ([(0, 20000), (30, 20000), (49, 18450)], 30000),
        ],
    ),
    "not found": (
        check_not_found,
        [
            # an iron pan that cools by 30 degC a minute
            ([(0, 22000), (120, 16000)],),
            # a cold pan
            ([(0, 11500), (10, 9000)],),
            # a lifted lid: 14 degC, then back
            ([(0, 20000), (20, 20000), (30, 18600), (60, 20000)],),
            # slow waves
            ([(0, 20000), (60, 18500), (120, 20000), (180, 18500)],),
        ],
    ),
}  # fmt: skip
