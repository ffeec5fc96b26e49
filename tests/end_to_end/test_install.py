"""`panchime install` through the real mpremote and a virtual board: fresh, upgrade, pulled cable, wrong board, no room."""

import re
import shutil
from dataclasses import replace

import pytest

import panchime_fw
from panchime.cli.main import main
from panchime.errors import LinkError, PanchimeError
from panchime.install.files import (
    BOOT,
    MAIN,
    PACKED,
    READER,
    BoardFile,
    as_mpy,
    bytecode_version,
    compiled_modules,
    firmware_files,
)
from panchime.install.installing import Changes, changes, install, must_fit
from panchime.install.prompt import Facts, Prompt, wait_for_prompt
from panchime.link.board import Board
from panchime.virtual.board import VirtualBoard, default_firmware
from panchime.virtual.interpreter import micropython_command

pytestmark = pytest.mark.skipif(micropython_command() is None, reason="no MicroPython interpreter for this machine")

GOOD = Facts("micropython", (1, 29, 0), 6, "Raspberry Pi Pico with RP2040", "rp2", 800 * 1024, 240_000)


@pytest.fixture(autouse=True)
def own_data_folder(tmp_path, monkeypatch):
    monkeypatch.setenv("PANCHIME_HOME", str(tmp_path / "home"))


@pytest.fixture
def bare(tmp_path):
    """A firmware folder that holds nothing but an empty program: a board fresh from its maker."""
    folder = tmp_path / "bare"
    folder.mkdir()
    (folder / BOOT).write_text("")
    (folder / MAIN).write_text("")
    return folder


@pytest.fixture(scope="module")
def files():
    return firmware_files(default_firmware(), compiled=True)


def nothing(path, count):
    """Progress that nobody watches."""


def test_fresh_then_nothing_to_do(bare, capsys):
    with VirtualBoard(bare, speed=20) as virtual:
        assert main(["install", "--check", "--port", virtual.port]) == 0
        told = capsys.readouterr()
        assert re.search(r"\d+ files to write", told.out)
        assert "Nothing was changed" in told.err
        assert main(["install", "--port", virtual.port]) == 0
        told = capsys.readouterr()
        assert f"installed: Panchime {panchime_fw.__version__} runs on virtual board" in told.out
        assert "SAFETY.md" in told.err
        assert main(["install", "--port", virtual.port]) == 0
        assert "up to date" in capsys.readouterr().out
        with Board.connect(virtual.port) as board:
            assert board.live().stage == "idle"


@pytest.mark.parametrize(("heap_kb", "warned"), [(200, True), (480, False)])
def test_a_board_with_too_little_memory_is_told_before_it_is_written(bare, capsys, heap_kb, warned):
    with VirtualBoard(bare, speed=20, heap_kb=heap_kb) as virtual:
        assert main(["install", "--check", "--port", virtual.port]) == 0
    told = capsys.readouterr()
    assert ("of memory free, and a roast takes about 216 kB" in told.err) == warned
    assert "files to write" in told.out


def test_an_upgrade_keeps_plan_and_roasts_and_removes_what_is_no_more(tmp_path, capsys):
    old = tmp_path / "old"
    shutil.copytree(default_firmware(), old, ignore=shutil.ignore_patterns("__pycache__", "*.egg-info"))
    (old / "panchime_fw" / "units.py").write_text((old / "panchime_fw" / "units.py").read_text() + "\n# an older one\n")
    (old / "panchime_fw" / "given_up.py").write_text("")
    plan = tmp_path / "own.toml"
    plan.write_text('name = "Own"\nmethod = "wok"\nlimit = 240\n')
    with VirtualBoard(old, speed=20) as virtual:
        virtual.wait_until(2500)
        assert main(["plan", "send", str(plan), "--port", virtual.port]) == 0
        with Board.connect(virtual.port) as board:
            board.client.command("PROG:STAT RUN")
            board.client.command("PROG:STAT STOP")
            before = board.catalogue().files
        assert before
        assert main(["install", "--plain", "--port", virtual.port]) == 0
        # What was given up, and the four rooms that only the host enters.
        assert "5 old ones to remove" in capsys.readouterr().out
        with Board.connect(virtual.port) as board:
            assert board.catalogue().files == before
            assert b'"Own"' in board.plan_json()
        with wait_for_prompt(virtual.port, 20) as prompt:
            assert "panchime_fw/given_up.py" not in prompt.sums()


