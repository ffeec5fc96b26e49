"""Receiver, message units and headers (IEEE 488.2 chapter 7, SCPI-1999 volume 1 chapter 6)."""

from panchime_fw.scpi import commands, errors, headers, message
from panchime_fw.scpi.errors import ScpiError
from panchime_fw.scpi.receiver import LIMIT, MESSAGE, OVERRUN, ROOM, Receiver


def received(raw):
    receiver = Receiver()
    found = []
    for byte in raw:
        told = receiver.feed(byte)
        if told == MESSAGE:
            found.append(receiver.take())
        elif told == OVERRUN:
            found.append(OVERRUN)
    return found


def check_received(raw, expected):
    assert received(raw) == expected, received(raw)


def check_units(raw, expected):
    found = list(message.units(raw))
    assert found == expected, found


def check_refused(raw, number):
    try:
        list(message.units(raw))
    except ScpiError as error:
        assert error.number == number, error.number
        return
    raise AssertionError("taken")


def check_header(pattern, text, good):
    assert headers.matches(headers.nodes(pattern), text.upper().split(":")) == good


def check_short_spellings(pattern, spellings):
    assert headers.short_spellings(pattern) == spellings, headers.short_spellings(pattern)


def check_finds_row(row):
    is_query = row[0].endswith("?")
    full = [long for _, long, _ in headers.nodes(row[0])]
    for spelling in headers.short_spellings(row[0]):
        assert commands.find(spelling.rstrip("?").split(":"), is_query) is row, spelling
    assert commands.find(full, is_query) is row, full
    try:
        other = commands.find(full, not is_query)
    except ScpiError as error:
        assert error.number == errors.UNDEFINED_HEADER
    else:
        assert other is not row


def check_room(length, most):
    """`most`: the room it may hold on to while the message comes in."""
    receiver = Receiver()
    for _ in range(length):
        receiver.feed(65)
    assert len(receiver._buffer) <= max(most, ROOM), len(receiver._buffer)
    assert receiver.feed(10) == MESSAGE
    assert receiver.take() == b"A" * length
    assert len(receiver._buffer) == ROOM


def check_short_form(pattern):
    """The capitals of every pattern are the short form that the standard's rule gives: the table is looked up by it."""
    for short, full, _ in headers.nodes(pattern):
        assert headers.short_form(full) == short or pattern.startswith("*"), (full, short)


def check_number(text, value):
    if value is None:
        try:
            message.number(text)
        except ScpiError:
            return
        raise AssertionError("taken")
    assert message.number(text) == value


ERROR = "SYSTem:ERRor[:NEXT]?"
TYPE = "[SENSe:]TEMPerature:TRANsducer:TCouple:TYPE?"

TABLES = {
    "lines": (
        check_received,
        [
            (b"*IDN?\n", [b"*IDN?"]), (b"*IDN?\r\n", [b"*IDN?"]), (b"\r\n\n", []), (b"A\nB\n", [b"A", b"B"]),
            (b"*IDM\x08N?\n", [b"*IDN?"]), (b"\x7f\x7fA\n", [b"A"]), (b"A", []),
            (b'MARK "a;b\n', [b'MARK "a;b']),
            # a block of a wrong length swallows no line that follows
            (b"P #15ab\ncd\n", [b"P #15ab", b"cd"]), (b'P #13a"b\nA\n', [b'P #13a"b', b"A"]),
            (b"P #204AB;D\n", [b"P #204AB;D"]),
            (b"P #10\n", [b"P #10"]),
            (b"P #0abc\n", [b"P #0abc"]), (b"P #H1F\n", [b"P #H1F"]), (b"P #2x\n", [b"P #2x"]),
            (b'"#9"\n', [b'"#9"']),
            # too long: thrown away to the line's end, and the next line is whole again
            (b"x" * (LIMIT + 1) + b"\nA\n", [OVERRUN, b"A"]),
            (b"P #9999999999abc\nA\n", [OVERRUN, b"A"]),
            (b"x" * LIMIT + b"\n", [b"x" * LIMIT]),
        ],
    ),
    "units": (
        check_units,
        [
            (b"*IDN?", [("*IDN?", [])]),
            (b" syst:err? ; *cls", [("SYST:ERR?", []), ("*CLS", [])]),
            (b"SYST:DATE 2026, 11 ,25", [("SYST:DATE", [("number", "2026"), ("number", "11"), ("number", "25")])]),
            (b"MARK 'it''s; a \"b\"'", [("MARK", [("string", "it's; a \"b\"")])]),
            (b'MARK "a""b"', [("MARK", [("string", 'a"b')])]),
            (b"OUTP on", [("OUTP", [("word", "ON")])]),
            (b"P #15a;b,c;*CLS", [("P", [("block", b"a;b,c")]), ("*CLS", [])]),
            (b"P #10", [("P", [("block", b"")])]),
            (b";;", []),
        ],
    ),
    "units refused": (
        check_refused,
        [
            (b'MARK "a', errors.INVALID_STRING), (b"MARK 'a\"", errors.INVALID_STRING), (b"P #15abc", errors.INVALID_BLOCK),
            (b"P #0abc", errors.INVALID_BLOCK), (b"P #2x", errors.INVALID_BLOCK), (b"A 1,", errors.SYNTAX),
            (b"A 1,,2", errors.SYNTAX), (b"A\xffB", errors.INVALID_CHARACTER), (b"A b\x01c", errors.INVALID_CHARACTER),
        ],
    ),
    "headers": (
        check_header,
        [
            (ERROR, "SYST:ERR", True), (ERROR, "SYSTEM:ERROR", True), (ERROR, "SYST:ERR:NEXT", True),
            (ERROR, "SYSTE:ERR", False), (ERROR, "SYST:ERRO", False), (ERROR, "SYST", False), (ERROR, "SYST:ERR:COUN", False),
            (TYPE, "TEMP:TRAN:TCO:TYPE", False), (TYPE, "TEMP:TRAN:TC:TYPE", True), (TYPE, "SENS:TEMP:TRAN:TC:TYPE", True),
            (TYPE, "SENSE:TEMPERATURE:TRANSDUCER:TCOUPLE:TYPE", True), (TYPE, "SENS:SENS:TEMP:TRAN:TC:TYPE", False),
            ("*IDN?", "*IDN", True), ("OUTPut[:STATe]", "OUTP", True), ("OUTPut[:STATe]", "OUTP:STAT", True),
        ],
    ),
    "short spellings": (
        check_short_spellings,
        [
            ("*IDN?", ["*IDN?"]), (ERROR, ["SYST:ERR?", "SYST:ERR:NEXT?"]), ("MARK[:MAKE]", ["MARK", "MARK:MAKE"]),
            (TYPE, ["TEMP:TRAN:TC:TYPE?", "SENS:TEMP:TRAN:TC:TYPE?"]),
        ],
    ),
    "each pattern finds its row": (check_finds_row, [(row,) for row in commands.TABLE]),
    "a long message gives its room back": (check_room, [(1, 1), (ROOM, ROOM), (ROOM + 1, 2 * ROOM), (LIMIT, LIMIT)]),
    "short forms by the rule (SCPI-1999 6.2.1)": (check_short_form, [(row[0],) for row in commands.TABLE]),
    "numbers (IEEE 488.2 7.7.2)": (
        check_number,
        [
            ("12", 12), ("-3", -3), ("+4", 4), ("1.5", 1.5), (".5", 0.5), ("1e3", 1000.0), ("2E-1", 0.2), ("1x", None),
            ("--1", None), ("", None), ("nan", None), ("1e400", None),
        ],
    ),
}  # fmt: skip
