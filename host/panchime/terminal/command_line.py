"""A command as a person can paste it into a shell: words with spaces are quoted as that shell wants them."""

import os
import shlex
import subprocess
from collections.abc import Sequence


def command_line(words: Sequence[str]) -> str:
    """``panchime`` and these words in one line: quoted for POSIX shells, with double quotes on Windows."""
    line = ["panchime", *words]
    return subprocess.list2cmdline(line) if os.name == "nt" else shlex.join(line)