def test_a_roast_that_runs_is_not_disturbed(capsys):
    with VirtualBoard(speed=1) as virtual:
        virtual.wait_until(2500)
        with Board.connect(virtual.port) as board:
            board.client.command("PROG:STAT RUN")
        assert main(["install", "--port", virtual.port]) == 1
        assert "stop it first" in capsys.readouterr().err
        with Board.connect(virtual.port) as board:
            assert board.roast_runs()


class Pulled(Exception):
    """The cable, after one more file."""


def test_the_cable_is_pulled_at_every_file(bare, files):
    """Each attempt gets one file further; after each the board is off the relay, runs no half firmware, and takes the next."""
    with VirtualBoard(bare, speed=20) as virtual:
        attempts = 0
        while True:
            with wait_for_prompt(virtual.port, 20) as prompt:
                on_board = prompt.sums()
                change = changes(files, on_board)
                if not change.any:
                    break
                finished = []

                def pull(path, count, finished=finished):
                    if path not in finished:
                        finished.append(path)
                    if len(finished) > 1:
                        raise Pulled(path)

                try:
                    install(prompt, files, change, pull)
                except Pulled:
                    attempts += 1
                    here = prompt.sums()
                    assert MAIN not in here, "a half installation would run"
                    assert BOOT in here
            assert not virtual.state()["relay"]
            if attempts % 20 == 5:
                virtual.power_cycle(100)
                assert not virtual.state()["relay"]
        assert attempts >= len(files) - 3
        with wait_for_prompt(virtual.port, 20) as prompt:
            assert changes(files, prompt.sums()).same == len(files)
            prompt.restart()
        virtual.wait_for("reset")
        with Board.connect(virtual.port) as board:
            assert board.identity.firmware == panchime_fw.__version__


def test_from_loose_modules_to_one_packed_file_and_back(capsys):
    with VirtualBoard(speed=1) as virtual:
        for arguments in (["install"], ["install", "--plain"]):
            assert main([*arguments, "--port", virtual.port]) == 0
            assert f"installed: Panchime {panchime_fw.__version__} runs on" in capsys.readouterr().out
            with wait_for_prompt(virtual.port, 20) as prompt:
                here = set(prompt.sums())
                assert (PACKED in here) != any(path.startswith("panchime_fw/") for path in here)
                prompt.restart()
            virtual.wait_for("reset")


def test_the_cable_is_pulled_in_the_middle_of_the_packed_file(bare, files):
    """A torn packed file is never taken for the packed file, on a board that had none and on one that had another."""
    earlier = [replace(file, content=file.content + b"older") if file.path == PACKED else file for file in files]
    with VirtualBoard(bare, speed=20) as virtual, wait_for_prompt(virtual.port, 20) as prompt:
        for held in ([], earlier):
            if held:
                install(prompt, held, changes(held, prompt.sums()), nothing)
            for pieces in (1, 90):
                left = [pieces]

                def pull(path, count, left=left):
                    if path == PACKED:
                        left[0] -= 1
                        if left[0] < 0:
                            raise Pulled(path)

                with pytest.raises(Pulled):
                    install(prompt, files, changes(files, prompt.sums()), pull)
                here = prompt.sums()
                assert MAIN not in here
                assert here.get(PACKED) == ((held[2].sum, len(held[2].content)) if held else None)
        install(prompt, files, changes(files, prompt.sums()), nothing)
        assert not changes(files, prompt.sums()).any


