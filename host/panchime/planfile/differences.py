"""What changed from one plan to another, in words."""

from typing import Any

from panchime.terminal.plan_table import trigger_words
from panchime_fw.plan_rules import PLAN_KEYS
from panchime_fw.units import difference_to_centi, to_centi

TEMPERATURES = ("limit", "cool_below")
MILESTONE_TEMPERATURES = ("rises_to", "falls_to", "of")
RATES = ("rate_below", "rate_above")
NAMES = {
    "heater_on_relay": "heater on the relay",
    "longest_roast_min": "longest roast",
    "longest_heating_min": "longest heating",
    "rest_min": "rest",
    "cool_below": "cool below",
    "probe_lag_s": "probe lag",
    "sound_speed": "sound speed",
    "sound_pitch": "sound pitch",
    "guide_every_s": "guide spoken every",
    "guide_band": "guide band",
}
UNITS = {
    "longest_roast_min": " min",
    "longest_heating_min": " min",
    "rest_min": " min",
    "probe_lag_s": " s",
    "guide_every_s": " s",
}
DEFAULTS: dict[str, Any] = {"unit": "C", "loads": "hot", "heater_on_relay": False}


def differences(before: dict[str, Any], after: dict[str, Any]) -> list[str]:
    """One sentence for each thing that changed, an empty list when nothing did. Both documents have no mistakes."""
    units = before.get("unit", "C"), after.get("unit", "C")
    found: list[str] = []
    for key in PLAN_KEYS:
        old, new = before.get(key, DEFAULTS.get(key)), after.get(key, DEFAULTS.get(key))
        if key == "milestone":
            found += milestone_differences(before.get(key, ()), after.get(key, ()), units)
        elif key in TEMPERATURES:
            found += temperature_difference(key, old, new, units)
        elif key == "marks":
            found += mark_differences(list(old or ()), list(new or ()))
        elif key == "guide":
            found += guide_difference(old, new, units)
        elif key == "pace":
            found += (
                [] if same(old, new) else ["pace: the beat changes" if old and new else f"pace: the beat is {gone_or_new(new)}"]
            )
        elif not same(old, new):
            found.append(f"{NAMES.get(key, key)}: {value(key, old)} becomes {value(key, new)}")
    return found


def same(old: Any, new: Any) -> bool:
    """Whether two values mean the same: 20 and 20.0 do, nothing and an empty list do."""
    return old == new or (not old and not new and not isinstance(old, (bool, int)) and not isinstance(new, (bool, int)))


def value(key: str, what: Any) -> str:
    """A value as a sentence says it."""
    if what is None:
        return "not said"
    if isinstance(what, bool):
        return "yes" if what else "no"
    if isinstance(what, str):
        return f"'{what}'"
    return f"{what:g}{UNITS.get(key, '')}" if isinstance(what, (int, float)) else str(what)


def gone_or_new(new: Any) -> str:
    """What became of a thing that only one of the two plans has."""
    return "new" if new else "gone"


def temperature_difference(key: str, old: Any, new: Any, units: tuple[str, str]) -> list[str]:
    """A temperature that is another one, whatever unit it is written in."""
    if old is None and new is None:
        return []
    words = ["not said" if one is None else f"{one:g} °{unit}" for one, unit in zip((old, new), units, strict=True)]
    if old is not None and new is not None:
        moved_centi = to_centi(new, units[1]) - to_centi(old, units[0])
        if moved_centi == 0:
            return []
        return [f"{NAMES.get(key, key)} {'rises' if moved_centi > 0 else 'falls'} from {words[0]} to {words[1]}"]
    return [f"{NAMES.get(key, key)}: {words[0]} becomes {words[1]}"]


def mark_differences(old: list[str], new: list[str]) -> list[str]:
    """Marks that came, went, or stand in another order."""
    if not old or not new:
        return [] if old == new else ["marks: " + (", ".join(new) if new else "the usual ones")]
    found = [f"the mark '{mark}' is new" for mark in new if mark not in old]
    found += [f"the mark '{mark}' is gone" for mark in old if mark not in new]
    if not found and old != new:
        found.append(f"the marks come in another order: {', '.join(new)}")
    return found


def guide_difference(old: Any, new: Any, units: tuple[str, str]) -> list[str]:
    """Whether the guide curve came, went, or changed."""
    if not old and not new:
        return []
    if not old or not new:
        return [f"the guide curve is {gone_or_new(new)}"]
    curves = [
        [(float(seconds), to_centi(degrees, unit)) for seconds, degrees in points]
        for points, unit in zip((old, new), units, strict=True)
    ]
    if curves[0] == curves[1]:
        return []
    ends = [f"{points[-1][1]:g} °{unit} after {points[-1][0]:g} s" for points, unit in zip((old, new), units, strict=True)]
    return [f"the guide curve changes: it ended at {ends[0]}, now at {ends[1]}"]


def milestone_differences(old: Any, new: Any, units: tuple[str, str]) -> list[str]:
    """Milestones that came, went, or changed, told apart by their labels."""
    before = {item["label"]: item for item in old}
    after = {item["label"]: item for item in new}
    gone = [label for label in before if label not in after]
    found = []
    for label, item in after.items():
        if label in before:
            found += changes_of(label, before[label], item, units)
            continue
        renamed = next((other for other in gone if meaning(before[other], units[0]) == meaning(item, units[1])), None)
        if renamed is not None:
            gone.remove(renamed)
            found.append(f"the milestone '{renamed}' is now called '{label}'")
        else:
            found.append(f"the milestone '{label}' is new: {trigger_words(item, units[1])}, {item['sound']}")
    return found + [f"the milestone '{label}' is gone" for label in gone]


def changes_of(label: str, old: dict[str, Any], new: dict[str, Any], units: tuple[str, str]) -> list[str]:
    """What changed in one milestone."""
    found = []
    if trigger_meaning(old, units[0]) != trigger_meaning(new, units[1]):
        found.append(
            f"'{label}' sounds at another point: {trigger_words(new, units[1])}; before: {trigger_words(old, units[0])}"
        )
    if old["sound"] != new["sound"]:
        found.append(f"'{label}' sounds as {new['sound']}; before, as {old['sound']}")
    for key, words in (("stage", "belongs to the stage"), ("waits_for", "waits for")):
        if old.get(key) != new.get(key):
            found.append(f"'{label}' {words} {new.get(key) or 'none named'}; before, {old.get(key) or 'none named'}")
    if bool(old.get("urgent")) != bool(new.get("urgent")):
        found.append(f"'{label}' is {'urgent now' if new.get('urgent') else 'no longer urgent'}")
    return found


def meaning(item: dict[str, Any], unit: str) -> dict[str, Any]:
    """A milestone without its label."""
    others = {key: item[key] for key in ("sound", "stage", "waits_for", "urgent") if key in item}
    return others | trigger_meaning(item, unit)


def trigger_meaning(item: dict[str, Any], unit: str) -> dict[str, Any]:
    """A trigger in numbers that do not depend on the unit."""
    found: dict[str, Any] = {}
    for key, what in item.items():
        if key in MILESTONE_TEMPERATURES:
            found[key] = to_centi(what, unit)
        elif key in RATES:
            found[key] = difference_to_centi(what, unit)
        elif key not in ("label", "sound", "stage", "waits_for", "urgent"):
            found[key] = what
    return found
