"""Every header of the command table is understood by a running board, in long and in short form, and answers as it should."""

import json
from zlib import crc32

import pytest
import serial

from panchime.link.board import Board
from panchime.virtual.board import VirtualBoard
from panchime.virtual.interpreter import micropython_command
from panchime_fw import builtin_plan
from panchime_fw.scpi import commands, headers

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

PLAN = json.dumps(builtin_plan.DOCUMENT).encode()
PLAN_BLOCK = b"#4%04d%08X" % (len(PLAN) + 8, crc32(PLAN)) + PLAN
# One good set of parameters for each kind; a command that needs others stands in PARAMETERS.
BY_TYPE = {"": "", "i": "0", "ii": "0,0", "iii": "2026,11,25", "iin": "8,30,15.5", "n?n?": "1000,0.01", "b": "OFF"}
PARAMETERS = {
    "PROGram[:SELected]:DEFine": PLAN_BLOCK.decode(),
    "PROGram[:SELected]:STATe": "STOP",
    "[SENSe:]TEMPerature:RATE:WINDow": "30",
}
# These change the board under the test, need a roast, or need what only their own tests prepare.
MAY_BE_EMPTY = (
    "MARK:CATalog?", "ROASt:EVENts?", "SYSTem:PINS:OWN?", "MMEMory:CATalog:CONFirmed?",
    "[SENSe:]TEMPerature:TRANsducer:CALibration?",
)  # fmt: skip
ELSEWHERE_PREFIXES = ("SYSTem:MAINtenance", "MARK", "MMEMory:DATA?", "MMEMory:DELete")


def spelled(pattern, short):
    """A header as someone may write it: all nodes in the long or in the short form."""
    if pattern.startswith("*"):
        return pattern
    words = [brief if short else full.lower() for brief, full, _ in headers.nodes(pattern)]
    return ":" + ":".join(words) + ("?" if pattern.endswith("?") else "")


def rows():
    for pattern, _, types, _ in commands.TABLE:
        parameters = PARAMETERS.get(pattern, BY_TYPE.get(types))
        elsewhere = pattern.startswith(ELSEWHERE_PREFIXES) or "TRANsducer" in pattern
        if parameters is not None and not elsewhere:
            yield pattern, parameters
        elif pattern.endswith("?") and types == "":
            yield pattern, ""


@pytest.fixture(scope="module")
def link(tmp_path_factory):
    with VirtualBoard(speed=1) as board, Board.connect(board.socket_url) as link:
        # Whichever header comes first on this worker: a self-test before the first sample fails, and rightly so.
        board.wait_until(2000)
        yield link


@pytest.fixture(scope="module")
def bare_port():
    with VirtualBoard(speed=1) as board, serial.serial_for_url(board.socket_url, timeout=20) as port:
        yield port


@pytest.mark.parametrize("short", [True, False], ids=["short", "long"])
@pytest.mark.parametrize(("pattern", "parameters"), list(rows()), ids=lambda value: value.split(" ")[0][:40])
def test_header(link, pattern, parameters, short):
    client = link.client
    client.command("*CLS")
    message = spelled(pattern, short) + (" " + parameters if parameters else "")
    if pattern.endswith("?"):
        if pattern in ("SYSTem:HELP:HEADers?", "HELP?", "PROGram[:SELected]:DEFine?"):
            assert client.query_block(message)
        else:
            answer = client.query(message)
            assert answer or pattern in MAY_BE_EMPTY
        assert client.query("SYST:ERR?") == '0,"No error"'
    else:
        client.command(message)


def test_a_line_of_several_commands_keeps_its_place_in_the_tree(link):
    assert link.client.query("SYST:DATE 2026,11,25;TIME 8,30,15;DATE?") == "2026,11,25"
    assert link.client.query("*IDN?;:SYST:VERS?").endswith(";1999.0")


@pytest.mark.parametrize(
    ("message", "number"),
    [
        ("FOO", -113), ("SYST:FOO?", -113), ("*IDN", -113), ("MEAS:TEMP2?", -114), ("SYST:ERR", -113),
        ("SYST:DATE 2026", -109), ("*CLS 3", -108), ("SYST:DATE 2026,13,1", -222), ("SYST:DATE 'x',1,1", -104),
        ("SYST:DATE 1x,1,1", -120), ("OUTP MAYBE", -224), ("OUTP ON", -221), ("PROG:STAT SLOW", -224),
        ("PROG:DEF #15ABCDE", -230), ("PROG:DEF #9", -161), ("MARK 'tea'", -224), ("MARK 'yellow'", -221), ("MARK:UNDO", -221),
        ("MMEM:DATA? '000099.roast'", -256), ("MMEM:DEL '../main.py'", -256), ("MMEM:DATA? 'x'", -256),
        ("MARK 'open", -151), ("*ESE 256", -222), ("SYST:BEEP 2000,60", -222), ("A:B:C:D:E", -113),
        ("ABCDEFGHIJKLM", -112), ("*OPC?,", -113), ("x" * 6000, -363),
    ],
)  # fmt: skip
def test_what_is_wrong_is_named(bare_port, message, number):
    def answer_to(text):
        bare_port.write(text.encode() + b"\n")
        return bare_port.readline().decode().strip()

    assert answer_to("*CLS;*OPC?") == "1"
    bare_port.write(message.encode() + b"\n")
    error = answer_to("SYST:ERR?")
    assert error.startswith(f"{number},"), error
    assert answer_to("SYST:ERR?") == '0,"No error"'
