"""A virtual board as a context manager, for tests and demonstrations."""

import tempfile
from pathlib import Path
from types import TracebackType
from typing import Any

from panchime.errors import PanchimeError
from panchime.virtual.chips import chip_named
from panchime.virtual.control_client import ControlClient
from panchime.virtual.events import Event
from panchime.virtual.flash import prepare_folder, prepare_image
from panchime.virtual.interpreter import micropython_command
from panchime.virtual.pins import Wiring
from panchime.virtual.roaster.kitchen import Kitchen
from panchime.virtual.roaster.scenario import Scenario, load_scenario
from panchime.virtual.world import Settings, World


def default_firmware() -> Path:
    """The firmware that belongs to this package. Raises PanchimeError when it is not beside it."""
    import panchime_fw

    folder = Path(panchime_fw.__file__).parent.parent
    if not (folder / "main.py").is_file():
        raise PanchimeError(f"there is no firmware beside {folder}: give its folder with --firmware")
    return folder


class VirtualBoard:
    """The firmware in its interpreter and the world around it.

    `speed`: 1 real time, N times faster, 0 as fast as it goes. `hold_at_ms`: the board stops there until `run_until` or `go`.
    `flash`: an image file (a folder with CPython), kept; without one it is thrown away. `firmware=None` takes the package's
    own, `keep_firmware=True` leaves what lies on the flash. `interpreter`: "micropython", "cpython" or "auto".
    """

    def __init__(
        self,
        firmware: Path | None = None,
        *,
        flash: Path | None = None,
        keep_firmware: bool = False,
        speed: float = 0,
        scenario: Scenario | str | None = None,
        seed: int = 0,
        interpreter: str = "auto",
        board_id: str = "E6614103E7A1B2C3",
        chip: str = "MAX31855",
        thermocouple: str = "K",
        heap_kb: int = 480,
        wiring: Wiring | None = None,
        ticks_start_ms: int = 0,
        hold_at_ms: float | None = None,
        tcp_port: int = 0,
        control_port: int = 0,
    ) -> None:
        if interpreter == "auto":
            interpreter = "cpython" if micropython_command() is None else "micropython"
        self.interpreter = interpreter
        self._temporary = None if flash else tempfile.TemporaryDirectory(prefix="panchime-flash-")
        place = flash or Path(self._temporary.name if self._temporary else ".") / "flash"
        source = None if keep_firmware else firmware or default_firmware()
        prepare = prepare_image if interpreter == "micropython" else prepare_folder
        if isinstance(scenario, str):
            scenario = load_scenario(scenario)
        self.world = World(
            Settings(
                flash=prepare(place, source),
                chip=chip_named(chip, thermocouple, seed),
                kitchen=None if scenario is None else Kitchen(scenario, seed),
                speed=speed,
                interpreter=interpreter,
                board_id=board_id,
                heap_kb=heap_kb,
                wiring=wiring or Wiring(),
                ticks_start_ms=ticks_start_ms,
                hold_at_us=None if hold_at_ms is None else round(hold_at_ms * 1000),
                tcp_port=tcp_port,
                control_port=control_port,
            )
        )
        ports = self.world.ports()
        self.pty: str | None = ports["pty"]
        self.socket_url: str = ports["url"]
        self.control_url: str = ports["control"]
        self.port = self.pty or self.socket_url

    def __enter__(self) -> "VirtualBoard":
        self.world.start()
        self.control = ControlClient(self.control_url)
        return self

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None) -> None:
        self.control.close()
        self.world.stop()
        if self._temporary is not None:
            self._temporary.cleanup()

    @property
    def now_ms(self) -> float:
        """Virtual time since power-up."""
        now_ms: float = self.control.state()["now_ms"]
        return now_ms

    def events(self, what: str | None = None) -> list[Event]:
        """What has happened so far, all of it or of one kind."""
        return [event for event in self.control.all_events() if what in (None, event["what"])]

    def press(self, kind: str = "short", *, ms: int | None = None, at_ms: float | None = None) -> float:
        """Presses the button, now or at a virtual time; returns when, in ms."""
        return float(self.control.ask("press", kind=kind, ms=ms, at_ms=at_ms)["at_ms"])

    def run_until(self, ms: float, timeout_s: float = 120.0) -> None:
        """Lets the board run to a virtual time and stops it there, exactly."""
        self.control.ask("run_until", timeout_s=timeout_s, ms=ms)

    def run_for(self, ms: float, timeout_s: float = 120.0) -> None:
        """As `run_until`, counted from now."""
        self.run_until(self.now_ms + ms, timeout_s)

    def go(self) -> None:
        """Lets a stopped board run on."""
        self.control.ask("go")

    def wait_until(self, ms: float, timeout_s: float = 120.0) -> None:
        """Waits for a virtual time without stopping the board."""
        self.control.ask("wait_until", timeout_s=timeout_s, ms=ms)

    def wait_for(self, what: str, timeout_s: float = 60.0, from_event: int = 0, **details: Any) -> Event:
        """Waits for an event of a kind, with these details. Raises PanchimeError when none comes.

        The waiting is of a client, in wall time; when the event happened is its `t_ms`.
        """
        watcher = ControlClient(self.control_url)
        try:
            watcher.watch(from_event)
            for event in watcher.each_event(timeout_s):
                if event["what"] == what and all(event.get(name) == value for name, value in details.items()):
                    return event
        finally:
            watcher.close()
        raise PanchimeError(f"no {what!r} event came within {timeout_s} s")

    def set_speed(self, speed: float) -> None:
        """Changes the speed of virtual time."""
        self.control.ask("speed", value=speed)

    def kill9(self) -> None:
        """Kills the interpreter without a word, as a power cut does; the board stays off."""
        self.control.ask("power", on=False)

    def power_cycle(self, off_ms: int = 1000) -> None:
        """Pulls the plug and puts it back after a while."""
        self.control.ask("power_cycle", off_ms=off_ms)

    def fault(self, kind: str) -> None:
        """Breaks the thermocouple or its amplifier; "none" mends it."""
        self.control.ask("fault", kind=kind)

    def probe(self, c: float | None) -> None:
        """Holds the probe's tip at a temperature; None gives it back to the roaster."""
        self.control.ask("probe", c=c)

    def state(self) -> dict[str, Any]:
        """Where everything stands."""
        return self.control.state()
