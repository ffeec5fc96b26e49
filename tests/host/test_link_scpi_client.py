"""The SCPI client against a line that goes wrong in every way it can."""

import sys
from pathlib import Path

import pytest

from panchime.errors import BoardRefusal, LinkError
from panchime.link.answers import number, quoted, split_fields
from panchime.link.scpi_client import AtPrompt, Identity, ScpiClient, Silence, block_head

sys.path.insert(0, str(Path(__file__).parent))
from scripted_board import ScriptedBoard, block

SHORT_S = 0.3


def client_of(board):
    return ScpiClient.open(board.url, SHORT_S)


def test_synchronise_ends_a_half_message_and_forgets_old_errors():
    with ScriptedBoard() as board:
        board.errors = [b'-113,"Undefined header"\n', b'-222,"Data out of range"\n']
        with client_of(board) as client:
            assert client.synchronise() == Identity("Raspberry Pi Pico", "E6614103E7", "0.1.0")
            client.command("SYSTem:DATE 2026,11,25")
        assert board.received[0] == "", "the first thing sent is a line end"
        assert board.errors == []


def test_what_an_earlier_client_left_unread_is_not_taken_for_an_answer():
    with ScriptedBoard({"": [b"0.25,rest of an old answer\n\x00\xff", None]}) as board, client_of(board) as client:
        assert client.synchronise().serial == "E6614103E7"


def test_a_block_that_was_never_finished_is_finished():
    # Until many line ends have come, the board takes everything for the rest of a block.
    with ScriptedBoard() as board:
        board.script[r"\*IDN\?"] = lambda match: (
            b"Panchime,Raspberry Pi Pico,E6614103E7,0.1.0\n" if board.received.count("") > 1000 else None
        )
        with client_of(board) as client:
            assert client.synchronise().model == "Raspberry Pi Pico"


def test_a_stranger_is_called_one():
    with (
        ScriptedBoard(identity=b"ACME,Meter 3,1,2\n") as board,
        client_of(board) as client,
        pytest.raises(LinkError, match="no Panchime board"),
    ):
        client.synchronise()


def test_silence_says_what_was_asked_and_what_to_do():
    with (
        ScriptedBoard(identity=None) as board,
        client_of(board) as client,
        pytest.raises(Silence, match=r"did not answer \*IDN\? within 0.3 s.*Unplug"),
    ):
        client.synchronise(gently=True)


def test_a_refused_command_raises_the_boards_own_words():
    with ScriptedBoard() as board, client_of(board) as client:
        client.synchronise()
        board.errors = [b'-221,"Settings conflict;a roast runs already"\n', b'-100,"Command error"\n']
        with pytest.raises(BoardRefusal, match="a roast runs already") as caught:
            client.command("PROGram:STATe RUN")
        assert caught.value.number == -221
        client.command("SYSTem:TIME 1,2,3")


@pytest.mark.parametrize("ask", ["query", "query_block"])
def test_an_answer_that_comes_late_is_no_answer_of_the_error_queue(ask):
    late = block(b"97.85") if ask == "query_block" else b"97.85;97.85;1\n"
    with ScriptedBoard() as board, client_of(board) as client:
        client.synchronise()
        board.script["MEASure:TEMPerature\\?"] = None
        board.script["SYSTem:ERRor\\?"] = [late + b'0,"No error"\n', b'0,"No error"\n']
        with pytest.raises(Silence, match=r"did not answer MEASure:TEMPerature\? within 0.3 s.*Unplug"):
            getattr(client, ask)("MEASure:TEMPerature?")
        board.script["MEASure:TEMPerature\\?"] = b"20.00\n"
        assert client.query("MEASure:TEMPerature?") == "20.00"


def test_a_prompt_behind_a_silence_is_called_one():
    with ScriptedBoard() as board, client_of(board) as client:
        client.synchronise()
        board.script["MEASure:TEMPerature\\?"] = None
        board.script["SYSTem:ERRor\\?"] = b">>> \n"
        with pytest.raises(AtPrompt, match="panchime install"):
            client.query("MEASure:TEMPerature?")


def test_a_query_that_is_not_answered_raises_what_the_error_queue_says():
    with ScriptedBoard() as board, client_of(board) as client:
        client.synchronise()
        board.script["MEASure:TEMPerature\\?"] = lambda match: board.errors.append(b'-240,"Hardware error"\n')
        with pytest.raises(BoardRefusal, match="Hardware error"):
            client.query("MEASure:TEMPerature?")


