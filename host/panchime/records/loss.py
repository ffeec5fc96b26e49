"""Whether a loss of weight is what roasting does.

From light to dark beans lose 11 to 20 %: light 11 to 13, medium 13 to 16, dark 16 to 20 (from memory); about 5 % is gone at
first crack and 13 % by 220 degC (published ranges). Beans that were spilled and chaff that was not weighed count as loss.
"""

FIRST_CRACK_LOSS = 0.05
LIGHT_LOSS = 0.11
MEDIUM_LOSS = 0.13
DARK_LOSS = 0.16
MOST_LOSS = 0.20
IMPLAUSIBLE_LOSS = 0.30


def is_plausible(loss: float) -> bool:
    """Whether a roast that reached first crack can lose this part of its weight."""
    return FIRST_CRACK_LOSS <= loss <= MOST_LOSS


def loss_words(loss: float) -> str:
    """What a loss says, in one sentence."""
    if loss < 0:
        return "more roasted than green: the two weights are swapped, or one is mistyped"
    if loss < FIRST_CRACK_LOSS:
        return "less than beans lose by first crack (about 5 %): hardly roasted, or a weight is mistyped"
    if loss < LIGHT_LOSS:
        return "less than a light roast usually loses (11 to 13 %): a very light roast, or very dry beans"
    if loss < MEDIUM_LOSS:
        return "plausible: a light roast usually loses 11 to 13 %"
    if loss < DARK_LOSS:
        return "plausible: a medium roast usually loses 13 to 16 %"
    if loss <= MOST_LOSS:
        return "plausible: a dark roast usually loses 16 to 20 %"
    if loss <= IMPLAUSIBLE_LOSS:
        return "more than any degree usually loses (20 %): very dark, very moist beans, or beans were spilled"
    return "no roast loses so much: a weight is mistyped, or beans are missing"
