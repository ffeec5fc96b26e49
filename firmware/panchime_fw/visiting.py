"""Modules that are needed for a moment: loaded for it, and gone afterwards, so that their code takes no heap in a roast.

Only on MicroPython: elsewhere memory is plenty, and other modules may hold on to them.
"""

import sys

PACKAGE = "panchime_fw"
_LETS_GO = sys.implementation.name == "micropython"


def visit(name: str, function: str, *arguments):
    """What a function of one module of this package answers. Whatever the module raises goes on to the caller."""
    before = set(sys.modules)
    try:
        module = __import__(PACKAGE + "." + name, None, None, (function,))
        return getattr(module, function)(*arguments)
    finally:
        if _LETS_GO:
            _let_go(before)


def _let_go(before) -> None:
    """Forgets the modules of this package that came in since: the table of modules and the package itself know each by name."""
    for full in [full for full in sys.modules if full not in before and full.startswith(PACKAGE + ".")]:
        del sys.modules[full]
        above, name = full.rsplit(".", 1)
        if above in sys.modules:
            delattr(sys.modules[above], name)
