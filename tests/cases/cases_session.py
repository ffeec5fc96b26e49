"""Reading to relay to record: starting, tripping, clearing, coming back after a power cut, and what stops nothing."""

from bench_session import Bench

from panchime_fw import events, faults, notices, player, stages, trips


def check_relay_follows_the_roast(_):
    bench = Bench()
    assert bench.start()
    assert bench.session.relay_closed
    assert bench.relay[-1]
    bench.feed(60, 2000, 9000)
    assert bench.session.mark(1, events.PRESSED, bench.now_ms, bench.now_ms)
    assert bench.session.relay_closed
    bench.session.mark(2, events.PRESSED, bench.now_ms, bench.now_ms)
    assert not bench.relay[-1]
    assert [event[2] for event in bench.kinds(events.RELAY)] == [1, 0]
    bench.feed(120, 9000, 3500)
    assert bench.session.stage == stages.IDLE
    assert len(bench.log.closed) == 1
    assert bench.log.closed[0][1] == events.DONE


def check_relay_stays_open_without_a_heater(_):
    bench = Bench(heater_on_relay=False)
    assert bench.start()
    bench.feed(60, 2000, 9000)
    assert not any(bench.relay)


def check_trip(make_fault, reason):
    bench = Bench()
    assert bench.start()
    bench.feed(120, 2000, 18000)
    make_fault(bench)
    session = bench.session
    assert session.cutoff.reason == reason, session.cutoff.reason
    assert session.stage == stages.TRIPPED
    assert not bench.relay[-1]
    (trip,) = bench.kinds(events.TRIP)
    assert trip[2] == reason
    assert session.player.level == player.ALARM
    assert bench.record_store.text.startswith("tripped 1 %d" % reason), bench.record_store.text
    # Nothing but clearing closes the relay again, and not even clearing does.
    assert not session.relay_on(bench.now_ms)
    assert not session.start(bench.now_ms)
    bench.feed(2, 18000, fault=faults.NONE)
    assert not any(bench.relay[-8:])
    assert session.acknowledge(bench.now_ms)
    assert session.player.level != player.ALARM
    assert session.clear_trip(bench.now_ms) == (session.cutoff.reason == trips.NONE)
    assert session.cutoff.reason == trips.NONE
    assert not session.relay_on(bench.now_ms), "the relay closes without a new start"
    bench.feed(2, 18000)
    assert not bench.session.relay_closed


def over(bench):
    bench.feed(2, 23100)


def opened(bench):
    bench.feed(2, 18000, fault=faults.OPEN)


def check_clear_refused(centi, fault):
    bench = Bench()
    assert bench.start()
    bench.feed(120, 2000, 22000)
    bench.feed(1, 23100)
    assert bench.session.cutoff.reason == trips.OVER_LIMIT
    bench.feed(2, centi, fault=fault)
    assert not bench.session.clear_trip(bench.now_ms)
    assert bench.session.cutoff.reason == trips.OVER_LIMIT


def check_another_plan_does_not_clear(_):
    from bench_session import document

    from panchime_fw import plan

    bench = Bench()
    assert bench.start()
    bench.feed(120, 2000, 22000)
    bench.feed(1, 23100)
    assert not bench.session.set_plan(plan.compile_plan(document(limit=270))), "a plan was taken in mid-roast"
    bench.session.stop(bench.now_ms, events.STOPPED_BY_PRESS)
    assert bench.session.set_plan(plan.compile_plan(document(limit=270)))
    bench.feed(2, 22500)
    assert not bench.session.clear_trip(bench.now_ms), "a higher limit cleared an old trip"
    bench.feed(2, 21000)
    assert bench.session.clear_trip(bench.now_ms)


def check_power_cut(text, reason):
    """What the record says after a power cut, and that only clearing makes it quiet."""
    bench = Bench(record_text=text)
    found, reading_centi, limit_centi = bench.record.load()
    assert found == reason, found
    if reason == trips.NONE:
        return
    bench.session.come_back_tripped(found, reading_centi, limit_centi, bench.now_ms)
    bench.feed(2, 20000)
    assert bench.session.stage == stages.TRIPPED
    assert not any(bench.relay)
    assert not bench.session.start(bench.now_ms)
    again = Bench(record_text=bench.record_store.text)
    assert again.record.load()[0] == reason, "a second power cut cleared the trip"
    assert bench.session.clear_trip(bench.now_ms)
    bench.feed(1, 20000)
    assert bench.record_store.text == "quiet", bench.record_store.text
    assert bench.session.start(bench.now_ms)
    assert bench.session.relay_closed


