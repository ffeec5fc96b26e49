"""What the board's own measurements run on: the compiled firmware, the frames of a roast, a long log, a plan on its way."""

import contextlib
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from panchime.install.files import firmware_files
from panchime.link.board import checksum
from panchime.measure.pull_speed import BYTES, made_log
from panchime.measure.roast_bench import SAMPLE_MS, STEP_MS
from panchime.planfile.reading import parse
from panchime.planfile.starters import starter
from panchime.planfile.wire import to_json
from panchime.virtual.board import default_firmware
from panchime.virtual.chips.max31855 import Max31855
from panchime.virtual.roaster.kitchen import Kitchen
from panchime.virtual.roaster.scenario import load_scenario

SCRIPTS = Path(__file__).parent / "on_board"
SCENARIO = "skillet-mild"
SAMPLES = 3000
SEED = 20261125
PLAN = "hot-air popper"


@dataclass(frozen=True)
class BoardFiles:
    """The paths; `flash` makes an empty folder that takes the flash's place."""

    folder: Path

    @property
    def firmware(self) -> Path:
        return self.folder / "firmware"

    @property
    def sources(self) -> Path:
        return default_firmware()

    @property
    def frames(self) -> Path:
        return self.folder / "frames"

    @property
    def log(self) -> Path:
        return self.folder / "log"

    @property
    def plan(self) -> Path:
        return self.folder / "plan"

    def flash(self) -> str:
        return tempfile.mkdtemp(dir=self.folder, prefix="flash-")


def frames(scenario: str, samples: int) -> bytes:
    """What a MAX31855 says four times a second in a scenario whose person does all but press."""
    kitchen, chip = Kitchen(load_scenario(scenario), SEED), Max31855("K", SEED)
    found = bytearray()
    for _ in range(samples):
        for _ in range(SAMPLE_MS // STEP_MS):
            kitchen.step(False)
        chip.convert(kitchen.probe.reading_c(), kitchen.cold_c)
        chip.select(True)
        found += chip.transfer(bytes(4))
    return bytes(found)


def plan_message() -> bytes:
    """The message that sends a starter plan."""
    plan = to_json(parse(starter(PLAN), PLAN).document)
    block = checksum(plan) + plan
    digits = str(len(block))
    return f"PROGram:DEFine #{len(digits)}{digits}".encode() + block + b"\n"


@contextlib.contextmanager
def board_files() -> Iterator[BoardFiles]:
    """All of them in a folder that goes away afterwards."""
    with tempfile.TemporaryDirectory(prefix="panchime-bench-") as place:
        found = BoardFiles(Path(place))
        for file in firmware_files(default_firmware(), compiled=True):
            target = found.firmware / file.path
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_bytes(file.content)
        found.frames.write_bytes(frames(SCENARIO, SAMPLES))
        found.log.write_bytes(made_log(BYTES))
        found.plan.write_bytes(plan_message())
        yield found
