"""`panchime report`: roasts as pages for a browser, a phone or paper."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

DEFAULT_FOLDER = "panchime-roasts"


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "report",
        help="write a roast as a page for a browser, a phone or paper",
        description="Writes one HTML file that needs no network: curve, rate of rise, stages, marks, milestones, what the "
        "curve says, and what you wrote down. With --all, a list of every roast and a page for each, as far as they changed.",
    )
    parser.add_argument("number", type=int, nargs="?", metavar="N", help="the roast's number in 'panchime roasts'")
    parser.add_argument("--all", action="store_true", help="every roast of the journal, into a folder")
    parser.add_argument(
        "-o", "--output", metavar="FILE", help=f"where to (default: roast-N.html; with --all the folder {DEFAULT_FOLDER})"
    )
    parser.add_argument(
        "--every-page",
        action="store_true",
        help="with --all: a whole page for every roast; else the newest 500 have one, and older ones are drawn in brief",
    )
    parser.add_argument("--open", action="store_true", help="open the page in the browser")
    parser.add_argument("--force", action="store_true", help="write over a file that is no report")
    parser.add_argument("--json", action="store_true", help="what the analysis finds in roast N as JSON, instead of a page")
    parser.add_argument(
        "--heat-above",
        type=float,
        metavar="DEGREES",
        help="count the heat since yellow above this temperature (default: the reading at yellow)",
    )
    unit = parser.add_mutually_exclusive_group()
    unit.add_argument("--fahrenheit", dest="unit", action="store_const", const="F", help="in degrees Fahrenheit")
    unit.add_argument("--celsius", dest="unit", action="store_const", const="C", help="in degrees Celsius")


def run(options: argparse.Namespace) -> int:
    """Writes the page or the folder."""
    from panchime.errors import PanchimeError

    if (options.number is None) is not options.all or (options.all and options.json):
        raise PanchimeError("name one roast, as in 'panchime report 3', or every one with --all; --json is for one")
    return write_all(options) if options.all else write_one(options)


def base_c(options: argparse.Namespace, unit: str) -> float | None:
    """The base of the heat in degC, None for the reading at yellow; on the command line it is in the page's unit.

    Raises PanchimeError for a wild one.
    """
    from panchime.errors import PanchimeError

    if options.heat_above is None:
        return None
    celsius = float((options.heat_above - 32) / 1.8 if unit == "F" else options.heat_above)
    if not 0 <= celsius <= 300:
        raise PanchimeError(f"--heat-above {options.heat_above:g} °{unit} must be between 0 and 300 °C")
    return celsius


def write_one(options: argparse.Namespace) -> int:
    """One roast's page, or its analysis as JSON."""
    from pathlib import Path

    from panchime.journal.journal import Journal
    from panchime.report.gathering import gather
    from panchime.report.view import Shown
    from panchime.terminal.output import print_json

    with Journal() as journal:
        unit = options.unit or journal.entry(options.number).unit
        base = base_c(options, unit)
        report = gather(journal, options.number, unit, base)
        if options.json:
            from panchime.report.as_json import report_as_json

            print_json(report_as_json(report))
            return 0
        from panchime.report.page_file import fingerprint, write_page
        from panchime.report.roast_page import roast_page

        stamp = fingerprint(report.entry, report.account.record, journal.raw(options.number), report.days, unit, base)
    file = Path(options.output or f"roast-{options.number}.html")
    write_page(file, roast_page(report, Shown(unit), stamp), options.force)
    print(file)
    if options.open:
        show(file)
    return 0


def write_all(options: argparse.Namespace) -> int:
    """The list and all pages."""
    import sys
    from pathlib import Path

    from panchime.journal.journal import Journal
    from panchime.report.folder import WHOLE_PAGES, write_folder
    from panchime.report.page_maker import INDEX

    folder = Path(options.output or DEFAULT_FOLDER)

    def progress(done: int, of: int) -> None:
        print(f"\r{done} of {of}", end="\n" if done == of else "", file=sys.stderr, flush=True)

    with Journal() as journal:
        base = base_c(options, options.unit or "C")
        shown = progress if sys.stderr.isatty() else None
        count, changed = write_folder(journal, folder, options.unit, base, shown, None if options.every_page else WHOLE_PAGES)
    roasts, files = "roast" if count == 1 else "roasts", "file" if changed == 1 else "files"
    print(f"{folder / INDEX}: {count} {roasts}, {changed} {files} written")
    if options.open:
        show(folder / INDEX)
    return 0


def show(file: "Path") -> None:
    """Opens a page in the browser; says so when there is none."""
    import webbrowser

    from panchime.terminal.output import note

    if not webbrowser.open(file.resolve().as_uri()):
        note(f"no browser could be started: open {file} yourself")
