"""The language of sounds. Morse: ITU-R M.1677-1. Alarm signals that are taken: ISO 8201 and the carbon-monoxide signal."""

from panchime_fw import sound_words


def check_pattern(text, on_ms):
    tones = sound_words.compile_sound(text)
    assert [tone[1] for tone in tones] == on_ms, tones


def check_direction(text, rises):
    tones = sound_words.compile_sound(text)
    assert (tones[0][0] < tones[1][0]) == rises, tones
    higher, lower = max(tones[0][0], tones[1][0]), min(tones[0][0], tones[1][0])
    assert higher * 2 >= lower * 3, "less than a fifth apart: %d and %d Hz" % (lower, higher)


def check_band(text):
    for hz, _, _ in sound_words.compile_sound(text):
        assert 500 <= hz <= 3000, hz


def check_refused(text, words):
    try:
        sound_words.compile_sound(text)
    except ValueError as error:
        assert words in str(error), error
        return
    raise AssertionError("taken")


def check_morse(letter, signs):
    dot = sound_words.MORSE_DOT_MS
    tones = sound_words.compile_sound("morse " + letter)
    heard = "".join("-" if on == 3 * dot else "." for _, on, _ in tones)
    assert heard == signs, heard
    assert all(off == dot for _, _, off in tones[:-1]), tones


def check_speed(text, speed, on_ms):
    tones = sound_words.compile_sound(text, speed)
    assert [tone[1] for tone in tones] == on_ms, tones
    assert [tone[0] for tone in tones] == [tone[0] for tone in sound_words.compile_sound(text)]


def check_pitch(text, pitch, hz):
    tones = sound_words.compile_sound(text, 100, pitch)
    assert [tone[0] for tone in tones] == hz, tones


def check_named(name, same_as):
    assert sound_words.compile_sound(name) == sound_words.compile_sound(same_as)


ALL = [pattern + pitch for pattern in sound_words.PATTERNS for pitch in ("", " high", " middle", " low")]

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
    "speed": (check_speed, [("beeps 2", 150, [120, 120]), ("long", 60, [1500]), ("morse N", 100, [420, 140])]),
    "pitch of the plan, and of the sound before it": (
        check_pitch,
        [
            ("long", "low", [700]), ("long high", "low", [2700]), ("rising", "middle", [777, 1400]),
            ("rising", "low", [520, 936]),
            ("first crack", "low", [700, 700]), ("too slow", "", [700, 700]), ("too slow high", "", [2700, 2700]),
            ("too slow", "middle", [1400, 1400]), ("long", "", [2700]),
        ],
    ),
    "names": (
        check_named,
        sorted(sound_words.NAMED.items()) + [("first  crack low", "beeps 2 low"), ("yellow middle", "beeps 1 middle")],
    ),
}  # fmt: skip
