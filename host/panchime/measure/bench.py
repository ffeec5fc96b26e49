"""`make bench`: how exact, small and fast this is; a table, `build/bench.json`, and what got worse against the baseline.

    python -m panchime.measure.bench [--baseline FILE] [--write-baseline FILE] [--only PART ...]
"""

import argparse
import json
import sys
from collections.abc import Callable
from pathlib import Path

from panchime.measure.figure import Figure

RESULT = Path("build") / "bench.json"
BASELINE = Path("tests") / "bench-baseline.json"


def temperature() -> list[Figure]:
    """Worst errors of the reading per thermocouple type and range, against the ITS-90 reference functions."""
    from panchime.measure.temperature_error import curve_errors, frame_errors

    how = "every tenth of a degree against thermocouple-its90"
    found = []
    for curve in curve_errors():
        worst = max(curve.to_voltage_c, curve.to_temperature_c)
        name = f"ITS-90 type {curve.thermocouple_type}, {curve.low_c:g} to {curve.high_c:g} degC"
        found.append(Figure(name, worst, "degC", how))
    for frame in frame_errors():
        name = f"{frame.chip} {frame.thermocouple_type}, {frame.low_c:g} to {frame.high_c:g} degC, "
        name += f"cold junction {frame.cold_low_c:g} to {frame.cold_high_c:g}"
        ratio = frame.corrected_c / frame.uncorrected_c
        found.append(Figure(name, frame.corrected_c, "degC", "rounded frames decoded", "the chip's own reading", ratio))
    return found


def signal() -> list[Figure]:
    """Noise, bias and delay of filter, rate of rise and lag compensation."""
    from panchime.measure.lag_error import lag_error
    from panchime.measure.rate_error import filter_delay_samples, rate_errors

    found = [Figure("spike filter, delay", filter_delay_samples() * 0.25, "s", "a step through the filter")]
    for rate in rate_errors():
        name = f"rate over {rate.window_s:g} s, probe noise {rate.noise_c:g} degC"
        name += f", {rate.spike_share:.0%} spikes" if rate.spike_share else ""
        how = "a ramp of 10 degC a minute and a roast's curve, seeded noise"
        found += [
            Figure(name + ": noise", rate.noise_c_per_min, "degC/min", how),
            Figure(name + ": bias", abs(rate.bias_c_per_min), "degC/min", how),
            Figure(name + ": delay", rate.delay_s, "s", how),
        ]
    lag = lag_error(8.5, 0.12)
    found.append(
        Figure(
            "lag 8.5 s compensated: behind the beans", abs(lag.compensated_behind_c), "degC", "a ramp of 9 degC a minute",
            "uncompensated", abs(lag.compensated_behind_c / lag.measured_behind_c),
        )
    )  # fmt: skip
    return found


