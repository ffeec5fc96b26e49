"""Messages for the link, from quite right to quite wrong: by the grammar of the table of commands, mutated, and random."""

import copy
import json
import random
from binascii import crc32
from typing import Any

from panchime_fw.scpi import commands, headers

PLAN: dict[str, Any] = {
    "name": "Fuzz", "method": "hot-air popper", "limit": 240, "longest_roast_min": 60, "loads": "cold", "heater_on_relay": True,
    "marks": ["beans in", "first crack", "beans out"], "milestone": [{"label": "Out", "rises_to": 215, "sound": "rising"}],
}  # fmt: skip
ODD_VALUES: tuple[Any, ...] = (
    None, True, False, 0, -1, 1e9, -1e300, 10**40, 1e999, float("nan"), "", "x" * 300, 'a"b', "a\nb", "\x00\x03\x7f",
    "\u00e9\u4e2d",
    "\ud800", [], {}, [[]], [None], {"a": 1}, "beans in", ["beans in", "beans out"], [{}], 245, "C", "F", 0.1,
)  # fmt: skip
NUMBERS = (
    b"0", b"1", b"-1", b"8", b"1e3", b"1E400", b"-1e400", b"9" * 60, b"9" * 5000, b"+nan", b"-inf", b".5", b"1.5.5", b"0x10",
    b"1_0", b"--1", b"2e", b"255", b"256", b"65535", b"65536", b"2026", b"11", b"25", b"59.99", b"60",
)  # fmt: skip
WORDS = (
    b"ON", b"OFF", b"RUN", b"STOP", b"K", b"J", b"MAX31855", b"MAX6675", b"TC", b"TCOUPLE", b"MIN", b"DEF", b"on",
    b"\xff", b"a b",
)  # fmt: skip
STRINGS = (
    b'"beans in"', b'"first crack"', b'"beans out"', b"'beans out'", b'"000001.roast"', b'"000002.roast"', b'"../boot.py"',
    b'""', b'"', b"'", b'"a""b"', b'"a;b,c"', b'"\x01"', b'"\xc3\xa9"', b'"' + b"y" * 400 + b'"', b'"guard.a"',
    b'"999999.roast"',
)  # fmt: skip
BLOCKS = (b"#0", b"#", b"#10", b"#15", b"#3004abcd", b"#9999999999", b"#44999", b"#1", b"#19123456789", b"#A1", b"#2x1")
ENDS = (b"\n",) * 17 + (b"\r", b"\r\n", b"")
CONTROL = bytes([*range(32), 127])


BROKEN_JSON = (
    b"[" * 2000, b"{" * 50, b"null", b"[]", b"\xff\xfe", b"{}", b'{"name":1e999}', b'{"a":' * 300, b'"x"', b"",
)  # fmt: skip
MORE_KEYS = ("note", "rest_min", "unit", "probe_lag_s", "since", "for_s", "of", "label", "ahead_s", "stage", "a\nb", "\u00e9")


def plan_block(plan: Any, chance: random.Random) -> bytes:
    """A plan as it is sent; one in eight with a wrong checksum or length."""
    body = plan if isinstance(plan, bytes) else json.dumps(plan).encode("utf-8", "replace")
    content = b"%08X" % crc32(body) + body
    wrong = chance.random()
    if wrong < 0.06:
        content = content[:8].swapcase()[::-1] + content[8:]
    digits = str(len(content) + (chance.choice((-3, 1, 40)) if 0.06 <= wrong < 0.12 else 0)).encode()
    return b"#%d%s%s" % (len(digits), digits, content)


def odd_plan(chance: random.Random) -> Any:
    """A plan that somebody got wrong, or meant ill."""
    if chance.random() < 0.1:
        return chance.choice(BROKEN_JSON)
    plan = json.loads(json.dumps(PLAN))
    for _ in range(chance.randint(1, 3)):
        place: Any = plan
        if plan.get("milestone") and isinstance(plan["milestone"], list) and chance.random() < 0.4:
            place = chance.choice(plan["milestone"])
        if not isinstance(place, dict):
            continue
        key = chance.choice([*plan, *MORE_KEYS])
        if chance.random() < 0.2:
            place.pop(key, None)
        else:
            place[key] = copy.deepcopy(chance.choice(ODD_VALUES))
    return plan


