"""The language of sounds: a few words in a plan become tones in time.

    <pattern or name> [high | middle | low]
    pattern:  beeps 1 | beeps 2 | beeps 3 | long | rising | falling | rising twice | falling twice | morse <letters>
    name:     the usual milestones, NAMED below: "first crack" is a pattern that people need not choose themselves

A plan may set how fast all its sounds are and which pitch they have where they name none: nobody tells two sounds apart by
their speed, so speed is never a word of one sound.

A tone is (hz, on_ms, off_ms); hz 0 is silence. Everything lies between 500 and 3000 Hz, where a sound carries over noise
(MIL-STD-1472E 5.3), and nothing may copy a fire or carbon-monoxide signal: life_safety.py. Hence no
"beeps 4".
"""

HIGH_HZ = 2700  # about where common piezos are loudest (from memory: many resonate near 2.7 kHz)
MIDDLE_HZ = 1400
LOW_HZ = 700
# The lower note of a low pair. 520 Hz is what wakes people with hearing loss best (studies of smoke alarms).
LOWEST_HZ = 520
PITCHES = {"high": HIGH_HZ, "middle": MIDDLE_HZ, "low": LOW_HZ}

BEEP_ON_MS = 180
BEEP_OFF_MS = 140
LONG_ON_MS = 900
PAIR_ON_MS = 260
PAIR_OFF_MS = 40
TWICE_GAP_MS = 220
# ITU-R M.1677-1: a dash is three dots, the gap inside a letter one dot, between letters three.
MORSE_DOT_MS = 140
MORSE_LETTERS_LIMIT = 3

USUAL_SPEED = 100  # hundredths

PATTERNS = ("beeps 1", "beeps 2", "beeps 3", "long", "rising", "falling", "rising twice", "falling twice", "morse C")

# ITU-R M.1677-1 section 1.1, letters and figures.
MORSE = (
    "A.- B-... C-.-. D-.. E. F..-. G--. H.... I.. J.--- K-.- L.-.. M-- N-. O--- P.--. Q--.- R.-. S... T- U..- V...- W.-- X-..- "
    "Y-.-- Z--.. 0----- 1.---- 2..--- 3...-- 4....- 5..... 6-.... 7--... 8---.. 9----. "
)

# What the usual milestones sound like when nobody wants to choose. Any two of them are far apart: sound_distance.py.
NAMED = {
    "load now": "rising twice",
    "yellow": "beeps 1",
    "first crack soon": "morse C",
    "first crack": "beeps 2",
    "second crack soon": "long",
    "second crack": "beeps 3",
    "development": "morse W",
    "take it out": "rising",
    "too fast": "falling twice",
    "too slow": "morse M low",
    "cool enough": "falling",
}


def compile_sound(text: str, speed: int = USUAL_SPEED, pitch: str = "") -> tuple:
    """Tones of a sound written in words: a tuple of (hz, on_ms, off_ms). Raises ValueError with a sentence.

    speed: hundredths of the usual speed. pitch: high, middle or low for a sound that names none; "" leaves its own.
    """
    words = text.split()
    hz = None
    if words and words[-1] in PITCHES:
        hz = PITCHES[words.pop()]
    pattern = " ".join(words)
    if pattern in NAMED:
        words = NAMED[pattern].split()
        if words[-1] in PITCHES:
            own = words.pop()
            pitch = pitch or own
        pattern = " ".join(words)
    if hz is None and pitch:
        hz = PITCHES[pitch]
    tones = _tones(text, pattern, words, hz)
    if speed == USUAL_SPEED:
        return tones
    return tuple([(hz, on_ms * 100 // speed, off_ms * 100 // speed) for hz, on_ms, off_ms in tones])


def _tones(text: str, pattern: str, words, hz) -> tuple:
    if pattern in ("beeps 1", "beeps 2", "beeps 3"):
        return ((hz or HIGH_HZ, BEEP_ON_MS, BEEP_OFF_MS),) * int(words[1])
    if pattern == "long":
        return ((hz or HIGH_HZ, LONG_ON_MS, BEEP_OFF_MS),)
    if words and words[0] in ("rising", "falling") and (len(words) == 1 or words[1:] == ["twice"]):
        return _pair(words[0] == "rising", hz, len(words) == 2)
    if len(words) == 2 and words[0] == "morse":
        return _morse(words[1], hz or HIGH_HZ)
    raise ValueError("sound '%s' is not known; write one of: %s; or a name: %s; with high, middle or low after it" % (
        text, ", ".join(PATTERNS), ", ".join(sorted(NAMED))))


def _pair(rises: bool, hz, twice: bool) -> tuple:
    # A pair keeps a ratio of about three to two or more, so that even a poor piezo makes the step clear.
    top = hz or HIGH_HZ
    bottom = top * 5 // 9
    if bottom < LOWEST_HZ:
        bottom, top = LOWEST_HZ, LOWEST_HZ * 9 // 5
    first, second = (bottom, top) if rises else (top, bottom)
    pair = ((first, PAIR_ON_MS, PAIR_OFF_MS), (second, PAIR_ON_MS, TWICE_GAP_MS))
    return pair + pair if twice else pair


def _morse(letters: str, hz: int) -> tuple:
    if not 1 <= len(letters) <= MORSE_LETTERS_LIMIT:
        raise ValueError("sound 'morse %s' must have 1 to %d letters" % (letters, MORSE_LETTERS_LIMIT))
    tones = []
    for letter in letters.upper():
        at = MORSE.find(letter)
        if at < 0 or letter in ".- ":
            raise ValueError("sound 'morse %s': '%s' has no Morse sign here; use A to Z and 0 to 9" % (letters, letter))
        signs = MORSE[at + 1 : MORSE.find(" ", at)]
        for index, sign in enumerate(signs):
            on_ms = 3 * MORSE_DOT_MS if sign == "-" else MORSE_DOT_MS
            off_ms = 3 * MORSE_DOT_MS if index == len(signs) - 1 else MORSE_DOT_MS
            tones.append((hz, on_ms, off_ms))
    return tuple(tones)
