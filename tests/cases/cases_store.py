"""The two-copy store: the old text or the new one, whatever was torn."""

from scratch import Scratch, read, write

from panchime_fw.store import Store

TEXTS = ["", "1", "two\nlines", "caf\u00e9 \U0001f525", "x" * 3000, '{"name":"Skillet, to City"}']


def keeps(text):
    with Scratch() as folder:
        store = Store(folder, "plan")
        assert store.load() is None, "a text from nowhere"
        assert store.save(text), "not saved"
        assert Store(folder, "plan").load() == text, "another text came back"


def newest_counts(saves):
    with Scratch() as folder:
        store = Store(folder, "counter")
        for number in range(saves):
            assert store.save("%d" % number), "not saved"
            assert Store(folder, "counter").load() == "%d" % number, "after save %d" % number


def names_apart():
    with Scratch() as folder:
        Store(folder, "plan").save("a plan")
        Store(folder, "settings").save("a setting")
        assert Store(folder, "plan").load() == "a plan", "the plan changed"


def makes_its_folder():
    with Scratch() as folder:
        store = Store(folder + "/state", "plan")
        assert store.load() is None, "a text from nowhere"
        assert store.save("new"), "not saved"
        assert store.load() == "new", "another text came back"


def torn_everywhere(old, new):
    """The save of `new` is torn after each of its bytes, with and without rubbish behind: `old` is still there."""
    with Scratch() as folder:
        store = Store(folder, "plan")
        assert store.save("older"), "not saved"
        assert store.save(old), "not saved"
        kept = read(folder + "/plan.a")
        assert store.save(new), "not saved"
        raw = read(folder + "/plan.a")
        assert raw != kept and read(folder + "/plan.b").endswith(old.encode()), "the new text is not in the older copy"
        for length in range(len(raw)):
            for rubbish in (b"", b"\xff" * (len(raw) - length), b"\x00"):
                torn = raw[:length] + rubbish
                if torn == raw:
                    continue
                write(folder + "/plan.a", torn)
                assert store.load() == old, "torn after %d bytes: %r" % (length, store.load())
        assert store.save("newest"), "no save after a tear"
        assert store.load() == "newest", "another text came back"


def both_damaged():
    with Scratch() as folder:
        store = Store(folder, "plan")
        write(folder + "/plan.a", b"rubbish")
        write(folder + "/plan.b", b"00000000 1 x\n")
        assert store.load() is None, "rubbish was believed"
        assert store.save("new") and store.load() == "new", "no save over rubbish"


def refuses_softly():
    """The folder's place is taken by a file: what a full or broken flash does, a call answers instead of raising."""
    with Scratch() as folder:
        write(folder + "/state", b"")
        store = Store(folder + "/state", "plan")
        assert store.load() is None, "a text from nowhere"
        assert store.save("new") is False, "said to be saved"


TABLES = {
    "keeps a text": (keeps, [(text,) for text in TEXTS]),
    "the newest counts": (newest_counts, [(25,)]),
    "names stay apart": (names_apart, [()]),
    "makes its folder": (makes_its_folder, [()]),
    "torn everywhere": (torn_everywhere, [("the old plan", "the new plan"), ("", "n"), ("o" * 40, "")]),
    "both damaged": (both_damaged, [()]),
    "refuses softly": (refuses_softly, [()]),
}
