"""docs/troubleshooting.md: what it quotes is said by the product, what it tells to type exists, where it points to is there."""

import ast
import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent.parent
PAGE = ROOT / "docs" / "troubleshooting.md"
TEXT = PAGE.read_text(encoding="utf-8")
ROWS = [line for line in TEXT.splitlines() if line.startswith("| ") and not line.startswith(("| what ", "| --- "))]
QUOTED = sorted(set(re.findall(r'"([^"]+)"', "\n".join(ROWS))))
TYPED = sorted(set(re.findall(r"`panchime ([^`]+)`", TEXT)))
COMMANDS_OF_THE_BOARD = sorted(set(re.findall(r"`([A-Z][A-Za-z]+(?::[A-Za-z]+)+\??)`", TEXT)))


def said_by_the_product() -> str:
    """Every text in the sources of firmware and host that is no docstring, one a line."""
    texts = []
    for folder in ("firmware", "host/panchime"):
        for path in (ROOT / folder).rglob("*.py"):
            tree = ast.parse(path.read_text(encoding="utf-8"))
            documentation = {id(node.value) for node in ast.walk(tree) if isinstance(node, ast.Expr)}
            texts += [
                node.value
                for node in ast.walk(tree)
                if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in documentation
            ]
    return "\n".join(texts)


SAID = said_by_the_product()


def test_there_is_something_to_check():
    assert len(ROWS) > 40
    assert len(QUOTED) > 30
    assert len(TYPED) > 12
    assert COMMANDS_OF_THE_BOARD


@pytest.mark.parametrize("words", QUOTED)
def test_the_product_says_so(words):
    assert words in SAID


@pytest.mark.parametrize("typed", TYPED)
def test_what_it_tells_to_type_exists(typed):
    """The command's own help knows each word that is no file, and each option."""
    words = typed.split()
    names = [word for word in words if re.fullmatch(r"[a-z-]+", word) and not word.startswith("--") and word != "yes"]
    run = subprocess.run([sys.executable, "-m", "panchime", *names, "--help"], capture_output=True, text=True)
    assert run.returncode == 0, run.stderr
    for option in (word for word in words if word.startswith("--")):
        assert option in run.stdout


@pytest.mark.parametrize("command", COMMANDS_OF_THE_BOARD)
def test_the_board_has_the_command(command):
    from panchime_fw.scpi import commands, headers

    words = command.rstrip("?").upper().split(":")
    patterns = [pattern for pattern, *_ in commands.TABLE if pattern.endswith("?") == command.endswith("?")]
    assert any(headers.matches(headers.nodes(pattern), words) for pattern in patterns)


def test_its_links_lead_somewhere():
    for target in re.findall(r"\]\(([^)#]+)", TEXT):
        assert (PAGE.parent / target).is_file(), target


def test_the_readme_leads_to_it():
    assert "(docs/troubleshooting.md)" in (ROOT / "README.md").read_text(encoding="utf-8")
