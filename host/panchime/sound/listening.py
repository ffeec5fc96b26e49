"""Sounds on the computer's own loudspeaker, or in a file where there is none."""

import os
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from panchime.errors import PanchimeError
from panchime.sound.order import in_order
from panchime.sound.render import Change, changes_of, samples_of, write_wav
from panchime_fw.plan import Plan
from panchime_fw.player import CUE_GAP_MS

# Programs that come with a system and play a WAV file; winsound is Python's own on Windows.
PLAYERS = (("aplay", "-q"), ("afplay",), ("paplay",))
PLAY_LIMIT_S = 300


@dataclass(frozen=True)
class PlannedSound:
    """One sound of a plan in the order they come: its label, how it is written, and when it begins in the rendering."""

    label: str
    sound: str
    t_ms: int
    comes: bool


def plan_changes(plan: Plan) -> tuple[list[PlannedSound], list[Change]]:
    """Every sound of a plan, one after another with the board's own gap between."""
    order, others = in_order(plan)
    planned: list[PlannedSound] = []
    changes: list[Change] = []
    begin_ms = 0
    for index in [*order, *others]:
        milestone = plan.milestones[index]
        planned.append(PlannedSound(milestone.label, milestone.sound, begin_ms, index in order))
        changes += [Change(begin_ms + change.t_ms, change.hz) for change in changes_of(milestone.tones)]
        begin_ms = changes[-1].t_ms + CUE_GAP_MS
    return planned, changes


def play(path: Path) -> bool:
    """Plays a WAV file to its end; False when this computer has nothing to play it with, or no loudspeaker."""
    if sys.platform == "win32":
        import winsound

        try:
            winsound.PlaySound(str(path), winsound.SND_FILENAME)
        except RuntimeError:
            return False
        return True
    for program, *options in PLAYERS:
        found = shutil.which(program)
        if found is not None:
            try:
                done = subprocess.run([found, *options, str(path)], capture_output=True, timeout=PLAY_LIMIT_S, check=False)
            except (OSError, subprocess.TimeoutExpired):
                continue
            if done.returncode == 0:
                return True
    return False


def listen(plan: Plan, out: Path | None) -> Iterator[str]:
    """Yields what is sounding, line by line, and where the file is. Raises PanchimeError when it cannot be written."""
    planned, changes = plan_changes(plan)
    if not planned:
        yield "This plan has no milestones: there is nothing to hear."
        return
    for sound in planned:
        late = "" if sound.comes else "   (when it comes depends on the roast)"
        yield f"{sound.t_ms / 1000:6.1f} s  {sound.label}   ({sound.sound}){late}"
    samples = samples_of(changes)
    if out is not None:
        save(out, samples)
        yield f"{out} is written."
        return
    import tempfile

    handle, name = tempfile.mkstemp(prefix="panchime-", suffix=".wav")
    os.close(handle)
    path = Path(name)
    save(path, samples)
    if play(path):
        path.unlink(missing_ok=True)
    else:
        yield f"Nothing here plays sound; the WAV file is {path}."


def save(path: Path, samples: object) -> None:
    try:
        write_wav(path, samples)  # type: ignore[arg-type]
    except OSError as error:
        raise PanchimeError(f"{path} cannot be written: {error.strerror}") from error
