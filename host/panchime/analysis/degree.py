"""The roast degree that the end temperature suggests, how far it can be trusted, and whether the weight loss agrees.

What a probe shows varies by about 10 degC between set-ups. Where first crack was marked that drops out: what counts then is
how far beyond it the beans were taken, and only the spread of first crack itself is left (196 to 207 degC between sources).
"""

from dataclasses import dataclass

PROBE_SPREAD_C = 10.0
FIRST_CRACK_C = (196.0, 207.0)


@dataclass(frozen=True)
class Degree:
    """A roast degree: it begins at so many degC, and is usually called light, medium or dark."""

    name: str
    from_c: float
    group: str


# Begin temperatures as printed for home roasters: light end 195, City 213, second crack and Full City 224, then 230, 240,
# 245, 250. Each degree reaches to the next. The groups are common practice, no source.
DEGREES = (
    Degree("light", 195.0, "light"),
    Degree("City", 213.0, "medium"),
    Degree("Full City", 224.0, "medium"),
    Degree("Vienna", 230.0, "dark"),
    Degree("French", 240.0, "dark"),
    Degree("Italian", 245.0, "dark"),
    Degree("Spanish", 250.0, "dark"),
)
NOT_YET = Degree("not yet a light roast", float("-inf"), "under light")
FULL_CITY = DEGREES[2]

GROUPS = ("under light", "light", "medium", "dark", "beyond dark")
# Weight loss in percent, lower end and upper end; from memory, in line with common practice.
LOSS_PERCENT = {"light": (11.0, 13.0), "medium": (13.0, 16.0), "dark": (16.0, 20.0)}


@dataclass(frozen=True)
class DegreeEstimate:
    """The degree at the end temperature taken as it is, and the lightest and darkest that it may have been.

    ``low_c`` and ``high_c``: the end temperature may have been from the one to the other on the scale of the names.
    ``by_first_crack``: the range was counted from the person's own first crack. ``by_second_crack``: second crack was
    heard, so it is Full City at least.
    """

    end_c: float
    likely: Degree
    lightest: Degree
    darkest: Degree
    low_c: float
    high_c: float
    by_first_crack: bool
    by_second_crack: bool


def degree_at(temperature_c: float) -> Degree:
    """The degree whose range holds a temperature."""
    return next((degree for degree in reversed(DEGREES) if temperature_c >= degree.from_c), NOT_YET)


def estimate_degree(end_c: float, first_crack_c: float | None, second_crack_heard: bool) -> DegreeEstimate:
    """The degree by the end temperature in degC; ``first_crack_c`` is the reading at first crack when it was marked."""
    if first_crack_c is None:
        low_c, high_c, middle_c = end_c - PROBE_SPREAD_C, end_c + PROBE_SPREAD_C, end_c
    else:
        beyond = end_c - first_crack_c
        low_c, high_c = FIRST_CRACK_C[0] + beyond, FIRST_CRACK_C[1] + beyond
        middle_c = min(max(end_c, low_c), high_c)
    if second_crack_heard:
        low_c, middle_c, high_c = (max(value, FULL_CITY.from_c) for value in (low_c, middle_c, high_c))
    return DegreeEstimate(
        end_c,
        degree_at(middle_c),
        degree_at(low_c),
        degree_at(high_c),
        low_c,
        high_c,
        first_crack_c is not None,
        second_crack_heard,
    )


def groups_of_loss(loss: float) -> tuple[str, ...]:
    """The groups (light, medium, dark) whose usual range holds a loss, or what lies outside them all."""
    percent = loss * 100.0
    found = tuple(group for group, (low, high) in LOSS_PERCENT.items() if low <= percent <= high)
    if found:
        return found
    return ("under light",) if percent < LOSS_PERCENT["light"][0] else ("beyond dark",)


def loss_against_degree(loss: float, estimate: DegreeEstimate) -> int:
    """0 when loss and end temperature agree, -1 when the loss says lighter, +1 when it says darker."""
    by_loss = [GROUPS.index(group) for group in groups_of_loss(loss)]
    lightest, darkest = GROUPS.index(estimate.lightest.group), GROUPS.index(estimate.darkest.group)
    if max(by_loss) < lightest:
        return -1
    return 1 if min(by_loss) > darkest else 0
