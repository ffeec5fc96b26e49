"""How far a campaign is and how long it will take, on a terminal; nothing where no terminal is."""

from collections.abc import Iterable, Iterator
from typing import TypeVar

from rich.console import Console
from rich.progress import BarColumn, MofNCompleteColumn, Progress, TextColumn, TimeRemainingColumn

Result = TypeVar("Result")


def shown(results: Iterable[Result], count: int, what: str) -> Iterator[Result]:
    """Passes `count` results on and tells how many have come."""
    console = Console(stderr=True)
    columns = (TextColumn("{task.description}"), BarColumn(), MofNCompleteColumn(), TimeRemainingColumn())
    with Progress(*columns, console=console, disable=not console.is_terminal) as progress:
        yield from progress.track(results, total=count, description=what)
