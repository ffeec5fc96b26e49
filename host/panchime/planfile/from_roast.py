"""A plan made from a roast that went well: cues where its marks were, and its curve as the guide."""

import tomllib
from typing import Any

from panchime.errors import PanchimeError
from panchime.journal.story import Mark, Story
from panchime.planfile.starters import STARTER_METHODS, starter
from panchime.planfile.wire import to_json, to_toml
from panchime.terminal.safe_text import safe_line
from panchime.terminal.words import in_unit
from panchime_fw.mark_names import DEFAULT_MARKS
from panchime_fw.plan import BEANS_IN, BEANS_OUT, FIRST_CRACK, JSON_BYTES_LIMIT
from panchime_fw.plan_rules import LABEL_LENGTH, MARKS_LIMIT, METHODS, NAME_LENGTH, PLAN_KEYS
from panchime_fw.units import FAHRENHEIT

# What belongs to the set-up and not to the single roast.
KEPT_KEYS = (
    "loads", "heater_on_relay", "longest_roast_min", "longest_heating_min", "rest_min", "cool_below", "probe_lag_s",
    "sound_speed", "sound_pitch",
)  # fmt: skip
USUAL_METHOD = "skillet"
AHEAD_S = 30
GUIDE_EVERY_S = 30
GUIDE_POINTS = 40
POINTS_IN_ROW = 8
# These marks sound by their own name, as in every plan; others take letters in turn, one for each mark that a plan can hold.
MARKS_WITH_A_SOUND = ("yellow", "first crack", "second crack")
OTHER_SOUNDS = tuple(f"morse {letter}" for letter in "ANUDLGKR")
# The name's own sound, lowered, would be the board's "press refused".
LATE_SOUNDS = {"yellow": "morse Y low"}


def plan_from_roast(story: Story, number: int) -> dict[str, Any]:
    """The document of a plan, in the unit of the roast's own plan; a guide where the board knows guides.

    Raises PanchimeError when the roast has no beans in, or no other mark.
    """
    beans_in = story.mark(BEANS_IN)
    if beans_in is None or len(story.marks) < 2:
        raise PanchimeError(
            f"roast {number} has too few marks for a plan: 'beans in' and another one are needed. "
            f"'panchime note {number} --mark NAME TIME' adds them"
        )
    method = story.method if story.method in METHODS else "other"
    document: dict[str, Any] = {
        "name": f"As roast {number}: {safe_line(story.plan_name)}"[:NAME_LENGTH],
        "method": method,
        "unit": story.unit,
    }
    document |= {key: story.plan[key] for key in KEPT_KEYS if key in story.plan and key in PLAN_KEYS}
    document["limit"] = story.plan["limit"] if "limit" in story.plan else usual_limit(method, story.unit)
    document["marks"] = marks_of(story)
    guide = guide_points(story, beans_in)
    if "guide" in PLAN_KEYS and len(guide) > 1:
        document["guide"] = guide
    document["milestone"] = milestones_of(story, beans_in, document["marks"], document.get("loads", "hot") == "hot")
    while "guide" in document and len(to_json(document)) > JSON_BYTES_LIMIT:
        thinned = document["guide"][::2]
        if len(thinned) < 2:
            del document["guide"]
        else:
            document["guide"] = thinned
    return document


def plan_text(document: dict[str, Any], number: int, when: str) -> str:
    """The document as a plan file, with a word on where it comes from."""
    return (
        f"# Made from roast {number} ({safe_line(when)}): the cues come where its marks were.\n"
        "# Two roasts are never the same: move the numbers to where the next one should go, and keep the limit.\n"
        f"# 'panchime plan rehearse FILE {number}' shows which cues would have sounded when.\n\n"
    ) + toml_of(document)


def toml_of(document: dict[str, Any]) -> str:
    """The document as a person would lay it out: a guide's points side by side, a table for each milestone."""
    text = to_toml({key: value for key, value in document.items() if key not in ("guide", "milestone")})
    points = [f"[{seconds:g}, {degrees:g}]" for seconds, degrees in document.get("guide", ())]
    if points:
        rows = [", ".join(points[place : place + POINTS_IN_ROW]) for place in range(0, len(points), POINTS_IN_ROW)]
        text += "# seconds since beans in, temperature\nguide = [\n    " + ",\n    ".join(rows) + ",\n]\n"
    return text + "".join(f"\n[[milestone]]\n{to_toml(item)}" for item in document["milestone"])