def log() -> list[Figure]:
    """Bytes a sample against CSV and packed CSV, and roasts on a stock flash."""
    import io
    import zlib

    from panchime.journal.export import write_csv
    from panchime.journal.story import tell
    from panchime.measure.sample_roast import pulled_roast

    raw = pulled_roast()
    story = tell(raw)
    text = io.StringIO()
    write_csv(story, text)
    csv_bytes = text.getvalue().encode()
    packed = len(zlib.compress(csv_bytes, 9))
    samples = len(story.t_ms)
    how = f"a virtual roast of {samples} samples, head and plan included"
    per_sample = len(raw) / samples
    return [
        Figure("log, all told", per_sample, "bytes/sample", how, "CSV", len(raw) / len(csv_bytes)),
        Figure("log against packed CSV", len(raw), "bytes", how, "CSV with deflate", len(raw) / packed),
        Figure("roasts on a stock flash of 1408 KB", 1_200_000 / (-(-len(raw) // 4096) * 4096), "roasts",
               "whole blocks of 4096 bytes, 200 KB kept for the firmware", less_is_better=False),
    ]  # fmt: skip


def link() -> list[Figure]:
    """A pull against MicroPython's own file copy, on the same port and interpreter."""
    from panchime.measure.pull_speed import BYTES, measure, virtual_port

    with virtual_port(BYTES) as port:
        ours, pulled, _, theirs, _ = measure(port, 3)
    how = f"{BYTES} bytes, virtual board at real speed, median of 3, in turns"
    found = []
    for name, speed in (("pull, bytes alone", ours), ("pull into the journal", pulled)):
        ratio = speed.bytes_per_s / theirs.bytes_per_s
        found.append(Figure(name, speed.bytes_per_s / 1000, "kB/s", how, "mpremote", ratio, noise=0.4, less_is_better=False))
    return found


def host() -> list[Figure]:
    """Cold start against mpremote's, and decoding."""
    import statistics
    import subprocess
    import time

    from panchime.journal.story import tell
    from panchime.measure.sample_roast import pulled_roast

    def run_s(*command: str) -> float:
        begin = time.perf_counter()
        subprocess.run(command, capture_output=True, check=True)
        return time.perf_counter() - begin

    ours, theirs = [], []
    for _ in range(7):
        ours.append(run_s(sys.executable, "-m", "panchime.cli.main", "--help"))
        theirs.append(run_s(sys.executable, "-m", "mpremote", "--help"))
    ours_s, theirs_s = statistics.median(ours), statistics.median(theirs)
    raw = pulled_roast()
    begin = time.perf_counter()
    for _ in range(20):
        tell(raw)
    decode_ms = (time.perf_counter() - begin) / 20 * 1000
    return [
        Figure(
            "panchime --help, cold", ours_s * 1000, "ms", "median of 7, in turns", "mpremote --help", ours_s / theirs_s, 0.3
        ),
        Figure("decoding one roast", decode_ms, "ms", "mean of 20", noise=0.3),
    ]


def firmware() -> list[Figure]:
    """Bytes of flash that the compiled firmware takes."""
    from panchime.install.files import firmware_files
    from panchime.virtual.board import default_firmware

    files = firmware_files(default_firmware(), compiled=True)
    plain = sum(len(file.content) for file in firmware_files(default_firmware(), compiled=False))
    total = sum(len(file.content) for file in files)
    return [Figure("firmware as .mpy", total / 1024, "KB", f"{len(files)} files by mpy-cross", "its sources", total / plain)]


PARTS: dict[str, Callable[[], list[Figure]]] = {
    "temperature": temperature,
    "signal": signal,
    "log": log,
    "link": link,
    "host": host,
    "firmware": firmware,
}


def worse(figure: Figure, before: dict[str, object]) -> bool:
    """Whether a figure got worse by more than its noise. Ratios are held where there is one: they survive a slower computer."""
    now, then = (figure.value, before["value"]) if figure.ratio is None else (figure.ratio, before["ratio"])
    if not isinstance(then, (int, float)):
        return False
    less_is_better = figure.less_is_better if figure.ratio is None or not figure.less_is_better else True
    slack = abs(then) * figure.noise + 1e-9
    return now > then + slack if less_is_better else now < then - slack


def line(figure: Figure, before: dict[str, object] | None) -> str:
    """One row of the table."""
    peer = "" if figure.ratio is None else f"{figure.ratio:8.3f} x {figure.compared_with}"
    mark = "  WORSE" if before is not None and worse(figure, before) else ""
    return f"{figure.name:<76}{figure.value:>10.3f} {figure.unit:<13}{peer}{mark}"


def main(arguments: list[str] | None = None) -> int:
    """Measures, prints, writes; 1 when something got worse against the baseline."""
    parser = argparse.ArgumentParser(description="Measures how exact, small and fast Panchime is.")
    parser.add_argument("--baseline", type=Path, default=BASELINE)
    parser.add_argument("--write-baseline", type=Path)
    parser.add_argument("--only", nargs="+", choices=sorted(PARTS), default=list(PARTS))
    options = parser.parse_args(arguments)
    known = json.loads(options.baseline.read_text()) if options.baseline.is_file() else []
    baseline = {entry["name"]: entry for entry in known}
    figures: list[Figure] = []
    got_worse = 0
    for part in options.only:
        print(f"-- {part}", flush=True)
        for figure in PARTS[part]():
            before = baseline.get(figure.name)
            got_worse += before is not None and worse(figure, before)
            figures.append(figure)
            print(line(figure, before), flush=True)
    written = json.dumps([figure.as_json() for figure in figures], indent=1)
    RESULT.parent.mkdir(exist_ok=True)
    RESULT.write_text(written + "\n")
    if options.write_baseline:
        options.write_baseline.write_text(written + "\n")
    print(f"{len(figures)} figures in {RESULT}; {got_worse} worse than the baseline")
    return 1 if got_worse else 0


if __name__ == "__main__":
    sys.exit(main())
