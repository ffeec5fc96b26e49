"""Writes the tables in docs/scpi.md and docs/plan.md from the firmware's own; `--check` only says if they are right."""

import sys
from collections.abc import Callable
from pathlib import Path

from panchime_fw import plan_rules as rules
from panchime_fw import sound_words, stages
from panchime_fw.scpi import commands
from panchime_fw.units import words

DOCS = Path(__file__).parent.parent / "docs"
TYPES = {
    "i": "whole number", "n": "number", "b": "ON or OFF", "s": "string", "w": "word", "k": "block",
}  # fmt: skip


def parameters_in_words(types: str) -> str:
    parts = []
    at = 0
    while at < len(types):
        optional = types[at + 1 : at + 2] == "?"
        parts.append(f"[{TYPES[types[at]]}]" if optional else TYPES[types[at]])
        at += 2 if optional else 1
    return ", ".join(parts)


def command_table() -> str:
    """One row a command; a query whose command is described above it needs no words of its own."""
    rows = [
        f"| `{pattern}` | {parameters_in_words(types)} | {help_text} |\n" for pattern, _, types, help_text in commands.TABLE
    ]
    return "| header | parameters | what it does |\n| --- | --- | --- |\n" + "".join(rows)


def rule_table() -> str:
    span = "{} to {}".format
    limits = {
        "name": f"text, at most {rules.NAME_LENGTH} characters",
        "method": ", ".join(rules.METHODS),
        "unit": '"C" or "F": the unit of every temperature and rate in the file',
        "loads": "hot: the beans go into a hot vessel; cold: they are in from the start",
        "heater_on_relay": "true when the relay switches the heater",
        "limit": "temperature at which the relay opens and the alarm sounds, "
        + span(words(rules.LIMIT_FLOOR_CENTI, "C"), words(rules.LIMIT_CEILING_CENTI, "C")),
        "longest_roast_min": "minutes, " + span(*rules.LONGEST_ROAST_MIN) + ", from beans in; as long at most to preheat",
        "longest_heating_min": "minutes, "
        + span(*rules.LONGEST_HEATING_MIN)
        + ": the longest the appliance may heat in one go",
        "rest_min": "minutes, " + span(*rules.REST_MIN) + ": the rest it needs before the next batch",
        "cool_below": "temperature at which the beans are cool and the record ends, "
        + span(words(rules.COOL_BELOW_CENTI[0], "C"), words(rules.COOL_BELOW_CENTI[1], "C")),
        "marks": f"what each press means, in order: 2 to {rules.MARKS_LIMIT}, the first 'beans in', the last 'beans out'",
        "note": f"text for yourself, at most {rules.NOTE_LENGTH} characters",
        "milestone": f"at most {rules.MILESTONES_LIMIT} tables, each begun with `[[milestone]]`",
        "sound_speed": f"{rules.SOUND_SPEED[0]:g} to {rules.SOUND_SPEED[1]:g}: how fast all sounds of the plan are; 1 is usual",
        "sound_pitch": ", ".join(sound_words.PITCHES) + ": the pitch of every sound that names none",
        "guide": "a list of [seconds from beans in, temperature], times rising: the curve to follow; points: "
        + span(*rules.GUIDE_POINTS),
        "guide_every_s": "seconds, " + span(*rules.GUIDE_EVERY_S) + ": how often the board says where the roast is going; "
        "without it only on ROASt:GUIDe?",
        "guide_band": "degrees within which the guide is silent, "
        + span(rules.GUIDE_BAND_CENTI[0] // 100, rules.GUIDE_BAND_CENTI[1] // 100)
        + f" C; {rules.DEFAULT_GUIDE_BAND_CENTI // 100} C if not said",
        "pace": "tables begun with `[[pace]]`, each a `stage` and `every_s` ("
        + "{:g} to {:g}".format(*rules.PACE_EVERY_S)
        + "): a soft click to stir or crank by, one beat a stage",
        "probe_lag_s": "seconds; the probe's time constant, when milestones are to go by the lag-compensated temperature",
    }
    triggers = {
        "rises_to": "the temperature has risen to this",
        "falls_to": "the temperature has fallen to this",
        "after_s": "so many seconds, " + span(*rules.AFTER_S) + ', after `since`: a mark, or "start"',
        "rate_below": "rate of rise at or below this many degrees a minute for `for_s` seconds, " + span(*rules.FOR_S),
        "rate_above": "rate of rise at or above this for `for_s` seconds",
        "development_share": "percent, " + span(*rules.SHARE_PERCENT) + ": time since first crack as a share of the roast",
        "ahead_s": "so many seconds, " + span(*rules.AHEAD_S) + ", before the temperature `of` is reached at the present rate",
    }
    others = {
        "label": f"what the log and the screen call it, at most {rules.LABEL_LENGTH} characters",
        "sound": ", ".join(sound_words.PATTERNS)
        + "; or a name: "
        + ", ".join(sound_words.NAMED)
        + "; with high, middle or low after it",
        "urgent": "true: it passes other milestones that wait to sound",
        "stage": ", ".join(stages.MILESTONE_STAGES),
        "waits_for": "the mark it waits for",
    }
    missing = set(rules.PLAN_KEYS) - set(limits) | set(rules.TRIGGERS) - set(triggers)
    if missing:
        raise SystemExit(f"tools/build_reference.py has no words for: {', '.join(sorted(missing))}")
    required = dict.fromkeys(rules.REQUIRED, " (needed)")
    return (
        "| key of the plan | what it is |\n| --- | --- |\n"
        + "".join(f"| `{key}`{required.get(key, '')} | {limits[key]} |\n" for key in rules.PLAN_KEYS)
        + "\nA milestone has a `label`, a `sound`, exactly one trigger, and at most a stage or a mark that it waits for.\n\n"
        + "| trigger | due when |\n| --- | --- |\n"
        + "".join(f"| `{key}` | {text} |\n" for key, text in triggers.items())
        + "\n| other key | what it is |\n| --- | --- |\n"
        + "".join(f"| `{key}` | {text} |\n" for key, text in others.items())
    )


def rebuilt(page: str, name: str, table: str) -> str:
    begin = next(line for line in page.splitlines(keepends=True) if line.startswith(f"<!-- {name}: made from"))
    before, rest = page.split(begin)
    end = f"<!-- end of {name} -->\n"
    return before + begin + table + end + rest.split(end)[1]


PAGES: tuple[tuple[str, str, Callable[[], str]], ...] = (
    ("scpi.md", "commands", command_table),
    ("plan.md", "rules", rule_table),
)


def main() -> int:
    wrong = []
    for file_name, name, make in PAGES:
        path = DOCS / file_name
        page = path.read_text(encoding="utf-8")
        made = rebuilt(page, name, make())
        if page != made:
            wrong.append(file_name)
            if "--check" not in sys.argv[1:]:
                path.write_text(made, encoding="utf-8")
    if "--check" in sys.argv[1:] and wrong:
        print("not as the firmware has it: " + ", ".join(wrong) + "; run: python tools/build_reference.py")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
