"""Writes the table of trips in SAFETY.md from panchime_fw/trips.py. `--check` only says whether it is right."""

import sys
from pathlib import Path

from panchime_fw import trips

PAGE = Path(__file__).parent.parent / "SAFETY.md"
BEGIN = "<!-- trips: made from panchime_fw/trips.py, checked by the tests -->\n"
END = "<!-- end of trips -->\n"


def table() -> str:
    rows = [f"| {trips.NAMES[number]} | {trips.ADVICE[number]} |\n" for number in sorted(trips.NAMES) if number != trips.NONE]
    return "| trip | what it asks of you |\n| --- | --- |\n" + "".join(rows)


def page_with_table(page: str) -> str:
    before, rest = page.split(BEGIN)
    _, after = rest.split(END)
    return before + BEGIN + table() + END + after


def main() -> int:
    page = PAGE.read_text(encoding="utf-8")
    made = page_with_table(page)
    if "--check" in sys.argv[1:]:
        return 0 if page == made else 1
    PAGE.write_text(made, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
