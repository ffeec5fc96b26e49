"""The language of sounds. Morse: ITU-R M.1677-1. Alarm signals that are taken: ISO 8201 and the carbon-monoxide signal."""

from panchime_fw import sounds


def check_pattern(text, on_ms):
    tones = sounds.compile_sound(text)
    assert [tone[1] for tone in tones] == on_ms, tones


def check_direction(text, rises):
    tones = sounds.compile_sound(text)
    assert (tones[0][0] < tones[1][0]) == rises, tones
    higher, lower = max(tones[0][0], tones[1][0]), min(tones[0][0], tones[1][0])
    assert higher * 2 >= lower * 3, "less than a fifth apart: %d and %d Hz" % (lower, higher)


def check_band(text):
    for hz, _, _ in sounds.compile_sound(text):
        assert 500 <= hz <= 3000, hz


def check_refused(text, words):
    try:
        sounds.compile_sound(text)
    except ValueError as error:
        assert words in str(error), error
        return
    raise AssertionError("taken")


def check_morse(letter, signs):
    dot = sounds.MORSE_DOT_MS
    tones = sounds.compile_sound("morse " + letter)
    heard = "".join("-" if on == 3 * dot else "." for _, on, _ in tones)
    assert heard == signs, heard
    assert all(off == dot for _, _, off in tones[:-1]), tones


def check_no_life_safety_signal(tones):
    on = [tone[1] for tone in tones]
    off = [tone[2] for tone in tones]
    fire = len(on) == 3 and all(450 <= ms <= 550 for ms in on + off[:-1])
    monoxide = len(on) == 4 and all(90 <= ms <= 110 for ms in on + off[:-1])
    assert not fire and not monoxide, tones


ALL = [pattern + pitch for pattern in sounds.PATTERNS for pitch in ("", " high", " middle", " low")]
OWN = [
    sounds.TAKEN, sounds.TAKEN_BACK, sounds.REFUSED, sounds.FOUND, sounds.STARTED, sounds.STOPPED, sounds.COOL,
    sounds.ALARM, sounds.ALARM_WELDED, sounds.REMINDER,
]

TABLES = {
    "patterns": (
        check_pattern,
        [
            ("beeps 1", [180]), ("beeps 3 low", [180, 180, 180]), ("long", [900]), ("rising", [260, 260]),
            ("falling twice high", [260] * 4), ("morse C", [420, 140, 420, 140]), ("  beeps   2  high ", [180, 180]),
        ],
    ),
    "direction": (
        check_direction,
        [("rising", True), ("falling", False), ("rising low", True), ("falling low", False), ("rising twice middle", True)],
    ),
    "between 500 and 3000 Hz (MIL-STD-1472E 5.3)": (check_band, [(text,) for text in ALL]),
    "refused": (
        check_refused,
        [
            ("", "not known"), ("high", "not known"), ("beeps", "not known"), ("beeps 4", "not known"),
            ("beeps two", "not known"), ("rising thrice", "not known"), ("morse", "not known"),
            ("morse ABCD", "1 to 3 letters"), ("morse ?", "has no Morse sign"), ("BEEPS 1", "not known"),
        ],
    ),
    "Morse, ITU-R M.1677-1": (
        check_morse, [("C", "-.-."), ("Y", "-.--"), ("F", "..-."), ("O", "---"), ("e", "."), ("5", "....."), ("Q", "--.-")],
    ),
    "no fire and no carbon-monoxide signal": (
        check_no_life_safety_signal, [(sounds.compile_sound(text),) for text in ALL] + [(tones,) for tones in OWN],
    ),
}  # fmt: skip
