"""The language of sounds: a few words in a plan become tones in time.

    <pattern> [high | middle | low]
    pattern:  beeps 1 | beeps 2 | beeps 3 | long | rising | falling | rising twice | falling twice | morse <letters>

A tone is (hz, on_ms, off_ms); hz 0 is silence. Everything lies between 500 and 3000 Hz, where a sound carries over noise
(MIL-STD-1472E 5.3), and nothing copies the fire signal (ISO 8201: three pulses of 0.5 s) or the carbon-monoxide signal (four
pulses of 0.1 s).
"""

HIGH_HZ = 2700  # about where common piezos are loudest (from memory: many resonate near 2.7 kHz)
MIDDLE_HZ = 1400
LOW_HZ = 700
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

PATTERNS = ("beeps 1", "beeps 2", "beeps 3", "long", "rising", "falling", "rising twice", "falling twice", "morse C")

# ITU-R M.1677-1 section 1.1, letters and figures.
MORSE = {
    "A": ".-", "B": "-...", "C": "-.-.", "D": "-..", "E": ".", "F": "..-.", "G": "--.", "H": "....", "I": "..",
    "J": ".---", "K": "-.-", "L": ".-..", "M": "--", "N": "-.", "O": "---", "P": ".--.", "Q": "--.-", "R": ".-.",
    "S": "...", "T": "-", "U": "..-", "V": "...-", "W": ".--", "X": "-..-", "Y": "-.--", "Z": "--..",
    "0": "-----", "1": ".----", "2": "..---", "3": "...--", "4": "....-", "5": ".....", "6": "-....", "7": "--...",
    "8": "---..", "9": "----.",
}  # fmt: skip


def compile_sound(text: str) -> tuple:
    """Tones of a sound written in words: a tuple of (hz, on_ms, off_ms). Raises ValueError with a sentence."""
    words = text.split()
    hz = None
    if words and words[-1] in PITCHES:
        hz = PITCHES[words.pop()]
    pattern = " ".join(words)
    if pattern in ("beeps 1", "beeps 2", "beeps 3"):
        return ((hz or HIGH_HZ, BEEP_ON_MS, BEEP_OFF_MS),) * int(words[1])
    if pattern == "long":
        return ((hz or HIGH_HZ, LONG_ON_MS, BEEP_OFF_MS),)
    if words and words[0] in ("rising", "falling") and (len(words) == 1 or words[1:] == ["twice"]):
        return _pair(words[0] == "rising", hz, len(words) == 2)
    if len(words) == 2 and words[0] == "morse":
        return _morse(words[1], hz or HIGH_HZ)
    raise ValueError("sound '%s' is not known; write one of: %s; with high, middle or low after it" % (
        text, ", ".join(PATTERNS)))


def _pair(rises: bool, hz, twice: bool) -> tuple:
    # A pair keeps a ratio of about three to two or more, so that even a poor piezo makes the step clear.
    top = hz or HIGH_HZ
    bottom = top * 5 // 9
    if bottom < 500:
        bottom, top = top, top * 9 // 5
    first, second = (bottom, top) if rises else (top, bottom)
    pair = ((first, PAIR_ON_MS, PAIR_OFF_MS), (second, PAIR_ON_MS, TWICE_GAP_MS))
    return pair + pair if twice else pair


def _morse(letters: str, hz: int) -> tuple:
    if not 1 <= len(letters) <= MORSE_LETTERS_LIMIT:
        raise ValueError("sound 'morse %s' must have 1 to %d letters" % (letters, MORSE_LETTERS_LIMIT))
    tones = []
    for letter in letters.upper():
        if letter not in MORSE:
            raise ValueError("sound 'morse %s': '%s' has no Morse sign here; use A to Z and 0 to 9" % (letters, letter))
        signs = MORSE[letter]
        for index, sign in enumerate(signs):
            on_ms = 3 * MORSE_DOT_MS if sign == "-" else MORSE_DOT_MS
            off_ms = 3 * MORSE_DOT_MS if index == len(signs) - 1 else MORSE_DOT_MS
            tones.append((hz, on_ms, off_ms))
    return tuple(tones)


# What the board says by itself. None of these can be written in a plan, so a milestone never sounds like an answer.
TAKEN = ((2000, 60, 30), (2700, 60, 60))
TAKEN_BACK = ((2700, 60, 30), (2000, 60, 30), (1400, 60, 60))
REFUSED = ((600, 320, 60),)
FOUND = ((2000, 60, 60), (2000, 60, 60))
STARTED = ((1400, 90, 30), (2000, 90, 30), (2700, 140, 60))
STOPPED = ((2700, 90, 30), (2000, 90, 30), (1400, 140, 60))
COOL = ((1400, 200, 80), (1050, 200, 80), (700, 400, 80))
READY = ((2000, 80, 60),)
# High and low in turn without a pause: a high pitch for a piezo's resonance, a low one for older ears.
ALARM = ((2700, 300, 0), (900, 300, 0))
# The heat goes on although the relay was told to open: faster and without the low tone, so that it is another alarm.
ALARM_WELDED = ((2700, 150, 0), (1800, 150, 0), (2700, 150, 0), (1800, 150, 150))
# Low and falling, twice: something is not as it should be, and the roast goes on.
NOTICE = ((900, 200, 60), (600, 300, 200), (900, 200, 60), (600, 300, 60))
REMINDER = ((2700, 250, 40), (900, 250, 40), (2700, 250, 40))
