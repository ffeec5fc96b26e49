"""Degrees Celsius and Fahrenheit. Check values: the definition F = C x 9/5 + 32."""

from panchime_fw import units


def check_to_centi(value, unit, centi):
    assert units.to_centi(value, unit) == centi, units.to_centi(value, unit)


def check_difference(value, unit, centi):
    assert units.difference_to_centi(value, unit) == centi, units.difference_to_centi(value, unit)


def check_words(centi, unit, words):
    assert units.words(centi, unit) == words, units.words(centi, unit)


def check_decimal(centi, text):
    assert units.decimal(centi) == text, units.decimal(centi)


TABLES = {
    "temperature": (
        check_to_centi,
        [
            (0, "C", 0), (196, "C", 19600), (196.25, "C", 19625), (-12.5, "C", -1250),
            (32, "F", 0), (212, "F", 10000), (385, "F", 19611), (-40, "F", -4000), (384.5, "F", 19583),
        ],
    ),
    "difference": (check_difference, [(9, "F", 500), (10, "C", 1000), (-18, "F", -1000), (1, "F", 56)]),
    "words": (
        check_words,
        [(24500, "C", "245 C"), (19611, "F", "385 F"), (-1250, "C", "-12.5 C"), (30000, "F", "572 F"), (-50, "C", "-0.5 C")],
    ),
    "decimal": (check_decimal, [(19612, "196.12"), (5, "0.05"), (-5, "-0.05"), (-1205, "-12.05"), (0, "0.00")]),
}  # fmt: skip