def check_record_in_a_roast(actions, text):
    bench = Bench()
    bench.reading.temperature_centi = 9000
    for action in actions:
        if action == "start":
            assert bench.start()
        elif action == "out":
            bench.session.mark(2, events.PRESSED, bench.now_ms, bench.now_ms)
        elif action == "back":
            bench.session.take_back(bench.now_ms)
        elif action == "stop":
            bench.session.stop(bench.now_ms, events.STOPPED_BY_PRESS)
        bench.feed(1)
    assert bench.record_store.text == text, bench.record_store.text


def check_taken_back_heats_again(seconds, heats):
    bench = Bench()
    assert bench.start()
    bench.feed(60, 2000, 20000)
    bench.session.mark(2, events.PRESSED, bench.now_ms, bench.now_ms)
    bench.feed(seconds, 20000)
    bench.session.take_back(bench.now_ms)
    assert bench.session.relay_closed == heats
    assert bench.relay[-1] == heats


def check_full_flash_stops_nothing(_):
    bench = Bench()
    bench.log.full = True
    assert bench.start()
    bench.feed(30, 2000, 9000)
    assert bench.session.relay_closed
    assert bench.session.cutoff.reason == trips.NONE
    ring = bench.session.events
    told = [ring.get(number) for number in range(ring.oldest(), ring.last + 1)]
    assert [event[2] for event in told if event[1] == events.NOTICE] == [notices.LOG_FAILS]


def check_little_room_is_told(minutes, told):
    bench = Bench()
    bench.log.minutes = minutes
    assert bench.start()
    assert (notices.FLASH_NEARLY_FULL in [event[2] for event in bench.kinds(events.NOTICE)]) == told


class FewToDrop:
    """Room of which so many roasts may go before the flash takes anything again."""

    may_drop = True

    def __init__(self, log, confirmed):
        self.log = log
        self.confirmed = confirmed
        self.dropped = 0

    def make_room(self, minutes):
        return 0

    def minutes_in_reach(self):
        return 600

    def drop_oldest(self):
        if self.dropped == self.confirmed:
            return False
        self.dropped += 1
        self.log.full = False
        self.log.due = True
        return True


def check_full_flash_drops(confirmed, fills, told):
    """The flash is full several times in a roast: a roast that is elsewhere goes each time; only then is it told."""
    bench = Bench()
    bench.session._room = FewToDrop(bench.log, confirmed)
    assert bench.start()
    for _ in range(fills):
        bench.log.full = True
        bench.log.flash_full = True
        bench.feed(10, 2000, 3000)
    assert bench.session._room.dropped == min(confirmed, fills), bench.session._room.dropped
    assert (notices.LOG_FAILS in [event[2] for event in bench.kinds(events.NOTICE)]) == told
    assert bench.session.log_failed == told


def check_room_at_power_on(minutes, told):
    """Before a roast exists the board says that less than a long one fits."""
    bench = Bench()
    room = FewToDrop(bench.log, 0)
    room.minutes_in_reach = lambda: minutes
    bench.session._room = room
    bench.session.look_at_room(bench.now_ms)
    bench.feed(1)
    assert (bench.session.events.last == 1) == told, bench.session.events.last
    assert any(bench.tones) == told


def check_rest(rest_text, rested_min, starts):
    bench = Bench(rest_text=rest_text, rest_min=20)
    bench.now_ms += int(rested_min * 60000)
    assert bench.start() == starts, bench.session.why_not_start(bench.now_ms)


def check_rest_after_heating(rested_min, starts):
    bench = Bench(rest_min=20)
    assert bench.start()
    bench.feed(60, 2000, 9000)
    bench.session.stop(bench.now_ms, events.STOPPED_BY_PRESS)
    bench.feed(1, 9000)
    assert bench.rest_store.text == "resting"
    bench.now_ms += int(rested_min * 60000)
    bench.feed(1, 2000)
    assert bench.session.start(bench.now_ms) == starts, bench.session.why_not_start(bench.now_ms)


def check_start_refused(prepare, words):
    bench = Bench()
    prepare(bench)
    assert not bench.session.start(bench.now_ms)
    assert words in bench.session.why_not_start(bench.now_ms)
    assert not any(bench.relay)


def no_sample(bench):
    pass


def faulty(bench):
    bench.feed(1, 2000, fault=faults.SHORT_TO_GROUND)


def running(bench):
    bench.feed(1)
    bench.session.start(bench.now_ms)
    bench.relay.clear()


def check_longest_roast_ends(_):
    bench = Bench(longest_roast_min=1)
    assert bench.start()
    bench.feed(61, 2000, 12000)
    assert bench.session.cutoff.reason == trips.LONGEST_ROAST
    bench.feed(1, 10000)
    assert bench.session.clear_trip(bench.now_ms)
    assert bench.session.stage == stages.IDLE, "the roast goes on past its longest"


