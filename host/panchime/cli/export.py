"""`panchime export N`: one roast of the journal as CSV, or its raw log."""

import argparse
import sys


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "export",
        help="write one roast of the journal as CSV, or its raw log",
        description="CSV has one row a sample, times in seconds from the start of the log, temperatures in degrees Celsius.",
    )
    parser.add_argument("number", type=int, metavar="N", help="the roast's number in 'panchime roasts'")
    form = parser.add_mutually_exclusive_group(required=True)
    form.add_argument("--csv", nargs="?", const="-", metavar="FILE", help="as CSV into FILE, or to the screen")
    form.add_argument("--raw", metavar="FILE", help="the log's bytes as the board kept them, - for standard output")
    parser.add_argument("--force", action="store_true", help="write over a file that is there")


def run(options: argparse.Namespace) -> int:
    """Writes the roast."""
    import io

    from panchime.journal.export import write_csv
    from panchime.journal.journal import Journal
    from panchime.journal.story import tell

    with Journal() as journal:
        raw = journal.raw(options.number)
    if options.raw is not None:
        write_bytes(options.raw, raw, options.force)
        return 0
    text = io.StringIO(newline="")
    write_csv(tell(raw), text)
    write_bytes(options.csv, text.getvalue().encode("utf-8"), options.force)
    return 0


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
