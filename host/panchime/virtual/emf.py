"""What a thermocouple gives: ITS-90 reference functions (NIST Monograph 175), millivolts from degrees Celsius.

This is the physics of the virtual world, in floats and from the published coefficients, so that the firmware's own integer
tables meet an independent truth. Outside a type's range the nearest end of the range counts.
"""

import math

# type: ranges of (lowest degC, highest degC, coefficients of 1, T, T^2 ...)
_RANGES: dict[str, tuple[tuple[float, float, tuple[float, ...]], ...]] = {
    "K": (
        (
            -270.0,
            0.0,
            (
                0.0,
                0.039450128025,
                2.3622373598e-05,
                -3.2858906784e-07,
                -4.9904828777e-09,
                -6.7509059173e-11,
                -5.7410327428e-13,
                -3.1088872894e-15,
                -1.0451609365e-17,
                -1.9889266878e-20,
                -1.6322697486e-23,
            ),
        ),
        (
            0.0,
            1372.0,
            (
                -0.017600413686,
                0.038921204975,
                1.8558770032e-05,
                -9.9457592874e-08,
                3.1840945719e-10,
                -5.6072844889e-13,
                5.6075059059e-16,
                -3.2020720003e-19,
                9.7151147152e-23,
                -1.2104721275e-26,
            ),
        ),
    ),
    "J": (
        (
            -210.0,
            760.0,
            (
                0.0,
                0.050381187815,
                3.047583693e-05,
                -8.568106572e-08,
                1.3228195295e-10,
                -1.7052958337e-13,
                2.0948090697e-16,
                -1.2538395336e-19,
                1.5631725697e-23,
            ),
        ),
        (
            760.0,
            1200.0,
            (
                296.45625681,
                -1.4976127786,
                0.0031787103924,
                -3.1847686701e-06,
                1.5720819004e-09,
                -3.0691369056e-13,
            ),
        ),
    ),
    "N": (
        (
            -270.0,
            0.0,
            (
                0.0,
                0.026159105962,
                1.0957484228e-05,
                -9.3841111554e-08,
                -4.6412039759e-11,
                -2.6303357716e-12,
                -2.2653438003e-14,
                -7.6089300791e-17,
                -9.3419667835e-20,
            ),
        ),
        (
            0.0,
            1300.0,
            (
                0.0,
                0.025929394601,
                1.571014188e-05,
                4.3825627237e-08,
                -2.5261169794e-10,
                6.4311819339e-13,
                -1.0063471519e-15,
                9.9745338992e-19,
                -6.0863245607e-22,
                2.0849229339e-25,
                -3.0682196151e-29,
            ),
        ),
    ),
    "T": (
        (
            -270.0,
            0.0,
            (
                0.0,
                0.038748106364,
                4.4194434347e-05,
                1.1844323105e-07,
                2.0032973554e-08,
                9.0138019559e-10,
                2.2651156593e-11,
                3.6071154205e-13,
                3.8493939883e-15,
                2.8213521925e-17,
                1.4251594779e-19,
                4.8768662286e-22,
                1.079553927e-24,
                1.3945027062e-27,
                7.9795153927e-31,
            ),
        ),
        (
            0.0,
            400.0,
            (
                0.0,
                0.038748106364,
                3.329222788e-05,
                2.0618243404e-07,
                -2.1882256846e-09,
                1.0996880928e-11,
                -3.0815758772e-14,
                4.547913529e-17,
                -2.7512901673e-20,
            ),
        ),
    ),
    "E": (
        (
            -270.0,
            0.0,
            (
                0.0,
                0.058665508708,
                4.5410977124e-05,
                -7.7998048686e-07,
                -2.5800160843e-08,
                -5.9452583057e-10,
                -9.3214058667e-12,
                -1.0287605534e-13,
                -8.0370123621e-16,
                -4.3979497391e-18,
                -1.6414776355e-20,
                -3.9673619516e-23,
                -5.5827328721e-26,
                -3.4657842013e-29,
            ),
        ),
        (
            0.0,
            1000.0,
            (
                0.0,
                0.05866550871,
                4.5032275582e-05,
                2.8908407212e-08,
                -3.3056896652e-10,
                6.502440327e-13,
                -1.9197495504e-16,
                -1.2536600497e-18,
                2.1489217569e-21,
                -1.4388041782e-24,
                3.5960899481e-28,
            ),
        ),
    ),
}
# Type K above 0 degC has one more term: a0 exp(a1 (T - a2)^2).
_K_TERM = (0.1185976, -0.0001183432, 126.9686)


def emf_mv(kind: str, junction_c: float) -> float:
    """The voltage of a junction of type K, J, N, T or E against one at 0 degC, in mV."""
    ranges = _RANGES[kind]
    junction_c = max(ranges[0][0], min(ranges[-1][1], junction_c))
    coefficients = next(held for _, highest, held in ranges if junction_c <= highest)
    total = 0.0
    for coefficient in reversed(coefficients):
        total = total * junction_c + coefficient
    if kind == "K" and junction_c > 0.0:
        a0, a1, a2 = _K_TERM
        total += a0 * math.exp(a1 * (junction_c - a2) ** 2)
    return total


def junction_c(kind: str, mv: float) -> float:
    """The inverse of `emf_mv`, by halving, to a thousandth of a degree; held within the type's range."""
    low, high = _RANGES[kind][0][0], _RANGES[kind][-1][1]
    if kind == "K":
        low = -250.0  # below, the curve is almost flat
    while high - low > 0.0005:
        middle = (low + high) / 2
        if emf_mv(kind, middle) < mv:
            low = middle
        else:
            high = middle
    return (low + high) / 2
