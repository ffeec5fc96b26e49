"""Uptime, the light and the ring of events."""

from panchime_fw import light, stages, uptime
from panchime_fw.event_ring import LIMIT, EventRing


def check_uptime(start_ms, step_ms, steps):
    counted = uptime.Uptime(start_ms)
    for index in range(1, steps + 1):
        counted.step((start_ms + index * step_ms) & 0x3FFFFFFF)
    assert counted.ms() == step_ms * steps, counted.ms()


def check_light(stage, tone_on, changes):
    """How often the light goes on in four seconds, and that it is neither always on nor always off where it blinks."""
    levels = [light.level(stage, now_ms, tone_on) for now_ms in range(0, 4000, 5)]
    rises = sum(1 for before, after in zip(levels, levels[1:]) if after and not before)
    assert rises == changes, rises


def check_colour(stage, tone_on, refused, colours):
    """The colours that show in four seconds. One light and three say the same: dark together, but for the tone in a trip."""
    found = set()
    for now_ms in range(0, 4000, 5):
        colour = light.colour(stage, now_ms, tone_on, refused)
        assert (colour != light.DARK) == light.level(stage, now_ms, tone_on), (stage, now_ms)
        found.add(colour)
    assert found == colours, found


def check_ring(count, oldest):
    ring = EventRing()
    for number in range(1, count + 1):
        ring.add(number * 10, 3, number % 7, 0, 0)
    assert ring.last == count
    assert ring.oldest() == oldest, ring.oldest()
    for number in range(ring.oldest(), count + 1):
        assert ring.get(number) == (number * 10, 3, number % 7, 0, 0)


TABLES = {
    "uptime": (
        check_uptime, [(0, 250, 40), ((1 << 30) - 1000, 250, 40), (5, 1, 3000), (0, 86400000, 60), (7, 333333, 5000)],
    ),
    "light": (
        check_light,
        [
            (stages.IDLE, False, 1), (stages.PREHEAT, False, 3), (stages.ROASTING, False, 4), (stages.COOLING, False, 3),
            (stages.TRIPPED, False, 15), (stages.TRIPPED, True, 15), (stages.ROASTING, True, 0),
        ],
    ),
    "colours": (
        check_colour,
        [
            (stages.PREHEAT, False, False, {light.DARK, light.BLUE}),
            (stages.ROASTING, False, False, {light.DARK, light.YELLOW}),
            (stages.COOLING, False, False, {light.DARK, light.CYAN}), (stages.IDLE, False, False, {light.DARK, light.WHITE}),
            (stages.TRIPPED, False, False, {light.DARK, light.RED}), (stages.TRIPPED, True, True, {light.DARK, light.RED}),
            (stages.ROASTING, True, False, {light.WHITE}), (stages.ROASTING, True, True, {light.MAGENTA}),
        ],
    ),
    "ring of events": (check_ring, [(0, 1), (1, 1), (LIMIT, 1), (LIMIT + 1, 2), (LIMIT * 3 + 5, LIMIT * 2 + 6)]),
}  # fmt: skip