def check_off_and_on_is_no_rest(off_s, reason):
    bench = Bench(longest_heating_min=2)
    assert bench.start()
    bench.feed(70, 2000, 8000)
    bench.session.relay_off(bench.now_ms)
    bench.feed(off_s)
    assert bench.session.relay_on(bench.now_ms)
    bench.feed(55, 8000, 12000)
    assert bench.session.cutoff.reason == reason, bench.session.cutoff.reason


def check_remade_marks_do_not_lengthen_the_roast(_):
    bench = Bench(loads="hot", longest_roast_min=2)
    bench.reading.temperature_centi = 8000
    assert bench.start()
    for _ in range(5):
        bench.session.mark(0, events.PRESSED, bench.now_ms, bench.now_ms)
        bench.feed(50, 8000, 9000)
        if bench.session.cutoff.reason == trips.NONE:
            bench.session.take_back(bench.now_ms)
    assert bench.session.cutoff.reason == trips.LONGEST_ROAST, bench.session.cutoff.reason


def check_record_that_cannot_be_written(_):
    bench = Bench()
    bench.record_store.broken = True
    attempts = []
    save = bench.record_store.save
    bench.record_store.save = lambda text: (attempts.append(bench.now_ms), save(text))[1]
    assert bench.start()
    bench.feed(60, 2000, 9000)
    assert len(attempts) <= 14, len(attempts)
    bench.record_store.broken = False
    bench.feed(6, 9000)
    assert bench.record_store.text == "heating 1"


def check_welded(_):
    bench = Bench()
    assert bench.start()
    bench.feed(120, 2000, 22000)
    bench.feed(1, 23100)
    bench.session.acknowledge(bench.now_ms)
    bench.feed(60, 23100, 25500)
    reasons = [event[2] for event in bench.kinds(events.TRIP)]
    assert reasons == [trips.OVER_LIMIT, trips.RELAY_WELDED], reasons
    assert bench.session.player.level == player.ALARM, "the changed alarm must sound although the first was silenced"


TABLES = {
    "relay follows the roast": (check_relay_follows_the_roast, [(0,)]),
    "no heater on the relay": (check_relay_stays_open_without_a_heater, [(0,)]),
    "trips": (check_trip, [(over, trips.OVER_LIMIT), (opened, trips.SENSOR_FAULT)]),
    "clearing refused": (
        check_clear_refused, [(22500, faults.NONE), (22026, faults.NONE), (15000, faults.OPEN), (25000, faults.NONE)],
    ),
    "another plan does not clear": (check_another_plan_does_not_clear, [(0,)]),
    "after a power cut": (
        check_power_cut,
        [
            (None, trips.NONE), ("quiet", trips.NONE), ("heating 12", trips.RESET_IN_ROAST),
            ("tripped 12 1 24600 24500", trips.OVER_LIMIT), ("tripped 12 2 18000 23000", trips.SENSOR_FAULT),
            ("something newer", trips.RESET_IN_ROAST), ("tripped x", trips.RESET_IN_ROAST), ("heating", trips.RESET_IN_ROAST),
        ],
    ),
    "record in a roast": (
        check_record_in_a_roast,
        [
            (["start"], "heating 1"), (["start", "out"], "quiet"), (["start", "out", "back"], "heating 1"),
            (["start", "stop"], "quiet"), ([], None),
        ],
    ),
    "beans out taken back": (check_taken_back_heats_again, [(5, True), (19, True), (21, False), (60, False)]),
    "a full flash stops nothing": (check_full_flash_stops_nothing, [(0,)]),
    "a full flash drops": (check_full_flash_drops, [(0, 1, True), (1, 1, False), (3, 3, False), (1, 2, True)]),
    "room at power-on": (check_room_at_power_on, [(30, False), (29, True)]),
    "little room": (check_little_room_is_told, [(30, False), (29, True)]),
    "rest after a power cut": (
        check_rest,
        [("resting", 0, False), ("resting", 19.9, False), ("resting", 20, True), ("rested", 0, True), (None, 0, True)],
    ),
    "rest after heating": (check_rest_after_heating, [(0, False), (19.9, False), (20, True)]),
    "start refused": (
        check_start_refused, [(no_sample, "not been read"), (faulty, "shorted to ground"), (running, "runs already")],
    ),
    "longest roast": (check_longest_roast_ends, [(0,)]),
    "a moment off is no rest": (check_off_and_on_is_no_rest, [(5, trips.LONGEST_HEATING), (60, trips.LONGEST_HEATING)]),
    "marks made again": (check_remade_marks_do_not_lengthen_the_roast, [(0,)]),
    "a record that cannot be written": (check_record_that_cannot_be_written, [(0,)]),
    "relay welded": (check_welded, [(0,)]),
}  # fmt: skip
