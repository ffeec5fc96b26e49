"""Constants written out before compiling: what is replaced, what stays, and that no line moves."""

import ast

import pytest

from panchime.install.constants import folded
from panchime.install.files import module_names
from panchime.virtual.board import default_firmware


def fold(**texts: str) -> dict[str, str]:
    """Modules of a package `p`, name to text."""
    sources = {"p/__init__.py": "", **{f"p/{name}.py": text for name, text in texts.items()}}
    return {path[2:-3]: text for path, text in folded(sources).items()}


def value_of(texts: dict[str, str], module: str, expression: str) -> object:
    """What an expression is worth in a rewritten module that imports nothing any more."""
    scope: dict[str, object] = {}
    exec(compile(texts[module], module, "exec"), scope)
    return eval(expression, scope)


def test_a_constant_is_written_out_and_its_definition_left_out():
    texts = fold(one="STEP = 4\n\n\ndef twice():\n    return STEP * 2\n")
    assert texts["one"] == "\n\n\ndef twice():\n    return 4 * 2\n"


def test_constants_of_constants_across_modules():
    texts = fold(
        one="BASE = -3\n",
        two="from .one import BASE\n\nMORE = BASE * 100 + (1 << 4)\n",
        three="from . import two\nfrom .one import BASE\n\n\ndef f():\n    return 10 - two.MORE - BASE\n",
    )
    assert value_of({"three": texts["three"].replace("from . import two", "")}, "three", "f()") == 10 - (-284) + 3
    assert "MORE" not in texts["two"]
    assert "BASE" not in texts["three"]


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("STEP = 4\n\n\ndef f(other):\n    return other.STEP + STEP\n", "an attribute of who knows what"),
        ("STEP = 4\n\n\ndef f():\n    return getattr(f, 'STEP')\n", "a text"),
        ("STEP = 4\n\n\ndef f():\n    return f'{STEP}'\n", "inside an f-string"),
    ],
)
def test_what_is_read_in_another_way_stays_defined(text, why):
    assert "STEP = 4" in fold(one=text)["one"], why


@pytest.mark.parametrize(
    "text",
    [
        "STEP = 4\nSTEP = 5\n\n\ndef f():\n    return STEP\n",
        "STEP = 4\n\n\ndef f(STEP):\n    return STEP\n",
        "STEP = 4\n\n\ndef f():\n    global STEP\n    STEP = 5\n    return STEP\n",
        "STEP = 4.0\n\n\ndef f():\n    return STEP\n",
        "STEP = True\n\n\ndef f():\n    return STEP\n",
        "step = 4\n\n\ndef f():\n    return step\n",
        "class A:\n    STEP = 4\n\n    def f(self):\n        return self.STEP\n",
    ],
)
def test_what_is_no_constant_is_left_alone(text):
    assert fold(one=text)["one"] == text


def test_other_names_of_an_import_stay():
    texts = fold(
        one="STEP = 4\n\n\ndef g():\n    return STEP\n",
        two="from .one import STEP as stride\nfrom .one import (\n    STEP,\n    g,\n)\n\n\n"
        "def f():\n    return STEP + stride + g()\n",
    )
    lines = texts["two"].split("\n")
    assert lines[:5] == ["", "from .one import g", "", "", ""]
    assert lines[8] == "    return 4 + 4 + g()"


def test_letters_of_more_than_one_byte_do_not_shift_a_column():
    assert fold(one='STEP = 4\nWORDS = ("°°", STEP)\n')["one"] == '\nWORDS = ("°°", 4)\n'


def test_the_firmware_keeps_its_lines_and_loses_only_constants():
    folder = default_firmware()
    sources = {name: (folder / name).read_text() for name in module_names(folder)}
    for name, text in folded(sources).items():
        before, after = functions(sources[name]), functions(text)
        assert before == after, name


def functions(text: str) -> list[tuple[str, int]]:
    """Every function and class, and the line where it begins."""
    kinds = ast.FunctionDef | ast.ClassDef
    return [(node.name, node.lineno) for node in ast.walk(ast.parse(text)) if isinstance(node, kinds)]
