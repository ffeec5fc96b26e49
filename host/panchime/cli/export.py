"""`panchime export`: roasts of the journal as CSV, JSON, Parquet, or a raw log."""

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.journal.journal import Journal


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "export",
        help="write roasts as tables (CSV) for a spreadsheet, or for programs",
        description="One row a reading, times in seconds from the start of the log, temperatures in degrees Celsius, the marks "
        "as you corrected them. What was written where is said beside it (on standard error).",
    )
    parser.add_argument("numbers", nargs="*", metavar="N", help="roasts by number: 3, or 1-20 (for --json and --parquet)")
    parser.add_argument("--all", action="store_true", help="every roast of the journal")
    form = parser.add_mutually_exclusive_group(required=True)
    form.add_argument("--csv", nargs="?", const="-", metavar="FILE", help="one roast as CSV into FILE, or to the screen")
    form.add_argument("--raw", metavar="FILE", help="one roast's log, exactly as the board recorded it; - for the screen")
    form.add_argument("--json", nargs="?", const="-", metavar="FILE", help="as JSON into FILE, or to the screen")
    form.add_argument("--parquet", metavar="FILE", help="as Parquet, for programs that work with large tables")
    form.add_argument("--imported", metavar="FILE", help="the very file that an imported roast was read from")
    parser.add_argument("--force", action="store_true", help="write over a file that is there")


def run(options: argparse.Namespace) -> int:
    """Writes the roasts."""
    import io

    from panchime.journal.journal import Journal
    from panchime.records.records import Records

    with Journal() as journal:
        numbers = chosen(options, journal)
        if options.json is not None:
            write_bytes(options.json, json_bytes(journal, numbers), options.force)
            tell(options.json, roasts_words(numbers))
            return 0
        if options.parquet is not None:
            write_parquet_file(options, journal, numbers)
            return 0
        number = the_one(numbers)
        if options.raw is not None:
            raw = journal.raw(number)
            write_bytes(options.raw, raw, options.force)
            tell(options.raw, f"the log of roast {number}, {len(raw)} bytes, as the board kept it")
        elif options.imported is not None:
            from panchime.records.importing import imported_raw

            raw = imported_raw(journal, number)
            write_bytes(options.imported, raw, options.force)
            tell(options.imported, f"the file that roast {number} was read from, {len(raw)} bytes")
        else:
            from panchime.journal.export import write_csv

            text = io.StringIO(newline="")
            rows = write_csv(Records(journal).story(number), text)
            write_bytes(options.csv, text.getvalue().encode("utf-8"), options.force)
            tell(options.csv, f"roast {number}, {rows} rows below the headings")
    return 0


def tell(name: str, what: str) -> None:
    """Says what was written where: beside the data, which may go to standard output."""
    from panchime.terminal.output import note

    note(f"{'standard output' if name == '-' else name}: {what}")


def roasts_words(numbers: list[int]) -> str:
    """How many roasts, and which."""
    if len(numbers) == 1:
        return f"roast {numbers[0]}"
    return f"{len(numbers)} roasts, {min(numbers)} to {max(numbers)}" if numbers else "no roasts, the journal is empty"


def chosen(options: argparse.Namespace, journal: "Journal") -> list[int]:
    """The numbers that are asked for, each of them in the journal. Raises PanchimeError for what is no number."""
    from panchime.errors import PanchimeError

    if options.all:
        if options.numbers:
            raise PanchimeError("--all is every roast: leave the numbers out")
        return [entry.number for entry in journal.entries()]
    known = [entry.number for entry in journal.entries()]
    found: list[int] = []
    for text in options.numbers:
        first, dash, last = text.partition("-")
        if not first.isdecimal() or (dash and not last.isdecimal()):
            raise PanchimeError(f"{text!r} is no roast: write its number, or 1-20 for several")
        if not dash:
            found.append(journal.entry(int(first)).number)
            continue
        inside = [number for number in known if int(first) <= number <= int(last)]
        if not inside:
            has = f"it has {known[0]} to {known[-1]}" if known else "it is empty"
            raise PanchimeError(f"the journal has no roast from {first} to {last}, {has}: 'panchime roasts' lists them")
        found += inside
    if not found:
        raise PanchimeError("say which roast: its number, 1-20 for several, or --all")
    return list(dict.fromkeys(found))


def the_one(numbers: list[int]) -> int:
    """The single roast that is asked for. Raises PanchimeError when there are several."""
    from panchime.errors import PanchimeError

    if len(numbers) != 1:
        raise PanchimeError(f"a file of this kind holds one roast, not {len(numbers)}: --json and --parquet hold many")
    return numbers[0]


def json_bytes(journal: "Journal", numbers: list[int]) -> bytes:
    """A list of what 'show --json' shows of each roast."""
    import json

    from panchime.journal.as_json import story_as_json
    from panchime.records.as_json import record_as_json
    from panchime.records.records import Records

    records = Records(journal)
    roasts = [
        story_as_json(records.entry(number), records.story(number))
        | {"kind": records.kind(number), "record": record_as_json(records.of(number))}
        for number in numbers
    ]
    return (json.dumps(roasts, ensure_ascii=False, indent=1) + "\n").encode("utf-8")


def write_parquet_file(options: argparse.Namespace, journal: "Journal", numbers: list[int]) -> None:
    """Writes the Parquet file, in memory first: a file that stands there is whole."""
    import io

    from panchime.records.parquet import write_parquet
    from panchime.records.records import Records

    records = Records(journal)
    memory = io.BytesIO()
    rows = write_parquet(memory, ((records.entry(number), records.story(number), records.of(number)) for number in numbers))
    write_bytes(options.parquet, memory.getvalue(), options.force)
    tell(options.parquet, f"{roasts_words(numbers)}, {rows} rows")


def write_bytes(name: str, data: bytes, force: bool) -> None:
    """Writes a file, or standard output for ``-``.

    Raises PanchimeError when it is there already or cannot be written.
    """
    from panchime.errors import PanchimeError

    if name == "-":
        sys.stdout.flush()
        sys.stdout.buffer.write(data)
        sys.stdout.buffer.flush()
        return
    try:
        with open(name, "wb" if force else "xb") as file:
            file.write(data)
    except FileExistsError:
        raise PanchimeError(f"{name} is there already: --force writes over it, or name another file") from None
    except OSError as error:
        raise PanchimeError(f"{name} cannot be written: {error.strerror}") from error
