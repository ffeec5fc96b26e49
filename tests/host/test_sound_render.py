"""Every sound, rendered from the board's own player to samples and measured there: onsets, lengths, pitch, and over a fan."""

import wave

import numpy as np
import pytest
from scipy import ndimage, signal

from panchime.planfile.starters import STARTER_METHODS, starter
from panchime.sound.render import LOUDEST, SAMPLE_RATE_HZ, changes_of, samples_of, write_wav
from panchime_fw import builtin_plan, sound_meanings, sound_words
from panchime_fw.plan import compile_plan

PATTERNS = (*sound_words.PATTERNS, *sound_words.NAMED)
WRITTEN = sorted({f"{pattern}{pitch}" for pattern in PATTERNS for pitch in ("", " low", " middle")})
SOUNDS = {text: (sound_words.compile_sound(text), 0) for text in WRITTEN} | {
    meaning: (tones, 2000 if repeats else 0) for meaning, tones, repeats in sound_meanings.OWN
}


def shipped():
    """What the starters and the built-in plan sound."""
    import tomllib

    documents = [tomllib.loads(starter(method)) for method in STARTER_METHODS] + [builtin_plan.DOCUMENT]
    return {milestone.sound: milestone.tones for document in documents for milestone in compile_plan(document).milestones}


def heard_tones(samples):
    """(onset ms, length ms) of every stretch of sound, from the envelope of the samples alone."""
    # Closing over one period of the lowest tone bridges its zero crossings and leaves the ends where they are.
    period = round(SAMPLE_RATE_HZ / 500)
    envelope = ndimage.grey_closing(np.abs(samples), period)
    loud = envelope > 0.03
    edges = np.flatnonzero(np.diff(np.concatenate(([0], loud.astype(int), [0]))))
    stretches = []
    for begin, end in zip(edges[::2] * 1000 / SAMPLE_RATE_HZ, edges[1::2] * 1000 / SAMPLE_RATE_HZ, strict=True):
        # Where one tone follows another without a pause there is a dip of the two edges, shorter than any pause.
        if stretches and begin - sum(stretches[-1]) < 10:
            stretches[-1] = (stretches[-1][0], end - stretches[-1][0])
        else:
            stretches.append((begin, end - begin))
    return stretches


def expected_stretches(tones, until_ms):
    """(onset ms, length ms, [(hz, ms)]) by the specification alone: tones without a pause between make one stretch."""
    stretches = []
    t_ms = 0
    joined = False
    while True:
        for hz, on_ms, off_ms in tones:
            on_ms = min(on_ms, until_ms - t_ms) if until_ms else on_ms
            if on_ms <= 0:
                return stretches
            if joined:
                begin, length, parts = stretches.pop()
                stretches.append((begin, length + on_ms, [*parts, (hz, on_ms)]))
            else:
                stretches.append((t_ms, on_ms, [(hz, on_ms)]))
            joined = off_ms == 0
            t_ms += on_ms + off_ms
        if not until_ms:
            return stretches


@pytest.mark.parametrize("name", sorted(SOUNDS))
def test_onset_length_and_pitch(name, tmp_path):
    tones, until_ms = SOUNDS[name]
    write_wav(tmp_path / "sound.wav", samples_of(changes_of(tones, until_ms)))
    with wave.open(str(tmp_path / "sound.wav")) as file:
        assert (file.getnchannels(), file.getsampwidth(), file.getframerate()) == (1, 2, SAMPLE_RATE_HZ)
        samples = np.frombuffer(file.readframes(file.getnframes()), "<i2") / 32767
    assert 0.1 < np.max(np.abs(samples)) <= 1
    found = heard_tones(samples)
    expected = expected_stretches(tones, until_ms)
    assert len(found) == len(expected), found
    for (onset_ms, length_ms), (wanted_ms, wanted_length_ms, parts) in zip(found, expected, strict=True):
        assert abs(onset_ms - wanted_ms) < 5
        assert abs(length_ms - wanted_length_ms) < 5
        for hz, at_ms, part_ms in pitches(parts, wanted_ms):
            assert abs(measured_hz(samples, at_ms, part_ms) - hz) < max(0.01 * hz, 600 / part_ms), (name, hz)


