"""At which temperature water boils, by air pressure or altitude."""

import math

# ICAO standard atmosphere (Doc 7488), troposphere: Pa and K at sea level, lapse rate in K/m, exponent.
SEA_LEVEL_PA = 101_325.0
SEA_LEVEL_K = 288.15
LAPSE_K_PER_M = 0.0065
EXPONENT = 5.2559
# From the Dead Sea to above every village; the equations go further.
ALTITUDE_M = (-450.0, 5500.0)
PRESSURE_HPA = (480.0, 1090.0)
# The weather moves the pressure by this much to either side of the standard atmosphere, in most places (from memory).
WEATHER_HPA = 25.0

# IAPWS R7-97(2012), Industrial Formulation 1997, table 34: region 4, the saturation line.
N = (
    0.11670521452767e4,
    -0.72421316703206e6,
    -0.17073846940092e2,
    0.12020824702470e5,
    -0.32325550322333e7,
    0.14915108613530e2,
    -0.48232657361591e4,
    0.40511340542057e6,
    -0.23855557567849,
    0.65017534844798e3,
)


def pressure_hpa(altitude_m: float) -> float:
    """The standard atmosphere's pressure in hPa at an altitude in m, up to 11 km (ICAO Doc 7488)."""
    return SEA_LEVEL_PA * math.pow(1.0 - LAPSE_K_PER_M * altitude_m / SEA_LEVEL_K, EXPONENT) / 100.0


def boiling_c(hpa: float) -> float:
    """The temperature in degC at which pure water boils at a pressure in hPa.

    IAPWS R7-97, equation 31, good from 6.11 hPa to 22.064 MPa.
    """
    n1, n2, n3, n4, n5, n6, n7, n8, n9, n10 = N
    beta = math.pow(hpa / 10_000.0, 0.25)
    e = beta * beta + n3 * beta + n6
    f = n1 * beta * beta + n4 * beta + n7
    g = n2 * beta * beta + n5 * beta + n8
    d = 2.0 * g / (-f - math.sqrt(f * f - 4.0 * e * g))
    total = n10 + d
    kelvin = (total - math.sqrt(total * total - 4.0 * (n9 + n10 * d))) / 2.0
    return kelvin - 273.15
