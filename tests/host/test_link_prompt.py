"""A board that sits at MicroPython's prompt, shown by the real interpreter on a pseudo-terminal."""

import os
import shutil
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from panchime.cli.main import main
from panchime.link.finding import ask
from panchime.link.ports import Candidate
from panchime.link.scpi_client import AtPrompt, ScpiClient

INTERPRETER = shutil.which("micropython") or shutil.which("micropython", path=str(Path(sys.executable).parent))

pytestmark = pytest.mark.skipif(
    INTERPRETER is None or os.name == "nt", reason="needs the MicroPython interpreter and pseudo-terminals"
)


def carry(source, sink):
    """Copies bytes until the source is closed."""
    while True:
        try:
            data = os.read(source, 1024)
            os.write(sink, data)
        except OSError:
            return
        if not data:
            return


@pytest.fixture
def port():
    """The path of a port at whose other end the interpreter's prompt waits."""
    import tty

    interpreter_end, its_terminal = os.openpty()
    port_end, port_terminal = os.openpty()
    tty.setraw(port_terminal)
    with subprocess.Popen(
        [INTERPRETER], stdin=its_terminal, stdout=its_terminal, stderr=its_terminal, env={"TERM": "dumb"}
    ) as process:
        os.close(its_terminal)
        for source, sink in ((port_end, interpreter_end), (interpreter_end, port_end)):
            threading.Thread(target=carry, args=(source, sink), daemon=True).start()
        yield os.ttyname(port_terminal)
        process.kill()
    os.close(port_terminal)


def test_the_prompt_is_told_from_a_board(port):
    with ScpiClient.open(port, 1.0) as client, pytest.raises(AtPrompt, match=r"main\.py is not running"):
        client.synchronise()
    found = ask(Candidate(port, "named"))
    assert found.at_prompt
    assert found.identity is None


def test_find_lists_a_board_at_its_prompt_and_says_what_to_do(port, tmp_path, monkeypatch, capsys):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path))
    assert main(["find", "--port", port]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "does not run" in shown
    assert "'panchime install' puts Panchime on it" in shown
    assert main(["pull", "--port", port]) == 1
    assert "main.py is not running" in capsys.readouterr().err
