"""The guide curve: where it is, how far off the roast is, and what is said of it. Also the beat and the board left on."""

from panchime_fw import left_on, pace, sounds, stages
from panchime_fw.guide import NO_GUIDE, Guide, GuideVoice

POINTS = [(0, 9000), (240000, 15000), (480000, 19600), (600000, 21000)]


def check_at(points, t_ms, centi):
    assert Guide(points).at(t_ms) == centi, Guide(points).at(t_ms)


def check_steps(off_centi, band_centi, steps):
    assert Guide(POINTS, band_centi).steps(off_centi) == steps


def check_foresees(off_centi, off_centi_per_min, steps):
    """The distance to the guide has changed steadily for two minutes; what is said is what it will be in a minute."""
    voice = GuideVoice(Guide(POINTS, 300, 20000))
    for quarter in range(481):
        voice.add(quarter * 250, voice.guide.at(quarter * 250) + off_centi - off_centi_per_min * (480 - quarter) // 240)
    assert voice.off_centi == off_centi
    assert voice.steps == steps, voice.steps


def check_said(every_s, course, said):
    """`course`: {seconds: off in hundredths of a degree}, held until the next; `said`: [(seconds, tones)]."""
    voice = GuideVoice(Guide(POINTS, 300, every_s * 1000))
    off_centi = 0
    heard = []
    for quarter in range(4 * 700):
        if quarter % 4 == 0:
            off_centi = course.get(quarter // 4, off_centi)
        t_ms = quarter * 250
        wanted = voice.guide.at(t_ms)
        voice.add(t_ms, (wanted if wanted != NO_GUIDE else 20000) + off_centi)
        tones = voice.step(t_ms)
        if len(tones):
            heard.append((quarter // 4, tones))
    assert heard == said, heard


def check_higher_is_hotter(tones, direction):
    notes = [hz for hz, _, _ in tones]
    rises = [after - before for before, after in zip(notes, notes[1:])]
    assert 2 <= len(notes) <= 3
    assert all((rise > 0) - (rise < 0) == direction for rise in rises), notes


def check_beats(every_ms, looks_ms, expected):
    """Looked at every so often, in preheat from 1000 ms on: when a beat is due, in ms since then."""
    beat = pace.Pace((0, every_ms, 0, 0, 0))
    found = []
    for t_ms in range(0, 10000, looks_ms):
        if beat.due(stages.PREHEAT, (1000 + t_ms) & 0x3FFFFFFF):
            found.append(t_ms)
    assert found == expected, found


def check_no_beat_in_another_stage(stage):
    beat = pace.Pace((0, 500, 0, 0, 0))
    assert not any(beat.due(stage, now_ms) for now_ms in range(0, 5000, 5))


def check_left_on(actions, until_min, chirps):
    """`actions`: {minute: "ends" | "begins" | "press"}; chirps at these minutes, across the wrap of the clock."""
    watch = left_on.LeftOn()
    start_ms = (1 << 30) - 20 * 60000
    found = []
    for second in range(until_min * 60):
        now_ms = (start_ms + second * 1000) & 0x3FFFFFFF
        action = actions.get(second // 60) if second % 60 == 0 else None
        if action == "ends":
            watch.roast_ends(now_ms)
        elif action == "begins":
            watch.roast_begins()
        elif action == "press":
            watch.pressed(now_ms)
        if watch.due(now_ms):
            found.append(second // 60)
    assert found == chirps, found


HOT = sounds.GUIDE_HOTTER
VERY_HOT = sounds.GUIDE_MUCH_HOTTER
COOL = sounds.GUIDE_COOLER
VERY_COOL = sounds.GUIDE_MUCH_COOLER
ON = sounds.GUIDE_ON

TABLES = {
    "where it is": (
        check_at,
        [
            (POINTS, 0, 9000), (POINTS, 120000, 12000), (POINTS, 240000, 15000), (POINTS, 360000, 17300),
            (POINTS, 600000, 21000),
            (POINTS, 600250, NO_GUIDE), (POINTS, -250, NO_GUIDE), ([(60000, 9000), (61000, 9100)], 59000, NO_GUIDE),
            ([(60000, 9000), (61000, 9100)], 60500, 9050), ([], 0, NO_GUIDE), ([(0, 9000)], 0, NO_GUIDE),
            # falling, and the largest that a plan may have
            ([(0, 20000), (60000, 9000)], 30000, 14500), ([(0, -3000), (3600000, 30000)], 3599750, 29998),
            ([(0, 30000), (3600000, -3000)], 3599750, -2998),
        ],
    ),
    "how far off": (
        check_steps,
        [
            (0, 300, 0), (300, 300, 0), (301, 300, 1), (-300, 300, 0), (-301, 300, -1), (900, 300, 1), (901, 300, 2),
            (-900, 300, -1), (-901, 300, -2), (3000, 3000, 0),
        ],
    ),
    "where it will be": (
        check_foresees,
        [
            (0, 0, 0), (0, 280, 0), (0, 320, 1), (0, -320, -1), (500, -600, 0), (500, -300, 0), (500, -180, 1), (-500, 1600, 2),
            (-400, -600, -2), (400, -1400, -2),
        ],
    ),
    "what is said": (
        check_said,
        [
            (60, {0: 0}, []),
            (60, {0: 301}, [(s, HOT) for s in range(60, 601, 60)]),
            (60, {0: -1000, 150: -400, 270: 0, 330: 1000, 500: 0},
             [(60, VERY_COOL), (120, VERY_COOL), (180, COOL), (240, COOL), (300, ON), (360, VERY_HOT), (420, VERY_HOT),
              (480, VERY_HOT), (540, ON)]),
            (0, {0: 1000}, []),
        ],
    ),
    "higher is hotter": (check_higher_is_hotter, [(HOT, 1), (VERY_HOT, 1), (COOL, -1), (VERY_COOL, -1), (ON, 0)]),
    "beats": (
        check_beats,
        [
            (2000, 5, [2000, 4000, 6000, 8000]),
            # a late look shifts none of the next
            (1500, 400, [1600, 3200, 4800, 6000, 7600, 9200]),
            # slower looks than beats: one a look
            (500, 3000, [3000, 6000, 9000]), (0, 5, []),
        ],
    ),
    "no beat in another stage": (check_no_beat_in_another_stage, [(stages.IDLE,), (stages.ROASTING,), (stages.TRIPPED,)]),
    "left on": (
        check_left_on,
        [
            ({}, 200, []), ({5: "press"}, 200, []),
            ({1: "ends"}, 200, [31, 41, 51, 61, 71, 81]),
            ({1: "ends", 20: "press"}, 200, [50, 60, 70, 80, 90, 100]),
            ({1: "ends", 35: "press"}, 80, [31, 65, 75]),
            ({1: "ends", 20: "begins", 40: "ends"}, 75, [70]),
        ],
    ),
}  # fmt: skip