def header(pattern: str, chance: random.Random) -> bytes:
    """One way to write a header of the table."""
    if pattern.startswith("*"):
        words = pattern.rstrip("?")
    else:
        parts = []
        for short, full, optional in headers.nodes(pattern):
            if optional and chance.random() < 0.5:
                continue
            parts.append(chance.choice((short, full)))
        words = chance.choice(("", ":")) + ":".join(parts)
    words = chance.choice((words, words.lower(), words.title()))
    return words.encode() + (b"?" if pattern.endswith("?") else b"")


def parameter(letter: str, chance: random.Random) -> bytes:
    right = chance.random() < 0.7
    if letter in "in" and right:
        return chance.choice(NUMBERS)
    if letter == "s" and right:
        return chance.choice(STRINGS)
    if letter in "bw" and right:
        return chance.choice(WORDS)
    if letter == "k" and right:
        return plan_block(odd_plan(chance), chance)
    return chance.choice(chance.choice((NUMBERS, WORDS, STRINGS, BLOCKS)))


def unit(chance: random.Random) -> bytes:
    """One command or query, mostly right."""
    pattern, _, types, _ = chance.choice(commands.TABLE)
    letters = types.replace("?", "")
    count = len(letters) if chance.random() < 0.85 else chance.randint(0, len(letters) + 2)
    given = [parameter(letters[index] if index < len(letters) else "n", chance) for index in range(count)]
    return header(pattern, chance) + (b" " + b",".join(given) if given else b"")


def mutated(message: bytes, chance: random.Random) -> bytes:
    """One to four damages: flipped, lost, repeated or inserted bytes, control bytes, a torn end."""
    for _ in range(chance.randint(1, 4)):
        if not message:
            return message
        at = chance.randrange(len(message))
        pick = chance.randrange(6)
        if pick == 0:
            message = message[:at] + bytes([message[at] ^ (1 << chance.randrange(8))]) + message[at + 1 :]
        elif pick == 1:
            message = message[:at] + message[at + chance.randint(1, 4) :]
        elif pick == 2:
            message = message[:at] + message[at : at + 8] + message[at:]
        elif pick == 3:
            message = message[:at] + bytes([chance.choice(CONTROL)]) + message[at:]
        elif pick == 4:
            message = message[:at] + bytes([chance.choice(b'";:,#?*\'" ')]) + message[at:]
        else:
            message = message[:at]
    return message


def message(chance: random.Random) -> bytes:
    """One message with its end, if it has one."""
    pick = chance.random()
    if pick < 0.04:
        text = chance.randbytes(chance.choice((1, 3, 10, 60)))
    elif pick < 0.08:
        text = header("PROGram[:SELected]:DEFine", chance) + b" " + plan_block(odd_plan(chance), chance)
    elif pick < 0.081:
        text = chance.randbytes(chance.choice((5119, 5120, 5121, 6000)))
    else:
        text = b";".join(unit(chance) for _ in range(chance.choice((1, 1, 1, 1, 2, 3))))
        if pick < 0.45:
            text = mutated(text, chance)
    return text + chance.choice(ENDS)


# Messages whose error the standard fixes (SCPI-1999 volume 2, chapter 21); 0 is none.
KNOWN: tuple[tuple[bytes, int], ...] = (
    (b"NONSENSE", -113), (b"MEAS:NONSENSE?", -113), (b"*ESE", -109), (b"*ESE 1,2", -108), (b"*ESE ON", -104),
    (b"*ESE 256", -222), (b'MARK "beans in', -151), (b"MARK 3", -104), (b"PROG:DEF #15abc", -161),
    (b"OUTP MAYBE", -224), (b"*ESE 1.2.3", -120),
    (b"*IDN?;:", -102), (b"ABCDEFGHIJKLMNOP?", -112), (b"MEAS\x01:TEMP?", -101), (b"*ESE 1,", -102),
    (b"MMEM:DATA? \"777777.roast\"", -256),
    (b'PROG:DEF #210XXXXXXXX{}', -230), (b"MEAS:TEMP2?", -114), (b"*IDN?", 0), (b"MEAS:TEMP?", 0), (b"OUTP 1e400", -222),
)  # fmt: skip
