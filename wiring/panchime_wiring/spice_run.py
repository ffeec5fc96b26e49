"""Runs ngspice and reads what it measured."""

import re
import shutil
import subprocess
import tempfile
from pathlib import Path

from panchime_wiring import data
from panchime_wiring.spice_decks import Deck, Measure

_LINE = re.compile(r"^(\w+)\s*=\s*([-+0-9.eE]+)")


def program() -> str | None:
    """Where ngspice is, None where it is not installed."""
    return shutil.which("ngspice")


def run(deck: Deck) -> dict[str, float]:
    """The deck's measures in their units. Raises RuntimeError when ngspice gives none of one."""
    with tempfile.TemporaryDirectory() as folder:
        shutil.copy(data.SPICE / "models.lib", folder)
        (Path(folder) / "deck.cir").write_text(deck.text())
        done = _ngspice(folder, "deck.cir")
    found = {match[1]: float(match[2]) for match in map(_LINE.match, done.splitlines()) if match}
    missing = [measure.name for measure in deck.measures if measure.name not in found]
    if missing:
        raise RuntimeError(f"{deck.name}: ngspice measured no {', '.join(missing)}:\n{done[-2000:]}")
    return {measure.name: found[measure.name] * measure.factor for measure in deck.measures}


def curves(deck: Deck) -> dict[str, list[float]]:
    """The vectors that the deck keeps for its plot, by name."""
    names, vectors = list(deck.plot), list(deck.plot.values())
    control = f".control\nrun\nset wr_singlescale\nset wr_vecnames\nwrdata out.txt {' '.join(vectors[1:])}\n.endc\n.end\n"
    with tempfile.TemporaryDirectory() as folder:
        shutil.copy(data.SPICE / "models.lib", folder)
        text = "\n".join(line for line in deck.text().splitlines() if not line.startswith((".meas", ".end")))
        (Path(folder) / "deck.cir").write_text(f"{text}\n{control}")
        _ngspice(folder, "deck.cir")
        rows = (Path(folder) / "out.txt").read_text().splitlines()[1:]
    columns = zip(*([float(field) for field in row.split()] for row in rows), strict=True)
    return dict(zip(names, (list(column) for column in columns), strict=True))


def within(measure: Measure, value: float) -> bool:
    """Whether a value keeps the measure's limits."""
    return (measure.lowest is None or value >= measure.lowest) and (measure.highest is None or value <= measure.highest)


def _ngspice(folder: str, name: str) -> str:
    found = program()
    if found is None:
        raise RuntimeError("ngspice is not installed: apt-get install ngspice")
    done = subprocess.run([found, "-b", name], cwd=folder, capture_output=True, text=True, timeout=120)
    return done.stdout + done.stderr
