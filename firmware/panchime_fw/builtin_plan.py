"""The plan that works out of the box, before any was ever sent: hand roasting over a flame, nothing on the relay.

Temperatures are starting values: what a bean probe shows differs by about 10 degC between set-ups (common practice).
"""

import json

DOCUMENT = {
    "name": "Built-in: by hand, to City",
    "method": "skillet",
    "unit": "C",
    "loads": "hot",
    "heater_on_relay": False,
    "limit": 245,  # the dark end of what is drinkable, 245 to 250 degC, is where chaff begins to char
    "longest_roast_min": 25,
    "cool_below": 40,
    "marks": ["beans in", "yellow", "first crack", "beans out"],
    "milestone": [
        # Over an empty pan the tip hangs in air and the metal is hotter than this: a small flame until the beans are in.
        {"label": "Load now", "rises_to": 200, "stage": "preheat", "sound": "load now"},
        {"label": "Yellow soon", "rises_to": 150, "sound": "yellow"},
        {"label": "First crack near", "ahead_s": 20, "of": 196, "sound": "first crack soon"},
        {"label": "First crack", "rises_to": 196, "sound": "first crack"},
        {"label": "City: take it out", "rises_to": 216, "sound": "take it out"},
        {"label": "Second crack near", "rises_to": 220, "sound": "second crack soon"},
        {"label": "Development 20 %", "development_share": 20, "sound": "development"},
    ],
}


def text() -> str:
    """The plan as JSON, as one that was sent is kept."""
    return json.dumps(DOCUMENT)