def pitches(parts, from_ms):
    for hz, part_ms in parts:
        yield hz, from_ms, part_ms
        from_ms += part_ms


def measured_hz(samples, at_ms, part_ms):
    """The fundamental: the lowest of the strong lines of the spectrum (a piezo may make a harmonic the strongest)."""
    begin = round(at_ms * SAMPLE_RATE_HZ / 1000)
    part = samples[begin : begin + round(part_ms * SAMPLE_RATE_HZ / 1000)]
    size = 1 << 17
    spectrum = np.abs(np.fft.rfft(part * np.hanning(len(part)), size))
    strong = np.flatnonzero(spectrum > 0.25 * np.max(spectrum))
    # The first hill of the spectrum that is strong, up to where it begins to fall.
    at = strong[0]
    while spectrum[at + 1] > spectrum[at]:
        at += 1
    return at * SAMPLE_RATE_HZ / size


def test_nothing_folds_back_and_nothing_clips():
    """A square wave of 2700 Hz has lines at 1, 3, 5 and 7 times that below half the sampling rate, and no others."""
    samples = samples_of(changes_of(((2700, 900, 0),)))[2000:-12000]
    assert np.max(np.abs(samples)) <= LOUDEST * 1.3
    spectrum = np.abs(np.fft.rfft(samples * np.hanning(len(samples))))
    hz = np.fft.rfftfreq(len(samples), 1 / SAMPLE_RATE_HZ)
    others = np.min(np.abs(hz[:, None] - 2700 * np.array([1, 3, 5, 7])), axis=1) > 100
    assert np.max(spectrum[others]) < 0.001 * np.max(spectrum)


def fan_noise(count, seed):
    """A popper's fan, common-sense shape and no recording: a rumble falling by 6 dB an octave above 300 Hz, and two whines."""
    chance = np.random.default_rng(seed)
    rumble = signal.sosfilt(signal.butter(1, 300, "low", fs=SAMPLE_RATE_HZ, output="sos"), chance.normal(size=count))
    t_s = np.arange(count) / SAMPLE_RATE_HZ
    rumble /= np.std(rumble)
    whine = 0.5 * np.sin(2 * np.pi * 320 * t_s) + 0.3 * np.sin(2 * np.pi * 960 * t_s + 1)
    noise = rumble + whine
    return noise / np.std(noise)


# The sound's power while it sounds, against the fan's, at the ear: a fan with four times the amplitude.
SIGNAL_TO_NOISE_DB = -12.0


def test_detected_and_told_apart_over_a_fan():
    """A matched filter for each shipped sound finds its own, and no other one better, at the stated ratio."""
    tones = shipped()
    templates = {name: samples_of(changes_of(t), 50) for name, t in tones.items()}
    whiten = signal.butter(1, 300, "high", fs=SAMPLE_RATE_HZ, output="sos")  # what undoes the fan's slope
    filtered = {name: signal.sosfilt(whiten, template) for name, template in templates.items()}
    for seed, (name, template) in enumerate(templates.items()):
        sounding = np.abs(template) > 0
        power = np.mean(template[sounding] ** 2)
        scale = np.sqrt(10 ** (SIGNAL_TO_NOISE_DB / 10) / power)
        at = SAMPLE_RATE_HZ
        noise = fan_noise(len(template) + 4 * SAMPLE_RATE_HZ, seed)
        heard = noise.copy()
        heard[at : at + len(template)] += scale * template
        scores = {}
        for other, shape in filtered.items():
            shape = shape / np.sqrt(np.sum(shape**2))
            match = signal.fftconvolve(signal.sosfilt(whiten, heard), shape[::-1], "valid")
            alone = signal.fftconvolve(signal.sosfilt(whiten, noise), shape[::-1], "valid")
            scores[other] = np.max(np.abs(match))
            if other == name:
                assert abs(np.argmax(np.abs(match)) - at) < 0.005 * SAMPLE_RATE_HZ, "found at another time"
                assert scores[name] > 3 * np.max(np.abs(alone)), "the fan alone looks nearly as much like it"
        best = max(scores, key=scores.get)
        assert tones[best] == tones[name], (name, best)
