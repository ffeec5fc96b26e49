"""Writes the tables in docs/sounds.md from the firmware's own sounds. `--check` only says whether they are right.

The table of forecasts is measured over 500 virtual roasts, which takes minutes: `--forecast` measures it anew.
"""

import itertools
import sys
from pathlib import Path

from panchime.measure.forecast_error import ROASTS, table
from panchime_fw import life_safety, sound_meanings, sound_words
from panchime_fw.sound_distance import TOLD_APART, distance

PAGE = Path(__file__).parent.parent / "docs" / "sounds.md"

PLAIN = {pattern: sound_words.compile_sound(pattern) for pattern in sound_words.PATTERNS}
PITCHED = {text: sound_words.compile_sound(text) for text in (f"{one} {pitch}" for one in PLAIN for pitch in ("middle", "low"))}
SAID = {meaning: tones for meaning, tones, _ in sound_meanings.OWN}


def tones_in_words(tones: tuple[tuple[int, int, int], ...]) -> str:
    return ", ".join(f"{hz} Hz {on_ms}" for hz, on_ms, _ in tones)


def length_ms(tones: tuple[tuple[int, int, int], ...]) -> int:
    return sum(on_ms + off_ms for _, on_ms, off_ms in tones) - tones[-1][2]


def sound_table() -> str:
    rows = [f"| {name} | {tones_in_words(tones)} | {length_ms(tones)} |\n" for name, tones in PLAIN.items()]
    return "| written | tones (ms) | length ms |\n| --- | --- | --- |\n" + "".join(rows)


def name_table() -> str:
    rows = [f"| {name} | {written} |\n" for name, written in sound_words.NAMED.items()]
    return "| name | sounds as |\n| --- | --- |\n" + "".join(rows)


def own_table() -> str:
    rows = []
    for meaning, tones, repeats in sound_meanings.OWN:
        signal = life_safety.resembles(tones, repeats)
        if signal:
            raise SystemExit(f"the board's own '{meaning}' could be taken for {signal}")
        again = "until acknowledged" if repeats else ""
        rows.append(f"| {meaning} | {tones_in_words(tones)} | {length_ms(tones)} | {again} |\n")
    return "| meaning | tones (ms) | length ms | repeats |\n| --- | --- | --- | --- |\n" + "".join(rows)


def confusion_table() -> str:
    """The distances between the plain patterns, and every pair of all sounds that is too near."""
    names = list(PLAIN)
    head = "| | " + " | ".join(names) + " |\n" + "| --- " * (len(names) + 1) + "|\n"
    rows = "".join(
        f"| {name} | " + " | ".join(f"{distance(PLAIN[name], PLAIN[other]):.1f}" for other in names) + " |\n" for name in names
    )
    everything = PLAIN | PITCHED | SAID
    near = sorted(
        (round(distance(everything[first], everything[second]), 2), first, second)
        for first, second in itertools.combinations(everything, 2)
        if distance(everything[first], everything[second]) < TOLD_APART
    )
    pairs = "".join(f"| {first} | {second} | {apart:.2f} |\n" for apart, first, second in near)
    said = f"\nNearer than {TOLD_APART}, among all patterns in all pitches and what the board says by itself:\n\n"
    return head + rows + said + "| one | other | distance |\n| --- | --- | --- |\n" + pairs


def rebuilt(page: str, name: str, made: str) -> str:
    begin = f"<!-- {name}: made by tools/build_sound_pages.py -->\n"
    end = f"<!-- end of {name} -->\n"
    before, rest = page.split(begin)
    return before + begin + made + end + rest.split(end)[1]


def main() -> int:
    page = PAGE.read_text(encoding="utf-8")
    made = page
    for name, make in (("sounds", sound_table), ("names", name_table), ("own", own_table), ("confusion", confusion_table)):
        made = rebuilt(made, name, make())
    if "--forecast" in sys.argv[1:]:
        made = rebuilt(made, "forecast", table(ROASTS))
    if "--check" not in sys.argv[1:]:
        PAGE.write_text(made, encoding="utf-8")
    elif page != made:
        print("docs/sounds.md is not as the firmware has it; run: python tools/build_sound_pages.py")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
