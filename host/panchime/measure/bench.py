"""`make bench`: how exact, small and fast this is; a table, `build/bench.json`, and what got worse against the baseline.

    python -m panchime.measure.bench [--only PART ...] [--write-baseline] [--baseline FILE]
"""

import argparse
import compileall
import sys
from collections.abc import Callable
from pathlib import Path

import panchime
import panchime_fw
from panchime.measure.comparison import as_json, got_worse, read_baseline, renewed
from panchime.measure.figure import Figure

RESULT = Path("build") / "bench.json"
BASELINE = Path("tests") / "bench-baseline.json"
LOG_NOISE = 0.01  # the virtual board's moments of a press shift by a sample now and then


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
    from panchime.measure.rate_peers import peer_figures

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
    return found + peer_figures()


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
    on_flash = -(-len(raw) // 4096) * 4096
    return [
        Figure("log, all told", len(raw) / samples, "bytes/sample", how, "CSV", len(raw) / len(csv_bytes), LOG_NOISE),
        Figure("log of one roast", len(raw), "bytes", how, "its CSV with deflate", len(raw) / packed, LOG_NOISE),
        Figure("roasts in a megabyte of flash", 1_000_000 / on_flash, "roasts", "whole blocks of 4096 bytes",
               noise=LOG_NOISE, less_is_better=False),
        Figure("roasts on a stock flash of 1408 KB", 1_200_000 / on_flash, "roasts",
               "whole blocks of 4096 bytes, 200 KB kept for the firmware", noise=LOG_NOISE, less_is_better=False),
    ]  # fmt: skip


def link() -> list[Figure]:
    """A pull, a question, a plan against MicroPython's own tool, on the same kind of port and interpreter."""
    from panchime.measure.link_figures import link_figures

    return link_figures()


def host() -> list[Figure]:
    """Cold starts, decoding, analysis."""
    from panchime.measure.host_figures import host_figures

    return host_figures()


def board() -> list[Figure]:
    """Work of a pass, heap, the longest pass, the way from power-on to a watched relay."""
    from panchime.measure.board_figures import board_figures

    return board_figures()


def roaster() -> list[Figure]:
    """How fast virtual time passes on either interpreter."""
    from panchime.measure.roaster_speed import speed_figures

    return speed_figures()


def firmware() -> list[Figure]:
    """Bytes of flash that the compiled firmware takes."""
    from panchime.install.files import firmware_files
    from panchime.virtual.board import default_firmware

    files = firmware_files(default_firmware(), compiled=True)
    plain = sum(len(file.content) for file in firmware_files(default_firmware(), compiled=False))
    total = sum(len(file.content) for file in files)
    how = f"{len(files)} files as panchime install brings them"
    return [
        Figure("firmware, compiled and packed", total / 1024, "KB", how, "its sources", total / plain),
        Figure("flash that an installation takes", total / 1024, "KB", how, goal=100),
    ]


def journal() -> list[Figure]:
    """List, one roast, a filter and the pages of journals of a hundred to a hundred thousand roasts, and how they grow."""
    from panchime.measure.journal_size import figures

    return figures()


def memory() -> list[Figure]:
    """Heap of the installed firmware, and the smallest in which a roast goes through."""
    from panchime.measure.board_memory import figures

    return figures()


PARTS: dict[str, Callable[[], list[Figure]]] = {
    "board": board,
    "temperature": temperature,
    "signal": signal,
    "log": log,
    "link": link,
    "host": host,
    "journal": journal,
    "roaster": roaster,
    "firmware": firmware,
    "memory": memory,
}


def line(figure: Figure, then: Figure | None) -> str:
    """One row of the table."""
    peer = "" if figure.ratio is None else f"{figure.ratio:9.3f} x {figure.compared_with}"
    noise = f"+-{figure.noise:.0%}" if figure.noise else ""
    mark = ("  WORSE" if got_worse(figure, then) else "") + ("" if figure.meets_goal else f"  GOAL {figure.goal:g} MISSED")
    return f"{figure.name:<80}{figure.value:>11.3f} {figure.unit:<13}{noise:>6} {peer}{mark}".rstrip()


def compile_once() -> None:
    """Python's own byte code of our packages, as it lies beside any library: else a start is timed with the compiler."""
    for package in (panchime, panchime_fw):
        for folder in package.__path__:
            compileall.compile_dir(folder, quiet=2)


def main(arguments: list[str] | None = None) -> int:
    """Measures, prints, writes; 1 when something got worse against the baseline, or misses its goal."""
    parser = argparse.ArgumentParser(description="Measures how exact, small and fast Panchime is.")
    parser.add_argument("--baseline", type=Path, default=BASELINE)
    parser.add_argument(
        "--write-baseline", action="store_true", help="keep the figures as the new baseline; with --only those parts' alone"
    )
    parser.add_argument("--only", nargs="+", choices=sorted(PARTS), default=list(PARTS))
    options = parser.parse_args(arguments)
    compile_once()
    baseline = read_baseline(options.baseline)
    figures: list[Figure] = []
    for part in options.only:
        print(f"-- {part}", flush=True)
        for figure in PARTS[part]():
            figures.append(figure)
            print(line(figure, baseline.get(figure.name)), flush=True)
    RESULT.parent.mkdir(exist_ok=True)
    RESULT.write_text(as_json(figures))
    worse = sum(got_worse(figure, baseline.get(figure.name)) for figure in figures)
    missed = sum(not figure.meets_goal for figure in figures)
    if options.write_baseline:
        # A whole run leaves nothing of the old one: a figure that is measured no more would stay for ever.
        kept = baseline if set(options.only) < set(PARTS) else {}
        options.baseline.write_text(as_json(renewed(kept, figures)))
        print(f"{options.baseline} is written; python tools/build_bench_table.py puts it into the README")
    print(f"{len(figures)} figures in {RESULT}; {worse} worse than the baseline, {missed} short of their goal")
    return 1 if missed or (worse and not options.write_baseline) else 0


if __name__ == "__main__":
    sys.exit(main())
