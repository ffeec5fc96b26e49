"""Spreads the making of pages over the processors; a few pages are made at once, in this process."""

import gc
import multiprocessing
import os
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any

from panchime.journal.journal import Journal
from panchime.report.index_page import Row
from panchime.report.page_maker import Batch, PageMaker

FEW = 100  # roasts; to start a process takes as long
MOST_PROCESSES = 4  # each holds about 100 MB

_maker: PageMaker | None = None


def make_all(maker: PageMaker, batches: Sequence[Batch]) -> Iterator[tuple[list[Row], int]]:
    """What the maker makes of every batch, in their order."""
    processes = min(processors(), MOST_PROCESSES)
    if processes == 1 or sum(len(batch.orders) for batch in batches) <= FEW:
        yield from map(maker.make, batches)
        return
    # Processes of their own, not copies of this one: an open SQLite file does not survive being copied.
    how = multiprocessing.get_context("spawn")
    tools = (maker.journal.file, maker.folder, maker.unit, maker.base_c, maker.days)
    executor = ProcessPoolExecutor(processes, mp_context=how, initializer=begin, initargs=tools)
    try:
        yield from executor.map(make, batches)
    finally:
        executor.shutdown(cancel_futures=True)


def processors() -> int:
    """How many processors this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def begin(journal_file: Path, *tools: Any) -> None:
    """Gives a process its maker, with the journal opened anew."""
    global _maker
    gc.freeze()  # what was imported stays: it need not be looked through again and again
    _maker = PageMaker(Journal(journal_file), *tools)


def make(batch: Batch) -> tuple[list[Row], int]:
    """What this process's maker makes of a batch."""
    assert _maker is not None, "begin() is run first in every process"
    return _maker.make(batch)
