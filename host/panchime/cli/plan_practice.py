"""`panchime plan from-roast`, `rehearse` and `diff`: plans beside roasts, without a board."""

import argparse
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from panchime.planfile.reading import PlanText
    from panchime.rehearsal.rehearsal import Rehearsal


def register_practice(actions: "argparse._SubParsersAction[argparse.ArgumentParser]") -> None:
    """Adds the three actions."""
    made = actions.add_parser(
        "from-roast",
        help="make a plan from a roast that went well",
        description="The cues come at the temperatures of its marks, a few by time, and its curve is the guide.",
    )
    made.add_argument("number", type=int, metavar="N", help="the roast's number in 'panchime roasts'")
    made.add_argument("file", nargs="?", default="-", metavar="FILE", help="where to write it (the screen if not said)")
    made.add_argument("--force", action="store_true", help="write over a file that is there")
    rehearse = actions.add_parser(
        "rehearse",
        help="see which cues a plan would have sounded in a kept roast",
        description="Goes through a kept roast, or the virtual roaster, as the board would with this plan, and lists which "
        "cues would have sounded when. No board is needed.",
    )
    rehearse.add_argument("file", metavar="PLAN", help="the plan file; - reads what another program writes")
    over = rehearse.add_mutually_exclusive_group(required=True)
    over.add_argument("number", nargs="?", type=int, metavar="N", help="the roast's number in 'panchime roasts'")
    over.add_argument("--scenario", metavar="NAME", help="a virtual roast instead, like skillet-mild")
    rehearse.add_argument("--seed", type=int, default=0, metavar="NUMBER", help="with --scenario: another day, other beans")
    rehearse.add_argument("--json", action="store_true", help="as JSON, for other programs")
    diff = actions.add_parser(
        "diff",
        help="say in words what changed from one plan to another",
        description="Lists, one a line, which limit, mark, milestone or sound changed.",
    )
    for name, words in (("before", "the plan that was"), ("after", "the plan that is")):
        diff.add_argument(name, metavar=name.upper(), help=f"{words}: a file, or the number of a roast that ran by it")


def run_from_roast(options: argparse.Namespace) -> int:
    """Writes the plan."""
    import sys

    from panchime.cli.plan import write_text
    from panchime.journal.journal import Journal
    from panchime.planfile.from_roast import plan_from_roast, plan_text
    from panchime.planfile.reading import PlanText, checked
    from panchime.records.records import Records, when_of
    from panchime.terminal.command_line import command_line
    from panchime.terminal.output import note
    from panchime.terminal.safe_text import safe_line
    from panchime.terminal.words import when

    with Journal() as journal:
        records = Records(journal)
        entry = records.entry(options.number)
        story = records.story(options.number)
        day = when(when_of(entry, records.of(options.number)))
    document = plan_from_roast(story, options.number)
    text = plan_text(document, options.number, day if day != "unknown" else "its day is not known")
    checked(PlanText(f"the plan from roast {options.number}", text, document))
    if story.trips:
        note(f"roast {options.number} tripped ({story.trips[0].words}): is it the one to repeat?")
    if options.file == "-":
        sys.stdout.write(text)
        return 0
    write_text(options.file, text, options.force)
    print(f"{safe_line(options.file)} is written. This tries it out:")
    print(f"  {safe_line(command_line(['plan', 'rehearse', options.file, str(options.number)]))}")
    return 0


def run_rehearse(options: argparse.Namespace) -> int:
    """Rehearses the plan and shows what would have sounded."""
    from panchime.planfile.reading import checked, read_plan
    from panchime.terminal.output import console, print_json

    plan = checked(read_plan(options.file))
    rehearsal = rehearsed(plan, options)
    if options.json:
        print_json(rehearsal_as_json(rehearsal))
        return 0
    from panchime.terminal.rehearsal_table import rehearsal_screen

    out = console()
    for part in rehearsal_screen(rehearsal, plan.document.get("unit", "C")):
        out.print(part)
    return 0


def rehearsed(plan: "PlanText", options: argparse.Namespace) -> "Rehearsal":
    """The rehearsal that is asked for."""
    if options.scenario is not None:
        from panchime.rehearsal.virtual_roast import over_scenario
        from panchime.virtual.roaster.scenario import load_scenario

        return over_scenario(plan.document, load_scenario(options.scenario), options.seed)
    from panchime.journal.journal import Journal
    from panchime.records.records import Records
    from panchime.rehearsal.kept_roast import over_kept_roast

    with Journal() as journal:
        story = Records(journal).story(options.number)
    return over_kept_roast(plan.document, story, f"roast {options.number}, {story.plan_name}")


def rehearsal_as_json(rehearsal: "Rehearsal") -> dict[str, Any]:
    """A rehearsal as docs/json.md describes it."""
    from panchime.journal.as_json import celsius

    return {
        "over": rehearsal.over,
        "refused": rehearsal.refused or None,
        "happenings": [
            {
                "t_ms": happening.t_ms,
                "what": happening.kind,
                "words": happening.words,
                "sound": happening.sound or None,
                "sounded": happening.sounded,
                "temperature_c": celsius(happening.temperature_centi),
            }
            for happening in rehearsal.happenings
        ],
        "never": list(rehearsal.never),
        "foreign_marks": list(rehearsal.foreign_marks),
    }


def run_diff(options: argparse.Namespace) -> int:
    """Says what changed."""
    from panchime.planfile.differences import differences
    from panchime.terminal.safe_text import safe_line

    found = differences(named_plan(options.before).document, named_plan(options.after).document)
    for sentence in found:
        print(safe_line(sentence))
    if not found:
        print("The two plans are the same.")
    return 0


def named_plan(name: str) -> "PlanText":
    """A plan by its file, or by the number of a roast. Raises PanchimeError with its mistakes, if it has any."""
    from pathlib import Path

    from panchime.planfile.reading import PlanText, checked, read_plan

    if not name.isdecimal() or Path(name).exists():
        return checked(read_plan(name))
    from panchime.journal.journal import Journal
    from panchime.journal.story import tell

    with Journal() as journal:
        document = tell(journal.raw(int(name))).plan
    return checked(PlanText(f"the plan of roast {name}", "", document))
