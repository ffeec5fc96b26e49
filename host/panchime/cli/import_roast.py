"""`panchime import FILE.csv`: a roast that was logged by hand or by a thermometer."""

import argparse


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "import",
        help="take in a roast that was logged by hand",
        description="Reads a table of times and temperatures, saved by a spreadsheet as CSV; its first line names the columns. "
        "The file itself is kept beside the roast. Like: panchime import saturday.csv --time Time --temperature Beans",
    )
    parser.add_argument("file", metavar="FILE", help="the table, as CSV")
    parser.add_argument("--time", required=True, metavar="COLUMN", help="the column of the time: seconds, m:ss or h:mm:ss")
    parser.add_argument("--temperature", required=True, metavar="COLUMN", help="the column of the beans' temperature")
    parser.add_argument("--unit", choices=("C", "F"), default="C", help="the temperatures' unit")
    parser.add_argument(
        "--mark", action="append", default=[], metavar="NAME=TIME",
        help='a mark in the time of the time column: --mark "first crack=8:42"',
    )  # fmt: skip
    parser.add_argument("--name", metavar="TEXT", help="what to call it (the file's name if not said)")
    parser.add_argument("--method", metavar="METHOD", default="other", help="skillet, wok, crank popper ...")
    parser.add_argument("--when", metavar="MOMENT", help="when it was roasted: 2026-11-20, or 2026-11-20 14:30")
    parser.add_argument("--replace", action="store_true", help="the file is in the journal already: read it anew")


def run(options: argparse.Namespace) -> int:
    """Imports the roast."""
    from pathlib import Path

    from panchime.errors import PanchimeError
    from panchime.journal.journal import Journal
    from panchime.planfile.starters import method_named
    from panchime.records.hand_log import read_hand_log, seconds_of
    from panchime.records.importing import Described, HandMark, import_roast
    from panchime.records.moments import said_when
    from panchime.records.texts import name_of
    from panchime.terminal.output import note
    from panchime_fw.plan import BEANS_IN

    file = Path(options.file)
    try:
        raw = file.read_bytes()
    except OSError as error:
        raise PanchimeError(f"{options.file} cannot be read: {error.strerror}") from error
    log = read_hand_log(raw, options.file, options.time, options.temperature, options.unit)
    marks = []
    for text in options.mark:
        name, separator, time = text.rpartition("=")
        if not separator:
            raise PanchimeError(f"the mark {text!r} must have a name and a time: write it like 'first crack=8:42'")
        marks.append(HandMark(name_of(name, "the mark's name"), seconds_of(time, f"the mark {name!r}")))
    told = Described(
        name=name_of(options.name if options.name is not None else file.stem, "--name"),
        method="other" if options.method == "other" else method_named(options.method),
        unit=options.unit,
        marks=tuple(marks),
        said=said_when(options.when) if options.when is not None else None,
    )
    with Journal() as journal:
        number = import_roast(journal, file.name, raw, log, told, options.replace)
    if all(mark.name != BEANS_IN for mark in marks):
        note('beans in is not marked: stages and the length of the roast are not known. --mark "beans in=0:00" marks it')
    print(f"Roast {number}: {len(log.t_ms)} readings. 'panchime show {number}' draws it.")
    return 0
