"""The firmware through MicroPython's own package installer, from a folder and from a web server, onto a bare board."""

import functools
import http.server
import subprocess
import sys
import threading

import pytest

import panchime_fw
from panchime.install.files import BOOT, MAIN
from panchime.link.board import Board
from panchime.virtual.board import VirtualBoard, default_firmware
from panchime.virtual.interpreter import micropython_command

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")


@pytest.fixture
def bare(tmp_path):
    folder = tmp_path / "bare"
    folder.mkdir()
    for name in (BOOT, MAIN):
        (folder / name).write_text("")
    return folder


@pytest.fixture
def served():
    """The firmware folder on a web server of this computer."""

    class Quiet(http.server.SimpleHTTPRequestHandler):
        def log_message(self, *_):
            pass

    handler = functools.partial(Quiet, directory=str(default_firmware()))
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()


def mip_install(port: str, package: str) -> str:
    command = [sys.executable, "-m", "mpremote", "connect", port, "mip", "install", "--target", "/", package]
    run = subprocess.run(command, capture_output=True, text=True)
    assert run.returncode == 0, run.stdout[-500:] + run.stderr[-500:]
    return run.stdout


@pytest.mark.parametrize("way", ["folder", "web"])
def test_mip_installs_a_board_that_runs(bare, served, way):
    place = default_firmware().as_posix() if way == "folder" else served
    with VirtualBoard(bare, speed=1) as virtual:
        assert "Done" in mip_install(virtual.port, f"{place}/package.json")
        virtual.power_cycle(100)
        with Board.connect(virtual.port) as board:
            assert board.identity.firmware == panchime_fw.__version__
            assert board.live().stage == "idle"
