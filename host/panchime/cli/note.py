"""`panchime note N`: words, photos, the day, and corrections of the marks."""

import argparse
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from panchime.journal.story import Story
    from panchime.records.corrections import Correction
    from panchime.records.records import Records


def register(commands: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the command to the command line."""
    parser = commands.add_parser(
        "note",
        help="write down words, photos, the day; correct marks",
        description="Without words or options it shows what is written down. What the board recorded is never changed: "
        "the corrections stand beside it.",
    )
    parser.add_argument("number", type=int, metavar="N", help="the roast's number in 'panchime roasts'")
    parser.add_argument("words", nargs="?", metavar="WORDS", help="a note, in quotes")
    parser.add_argument("--when", metavar="MOMENT", help="when it was roasted: 2026-11-20, or 2026-11-20 14:30")
    parser.add_argument("--day-temperature", metavar="DEGREES", help="how warm the place was: 18, 18C or 64F")
    parser.add_argument("--degree", metavar="WORDS", help="how dark it is, in your words: City, medium")
    parser.add_argument("--photo", action="append", default=[], metavar="PATH", help="keep a photo; may be given several times")
    parser.add_argument(
        "--mark", nargs=2, action="append", default=[], metavar=("NAME", "TIME"),
        help="a mark was at this time, as 'show' counts it (8:42), or from the start of the log (@10:12)",
    )  # fmt: skip
    parser.add_argument("--unmark", action="append", default=[], metavar="NAME", help="a mark was never there")
    parser.add_argument("--as-recorded", action="append", default=[], metavar="NAME", help="take a correction back")
    parser.add_argument("--remove-note", type=int, metavar="K", help="remove note K")
    parser.add_argument("--remove-photo", type=int, metavar="K", help="remove photo K")
    parser.add_argument("--save-photos", metavar="FOLDER", help="write the kept photos into a folder")
    parser.add_argument(
        "--forget", action="append", default=[], choices=("when", "day-temperature", "degree"),
        help="forget one of these",
    )  # fmt: skip
    parser.add_argument("--json", action="store_true", help="the roast's record as JSON, for other programs")


FORGET = {"when": "said_when", "day-temperature": "day_temperature_centi", "degree": "degree"}


def run(options: argparse.Namespace) -> int:
    """Writes down what is given and shows everything."""
    from panchime.journal.journal import Journal
    from panchime.records.records import Records
    from panchime.terminal.output import console, print_json

    with Journal() as journal:
        records = Records(journal)
        journal.entry(options.number)
        write(options, records)
        record = records.of(options.number)
        story = records.story(options.number)
        entry = records.entry(options.number)
    if options.json:
        from panchime.records.as_json import record_as_json

        print_json(record_as_json(record))
        return 0
    if record.is_empty:
        print(f"Nothing is written down about roast {options.number}: 'panchime note {options.number} \"words\"' does it.")
        return 0
    from panchime.terminal.record_screen import record_table
    from panchime.terminal.roast_screen import marks_table, zero_of
    from panchime.terminal.words import when

    out = console()
    out.print(f"Roast {options.number}, {when(entry.when)}" if entry.when.kind != "unknown" else f"Roast {options.number}")
    out.print(record_table(record, story.unit, board_when=entry.when))
    marks = marks_table(story, story.unit, zero_of(story))
    if record.corrections and marks is not None:
        out.print()
        out.print(marks)
    return 0


def write(options: argparse.Namespace, records: "Records") -> None:
    """Checks everything first, then writes it down."""
    from panchime.records.moments import said_when
    from panchime.records.photos import read_photo, write_photo
    from panchime.records.temperatures import temperature_centi
    from panchime.records.texts import name_of, words_of

    number = options.number
    words = words_of(options.words, "the note") if options.words is not None else None
    said = said_when(options.when) if options.when is not None else None
    day_centi = temperature_centi(options.day_temperature, "--day-temperature") if options.day_temperature else None
    degree = name_of(options.degree, "--degree") if options.degree is not None else None
    photos = [read_photo(path) for path in options.photo]
    changes = corrections(options, records.story(number)) if options.mark or options.unmark else []
    if options.remove_note is not None:
        records.roasts.remove_note(number, options.remove_note)
    if options.remove_photo is not None:
        records.roasts.remove_photo(number, options.remove_photo)
    if options.forget:
        records.roasts.forget(number, [FORGET[name] for name in options.forget])
    if said or day_centi is not None or degree:
        records.roasts.say(number, said_when=said, day_temperature_centi=day_centi, degree=degree)
    if words:
        records.roasts.add_note(number, words)
    for photo in photos:
        records.roasts.add_photo(number, photo)
    for name in options.as_recorded:
        records.roasts.withdraw(number, name)
    for correction in changes:
        records.roasts.correct(number, correction)
    if options.save_photos:
        from pathlib import Path

        for place, kept in enumerate(records.of(number).photos, start=1):
            file = write_photo(Path(options.save_photos), number, place, kept.name, records.roasts.photo_raw(kept))
            print(f"{file} is written.")


def corrections(options: argparse.Namespace, story: "Story") -> "list[Correction]":
    """The person's word on the marks. Raises PanchimeError for a time outside the log or a mark that is not there."""
    from panchime.errors import PanchimeError
    from panchime.records.corrections import Correction
    from panchime.records.mark_times import mark_t_ms
    from panchime.records.texts import name_of
    from panchime.terminal.near_words import did_you_mean

    found = []
    for name, time in options.mark:
        found.append(Correction(name_of(name, "the mark's name"), mark_t_ms(story, time)))
    for name in options.unmark:
        if story.mark(name) is None:
            marks = [mark.name for mark in story.marks]
            raise PanchimeError(
                f"roast {options.number} has no mark {name!r}; it has: {', '.join(marks) or 'none'}{did_you_mean(name, marks)}"
            )
        found.append(Correction(name, None))
    return found
