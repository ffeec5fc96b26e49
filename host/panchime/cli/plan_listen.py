"""`panchime plan listen`: a plan's sounds on this computer; and the warning of sounds that an ear could confuse."""

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.planfile.reading import PlanText

DESCRIPTION = (
    "Plays every sound of a plan as the board's piezo would, in the order they will come, and names each. "
    "Without anything to play sound with, it writes a WAV file and says where."
)


def register_listen(actions: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the action to `panchime plan`."""
    listen = actions.add_parser("listen", help="play a plan's sounds on this computer", description=DESCRIPTION)
    listen.add_argument("file", metavar="FILE", help="the plan file; - reads what another program writes")
    listen.add_argument("-o", "--output", metavar="WAV", help="write a WAV file instead of playing")
    listen.add_argument("--force", action="store_true", help="write over a file that is there")


def run_listen(options: argparse.Namespace) -> int:
    """Plays or writes a plan's sounds."""
    from pathlib import Path

    from panchime.errors import PanchimeError
    from panchime.planfile.reading import checked, read_plan
    from panchime.sound.listening import listen
    from panchime.terminal.safe_text import safe_line
    from panchime_fw.plan import compile_plan

    plan = checked(read_plan(options.file))
    out = Path(options.output) if options.output else None
    if out is not None and out.exists() and not options.force:
        raise PanchimeError(f"{out} is there already: --force writes over it, or name another file")
    for line in listen(compile_plan(plan.document), out):
        print(safe_line(line), flush=True)
    warn_of_likeness(plan)
    return 0


def warn_of_likeness(plan: "PlanText") -> None:
    """Says on stderr what is hardly meant, and which sounds could be taken for one another; the plan is used all the same."""
    from panchime.planfile.doubts import doubts
    from panchime.planfile.telling_apart import warnings
    from panchime.terminal.safe_text import safe_line

    for sentence in doubts(plan.document) + warnings(plan.document):
        print(f"warning: {safe_line(sentence)}", file=sys.stderr)