def usual_limit(method: str, unit: str) -> float:
    """The limit that the method's starter has."""
    document = tomllib.loads(starter(method if method in STARTER_METHODS else USUAL_METHOD))
    limit_c = document["limit"]
    return round(limit_c * 9 / 5 + 32) if unit == FAHRENHEIT else float(limit_c)


def marks_of(story: Story) -> list[str]:
    """The plan's marks, and those that a person added put between their neighbours in time, as many as a plan holds."""
    planned = story.plan.get("marks", DEFAULT_MARKS)
    marks = [mark for mark in planned if isinstance(mark, str)] if isinstance(planned, (list, tuple)) else list(DEFAULT_MARKS)
    for mark in story.marks:
        if mark.name in marks or len(marks) >= MARKS_LIMIT or len(mark.name) > LABEL_LENGTH:
            continue
        earlier = [marks.index(other.name) for other in story.marks if other.t_ms <= mark.t_ms and other.name in marks]
        place = max(earlier, default=0) + 1
        marks.insert(min(place, len(marks) - 1), mark.name)
    return marks


def milestones_of(story: Story, beans_in: Mark, marks: list[str], loads_hot: bool) -> list[dict[str, Any]]:
    """A cue at the temperature of each mark, and a few by time, lower in pitch, for when the curve runs late."""
    found: list[dict[str, Any]] = []
    if loads_hot and beans_in.temperature_centi is not None:
        at = shown(beans_in.temperature_centi, story.unit)
        found.append({"label": "Load now", "rises_to": at, "stage": "preheat", "sound": "load now"})
    between = [mark for mark in story.marks if mark.name in marks and mark.name not in (BEANS_IN, BEANS_OUT)]
    others = iter(OTHER_SOUNDS)
    for mark in between:
        sound = mark.name if mark.name in MARKS_WITH_A_SOUND else next(others)
        title = mark.name[:1].upper() + mark.name[1:]
        if mark.temperature_centi is not None:
            at = shown(mark.temperature_centi, story.unit)
            if mark.name == FIRST_CRACK:
                found.append({"label": "First crack near", "ahead_s": AHEAD_S, "of": at, "sound": "first crack soon"})
            found.append({"label": title[:LABEL_LENGTH], "rises_to": at, "sound": sound})
        if mark.t_ms > beans_in.t_ms:
            found.append(by_time(f"{title} by now", mark, beans_in, LATE_SOUNDS.get(sound, f"{sound} low")))
    beans_out = story.mark(BEANS_OUT)
    if beans_out is None:
        return found
    if beans_out.temperature_centi is not None:
        at = shown(beans_out.temperature_centi, story.unit)
        found.append({"label": "Take it out", "rises_to": at, "sound": "take it out"})
    since = story.mark(FIRST_CRACK) if FIRST_CRACK in marks else None
    if beans_out.t_ms > (since or beans_in).t_ms:
        found.append(by_time("Take it out by now", beans_out, since or beans_in, "take it out low"))
    return found


def by_time(label: str, mark: Mark, since: Mark, sound: str) -> dict[str, Any]:
    """A cue as long after a mark as it was in the roast."""
    after_s = round((mark.t_ms - since.t_ms) / 1000)
    return {"label": label[:LABEL_LENGTH], "after_s": after_s, "since": since.name, "sound": sound}


def guide_points(story: Story, beans_in: Mark) -> list[list[float]]:
    """The curve from the turning to beans out: (seconds since beans in, temperature), at most as many as a plan holds."""
    turning_ms, beans_out = story.turning_ms, story.mark(BEANS_OUT)
    if turning_ms is None:
        return []
    end_ms = beans_out.t_ms if beans_out else story.end_ms
    step_ms = max(GUIDE_EVERY_S * 1000, -(-(end_ms - turning_ms) // (GUIDE_POINTS - 1)))
    points: list[list[float]] = []
    for t_ms in range(turning_ms, end_ms + 1, step_ms):
        centi = story.temperature_at(t_ms)
        if centi is not None:
            points.append([round((t_ms - beans_in.t_ms) / 1000), shown(centi, story.unit)])
    return points


def shown(centi: int, unit: str) -> float:
    """A temperature as a plan writes it: whole degrees, since no two set-ups agree better."""
    return round(in_unit(centi, unit))
