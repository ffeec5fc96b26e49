"""The board's settings: every mistake named, damaged ones never trusted, one key changed at a time."""

import json

from scratch import Scratch, write

from panchime_fw import settings
from panchime_fw.scpi import errors
from panchime_fw.settings_store import SettingsError, SettingsStore
from panchime_fw.store import Store

ICE = {"points": [{"shown_centi": 42, "true_centi": 0, "how": "ice water", "date": "2026-11-25"}]}


def document(**changes):
    found = dict(settings.DEFAULTS)
    found.update(changes)
    return found


def without(key):
    found = document()
    del found[key]
    return found


def check_good(found):
    assert settings.check(found) == [], settings.check(found)
    compiled = settings.Settings(json.loads(json.dumps(found)))
    assert compiled.amplifier == found["amplifier"]
    assert compiled.rate_window_ms == found["rate_window_s"] * 1000
    assert compiled.probe_lag_ms == int(found["probe_lag_s"] * 1000 + 0.5), compiled.probe_lag_ms


def check_refused(found, words):
    faults = settings.check(found)
    assert len(faults) == 1, faults
    assert words in faults[0], faults[0]
    try:
        settings.Settings(found)
    except ValueError as error:
        assert str(error) == faults[0]
        return
    raise AssertionError("taken all the same")


def opened(folder):
    store = SettingsStore(Store(folder, "settings"))
    return store, store.load()


def check_never_told():
    with Scratch() as folder:
        store, found = opened(folder)
        assert not store.is_damaged, store.complaint
        assert found.document == settings.DEFAULTS


def check_kept(changes):
    with Scratch() as folder:
        store, _ = opened(folder)
        assert store.change(changes).document == document(**changes)
        again, found = opened(folder)
        assert not again.is_damaged, again.complaint
        assert found.document == document(**changes), found.document


def refusal(store, changes):
    before = store.document
    try:
        store.change(changes)
    except SettingsError as error:
        assert store.document == before, "changed all the same"
        return error.number, error.words
    raise AssertionError("taken all the same")


def check_change_refused(changes, words):
    with Scratch() as folder:
        store, _ = opened(folder)
        number, said = refusal(store, changes)
        assert number == errors.SETTINGS_CONFLICT
        assert words in said, said
        assert opened(folder)[1].document == settings.DEFAULTS


def check_another_chip_drops_the_calibration(changes, kept):
    with Scratch() as folder:
        store, _ = opened(folder)
        store.change({"calibration": ICE})
        assert (store.change(changes).document["calibration"] == ICE) == kept


def damage(folder, kind):
    if kind == "torn":
        write(folder + "/settings.a", b"00000000 1 3\n{}{")
    elif kind == "not JSON":
        Store(folder, "settings").save("{")
    elif kind == "older rules":
        Store(folder, "settings").save(json.dumps(document(amplifier="MAX999")))
    else:
        Store(folder, "settings").save(json.dumps(document(amplifier="MAX31856")) + " " * 1024)


def check_damaged(kind, words):
    """The board measures with the defaults, and says that it must not be trusted until both were named again."""
    with Scratch() as folder:
        damage(folder, kind)
        store, found = opened(folder)
        assert store.is_damaged and words in store.complaint, store.complaint
        assert found.document == settings.DEFAULTS
        assert "set the amplifier and the thermocouple type first" in refusal(store, {"rate_window_s": 45})[1]
        store.change({"amplifier": "MAX31856"})
        assert store.is_damaged, "one of the two was enough"
        assert opened(folder)[0].is_damaged, "half of it was kept"
        store.change({"thermocouple": "K"})
        assert not store.is_damaged, store.complaint
        again, found = opened(folder)
        assert not again.is_damaged, again.complaint
        assert found.document == document(amplifier="MAX31856"), found.document


def check_older_firmware(key):
    """A document that was kept before a key existed is as good as it was, and has the key's default."""
    with Scratch() as folder:
        older = document(amplifier="MAX31856", rate_window_s=45)
        del older[key]
        Store(folder, "settings").save(json.dumps(older))
        store, found = opened(folder)
        assert not store.is_damaged, store.complaint
        assert found.document == document(amplifier="MAX31856", rate_window_s=45), found.document


def check_full_flash():
    with Scratch() as folder:
        write(folder + "/state", b"")
        store = SettingsStore(Store(folder + "/state", "settings"))
        store.load()
        number, words = refusal(store, {"rate_window_s": 45})
        assert number == errors.STORAGE_FAULT and "the old ones stay" in words, words


TABLES = {
    "an older firmware": (check_older_firmware, [(key,) for key in settings.ADDED_LATER]),
    "good": (
        check_good,
        [
            (document(),),
            (document(amplifier="MAX31856", thermocouple="T", rate_window_s=20, probe_lag_s=60),),
            (document(amplifier="MCP9601", thermocouple="N", rate_window_s=60, probe_lag_s=2.5),),
            (document(amplifier="MAX6675", calibration=ICE),),
        ],
    ),
    "refused": (
        check_refused,
        [
            ([], "must be a table"),
            (without("amplifier"), "amplifier is missing"),
            (document(colour="red"), "'colour' is not a key"),
            (document(amplifier="MAX999"), "amplifier MAX999 is not known; it is one of: MAX31855, MAX31856"),
            (document(amplifier=["MAX31855"]), "is not known"),
            (document(amplifier="MAX6675", thermocouple="J"), "thermocouple type J: a MAX6675 reads K"),
            (document(thermocouple="B"), "thermocouple type B: a MAX31855 reads K, J, N"),
            (document(rate_window_s=19), "rate_window_s must be a whole number of seconds, 20 to 60"),
            (document(rate_window_s=61), "rate_window_s must be"),
            (document(rate_window_s=30.5), "rate_window_s must be"),
            (document(probe_lag_s=60.5), "probe_lag_s must be a number of seconds, 0 to 60"),
            (document(probe_lag_s=-1), "probe_lag_s must be"),
            (document(probe_lag_s=float("nan")), "probe_lag_s must be"),
            (document(probe_lag_s=True), "probe_lag_s must be"),
            (document(drop_confirmed=1), "drop_confirmed must be true or false"),
            (document(calibration={"points": []}), "calibration: there must be 1 or 2 points"),
        ],
    ),
    "a board that was never told": (check_never_told, [()]),
    "kept": (
        check_kept,
        [({"rate_window_s": 45},), ({"amplifier": "MCP9600", "thermocouple": "E"},), ({"calibration": ICE},), ({},)],
    ),
    "a change refused": (
        check_change_refused,
        [
            ({"amplifier": "MAX1"}, "amplifier MAX1 is not known"),
            ({"thermocouple": "T", "amplifier": "MAX6675"}, "a MAX6675 reads K"),
            ({"probe_lag_s": 61}, "probe_lag_s"),
            ({"calibration": {"points": [{"shown_centi": 300, "true_centi": 0, "how": "", "date": ""}]}}, "3.00 off"),
        ],
    ),
    "calibration and chip": (
        check_another_chip_drops_the_calibration,
        [
            ({"amplifier": "MAX31856"}, False), ({"thermocouple": "J"}, False),
            ({"amplifier": "MAX31855", "thermocouple": "K"}, True), ({"rate_window_s": 20}, True),
        ],
    ),
    "damaged": (
        check_damaged,
        [
            ("torn", "both copies on the flash are damaged"), ("not JSON", "not JSON"),
            ("older rules", "MAX999 is not known"), ("too long", "too long"),
        ],
    ),
    "full flash": (check_full_flash, [()]),
}  # fmt: skip