def test_a_block_is_read_exactly_whatever_bytes_it_holds():
    payload = bytes(range(256)) * 40 + b"\n\r#15>>>\n"
    with ScriptedBoard({"DATA\\?": block(payload)}) as board, client_of(board) as client:
        client.synchronise()
        assert client.query_block("DATA?") == payload
        assert client.query("*IDN?").startswith("Panchime")


def test_a_block_with_a_padded_length_is_legal():
    with ScriptedBoard({"DATA\\?": b"#204ABCD\n"}) as board, client_of(board) as client:
        client.synchronise()
        assert client.query_block("DATA?") == b"ABCD"


@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (b"#210ABC", "did not answer"),
        (b"#15ABCDEFG\n", "not followed by a line end"),
        (b"#0ABC\n", "length of b'0' digits"),
        (b"#2x5AB\n", "no number"),
        (b"#9999999999A\n", "more than a board can hold"),
        (b"12.5\n", "no block"),
        (b"\xff\xfe\x00garbage\n", "no block"),
        (None, "did not answer"),
    ],
)
def test_a_broken_block_is_an_error_and_the_next_question_is_answered(answer, words):
    with ScriptedBoard({"DATA\\?": answer}) as board, client_of(board) as client:
        client.synchronise()
        with pytest.raises(LinkError, match=words):
            client.query_block("DATA?")
        client.recover()
        assert client.query("*IDN?").startswith("Panchime")


def test_a_refused_block_query_raises_the_boards_words():
    with ScriptedBoard({"DATA\\?": None}) as board, client_of(board) as client:
        client.synchronise()
        board.errors = [b'-256,"File name not found"\n']
        with pytest.raises(BoardRefusal, match="File name not found"):
            client.query_block("DATA?")


def test_an_answer_without_end_is_given_up():
    with ScriptedBoard({"X\\?": b"a" * 70_000}) as board, client_of(board) as client:
        client.synchronise()
        with pytest.raises(LinkError, match="does not end within"):
            client.query("X?")


def test_an_answer_that_is_no_text_is_an_error():
    with ScriptedBoard({"X\\?": b"\xff\xfe\n"}) as board, client_of(board) as client:
        client.synchronise()
        with pytest.raises(LinkError, match="no text"):
            client.query("X?")


def test_a_closed_line_says_that_the_cable_may_be_loose():
    with ScriptedBoard({"X\\?": ConnectionAbortedError}) as board, client_of(board) as client:
        client.synchronise()
        with pytest.raises(LinkError, match=r"has gone.*cable"):
            client.query("X?")


def test_a_block_towards_the_board_carries_no_control_characters():
    with ScriptedBoard() as board, client_of(board) as client:
        client.synchronise()
        with pytest.raises(ValueError, match="printable ASCII"):
            client.block_command("PROGram:DEFine", b"a\x03b")
        assert not any("PROGram" in message for message in board.received)


def test_a_port_that_is_not_there_gets_advice(tmp_path):
    with pytest.raises(LinkError, match=r"no such port.*panchime find"):
        ScpiClient.open(str(tmp_path / "ttyNOTHING"))


def test_a_virtual_board_that_is_gone_gets_advice():
    with ScriptedBoard() as board:
        url = board.url
    with pytest.raises(LinkError, match="still running"):
        ScpiClient.open(url)


@pytest.mark.parametrize(
    ("answer", "fields"),
    [
        ("1,2,3", ["1", "2", "3"]),
        ('-113,"Undefined header;FOO, BAR"', ["-113", "Undefined header;FOO, BAR"]),
        ('"say ""now"", please",5', ['say "now", please', "5"]),
        ("", [""]),
        ('1, "a"', ["1", "a"]),
    ],
)
def test_fields_of_an_answer(answer, fields):
    assert split_fields(answer) == fields


def test_a_quote_that_is_never_closed_is_an_error():
    with pytest.raises(LinkError, match="quoted"):
        split_fields('1,"abc')


def test_scpi_numbers():
    assert number("9.91E37", "X") is None
    assert number("19.25", "X") == 19.25
    assert quoted('a"b') == '"a""b"'
    assert block_head(1024) == b"#41024"
    with pytest.raises(LinkError, match="where a number belongs"):
        number("abc", "X")