def test_a_board_that_goes_away_is_told_so(bare, files):
    with VirtualBoard(bare, speed=20) as virtual, wait_for_prompt(virtual.port, 20) as prompt:
        change = changes(files, prompt.sums())

        def pull(path, count):
            virtual.kill9()

        with pytest.raises(LinkError, match="plug it in again"):
            install(prompt, files, change, pull)


def test_a_port_without_micropython_is_told_so(tmp_path):
    with pytest.raises(LinkError, match="no MicroPython prompt"):
        Prompt(str(tmp_path / "nothing"))


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        (Facts("circuitpython", (9, 0, 0), 6, "", "RP2040", 10**6, 240_000), "runs on MicroPython on"),
        (Facts("micropython", (1, 19, 1), 6, "", "rp2", 10**6, 240_000), "1.19.1 is on the board, 1.24.0 or newer"),
        (Facts("micropython", (1, 30, 0), 7, "", "rp2", 10**6, 240_000), "byte code 7, this is compiled for 6"),
        (Facts("micropython", (1, 29, 0), 6, "", "rp2", 100 * 1024, 240_000), "too little room"),
    ],
)
def test_boards_that_cannot_take_it(files, facts, words):
    change = changes(files, {})
    must_fit(GOOD, files, change, {})
    with pytest.raises(PanchimeError, match=words):
        must_fit(facts, files, change, {})


def test_only_what_changed_is_written():
    one, two = BoardFile("boot.py", b"a"), BoardFile("panchime_fw/x.mpy", b"b")
    found = changes([one, two], {"boot.py": (one.sum, 1), "panchime_fw/x.mpy": (0, 1), "panchime_fw/old.py": (1, 2)})
    assert found == Changes([two], ["panchime_fw/old.py"], 1)


def test_compiled_and_plain_hold_the_same_modules(files):
    plain = firmware_files(default_firmware(), compiled=False)
    assert [file.path for file in files] == [BOOT, as_mpy(READER), PACKED, MAIN]
    modules = [path for path, _ in compiled_modules(default_firmware())]
    assert [as_mpy(file.path) for file in plain[2:-1]] == modules
    assert [plain[0].path, plain[1].path, plain[-1].path] == [BOOT, READER, MAIN]
    assert bytecode_version(files) == 6
    assert bytecode_version(plain) is None


def test_a_folder_that_is_no_firmware(tmp_path):
    with pytest.raises(PanchimeError, match="holds no firmware"):
        firmware_files(tmp_path, compiled=False)


@pytest.mark.parametrize(
    ("moment", "said"),
    [
        ("only_port", "The board was not touched"),
        ("into_maintenance", "its program was stopped"),
        ("tell", "its program was stopped"),
        ("install_with_progress", "The board is half written: it runs nothing, its relay stays open"),
        ("after_restart", "on the board as a whole"),
    ],
)
def test_ctrl_c_says_what_state_the_board_is_in_and_to_repeat(moment, said, bare, capsys, monkeypatch):
    from panchime.cli import install as command

    def interrupted(*_):
        raise KeyboardInterrupt

    def interrupted_in_the_middle(prompt, files, change):
        install(prompt, files, change, interrupted)

    with VirtualBoard(bare, speed=20) as virtual:
        monkeypatch.setenv("PANCHIME_PORT", virtual.port)
        with monkeypatch.context() as patched:
            patched.setattr(command, moment, interrupted_in_the_middle if moment == "install_with_progress" else interrupted)
            arguments = ["install"] if moment == "only_port" else ["install", "--port", virtual.port]
            assert main(arguments) == 130
        told = capsys.readouterr().err
        assert said in told
        assert "panchime install" in told or "panchime check" in told
        assert not virtual.state()["relay"]
        if moment == "install_with_progress":
            assert main(["install", "--port", virtual.port]) == 0
            assert "installed: Panchime" in capsys.readouterr().out
