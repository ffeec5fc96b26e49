"""`panchime compare`: roasts laid over one another, in the terminal or as a page."""

import argparse

MOST = 12  # more than that nobody can follow


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "compare",
        help="lay roasts over one another: how far apart they are",
        description="Lays roasts over one another at beans in or another mark: the curves, a table of differences, and how "
        "many degrees they are apart on average and at worst.",
    )
    parser.add_argument("numbers", type=int, nargs="+", metavar="N", help="two or more roasts; differences are from the first")
    parser.add_argument("--align", default="beans in", metavar="MARK", help="the mark at which they meet (default: beans in)")
    parser.add_argument("-o", "--output", metavar="FILE", help="write a page instead")
    parser.add_argument("--open", action="store_true", help="open the page in the browser (needs -o)")
    parser.add_argument("--force", action="store_true", help="write over a file that is no report")
    unit = parser.add_mutually_exclusive_group()
    unit.add_argument("--fahrenheit", dest="unit", action="store_const", const="F", help="in degrees Fahrenheit")
    unit.add_argument("--celsius", dest="unit", action="store_const", const="C", help="in degrees Celsius")


def run(options: argparse.Namespace) -> int:
    """Compares the roasts, in the unit of the first one's plan unless another is asked for."""
    from panchime.errors import PanchimeError
    from panchime.journal.journal import Journal
    from panchime.report.comparing import compare
    from panchime.report.gathering import gather
    from panchime.report.view import Shown

    numbers = list(dict.fromkeys(options.numbers))
    if not 2 <= len(numbers) <= MOST:
        raise PanchimeError(f"a comparison takes 2 to {MOST} different roasts, not {len(numbers)}")
    if options.open and not options.output:
        raise PanchimeError("--open needs a page: name a file with -o")
    with Journal() as journal:
        reports = [gather(journal, number, options.unit, days=()) for number in numbers]
    shown = Shown(options.unit or reports[0].account.story.unit)
    comparison = compare(reports, options.align)
    if options.output:
        from pathlib import Path

        from panchime.cli.report import show
        from panchime.report.compare_page import compare_page
        from panchime.report.page_file import fingerprint, write_page

        file = Path(options.output)
        records = [report.account.record for report in reports]
        stamp = fingerprint([report.entry for report in reports], records, shown, options.align)
        write_page(file, compare_page(comparison, shown, stamp), options.force)
        print(file)
        if options.open:
            show(file)
        return 0
    from panchime.report.compare_screen import compare_screen
    from panchime.terminal.output import ascii_only, console

    out = console()
    for part in compare_screen(comparison, shown, out.width, out.height, ascii_only()):
        out.print(part)
    return 0
