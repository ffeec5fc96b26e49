"""Many roasts as one Parquet file for data frames: a row a sample, what is known of the roast beside it."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any, BinaryIO

from panchime.errors import PanchimeError
from panchime.journal.export import placed, slots
from panchime.journal.journal import RoastEntry
from panchime.journal.story import Story
from panchime.records.as_json import grams
from panchime.records.records import when_of
from panchime.records.roast_record import RoastRecord
from panchime_fw.plan import BEANS_IN

if TYPE_CHECKING:
    import pyarrow


def write_parquet(file: BinaryIO, roasts: Iterable[tuple[RoastEntry, Story, RoastRecord]]) -> int:
    """Writes the roasts, one row group each, so that only one is in memory; gives how many rows. docs/records.md names the
    columns.

    Raises PanchimeError when pyarrow is not installed.
    """
    try:
        import pyarrow.parquet
    except ImportError as error:
        raise PanchimeError("Parquet needs pyarrow, which is not installed: pip install 'panchime[parquet]'") from error
    layout = columns()
    count = 0
    with pyarrow.parquet.ParquetWriter(file, layout, compression="zstd") as writer:
        for entry, story, record in roasts:
            table = pyarrow.table(rows_of(entry, story, record), schema=layout)
            count += table.num_rows
            writer.write_table(table)
    return count


def columns() -> "pyarrow.Schema":
    """The columns and their types."""
    import pyarrow as pa

    word = pa.dictionary(pa.int32(), pa.string())
    return pa.schema(
        [
            ("roast", pa.int32()),
            ("time_s", pa.float64()),
            ("since_beans_in_s", pa.float64()),
            ("bean_temperature_c", pa.float64()),
            ("cold_junction_c", pa.float64()),
            ("rate_of_rise_c_per_min", pa.float64()),
            ("mark", word),
            ("milestone", word),
            ("relay_closed", pa.bool_()),
            ("fault", word),
            ("plan", word),
            ("method", word),
            ("state", word),
            ("began_utc", pa.timestamp("ms", tz="UTC")),
            ("began_until_utc", pa.timestamp("ms", tz="UTC")),
            ("lot", word),
            ("degree", word),
            ("green_g", pa.float64()),
            ("roasted_g", pa.float64()),
        ]
    )


def rows_of(entry: RoastEntry, story: Story, record: RoastRecord) -> dict[str, list[Any]]:
    """The columns of one roast, lists of equal length."""
    rows = slots(story)
    times = [t_ms for t_ms, _ in rows]
    sample = {t_ms: index for index, t_ms in enumerate(story.t_ms)}
    beans_in = story.mark(BEANS_IN)
    marks = placed(times, [(mark.t_ms, mark.name) for mark in story.marks])
    milestones = placed(times, [(hit.t_ms, hit.label) for hit in story.milestones if hit.sounded])
    when = when_of(entry, record)
    found: dict[str, list[Any]] = {name: [] for name in columns().names}
    same = {
        "roast": entry.number,
        "plan": story.plan_name,
        "method": story.method,
        "state": entry.state,
        "began_utc": when.from_utc_ms,
        "began_until_utc": when.to_utc_ms,
        "lot": record.lot.name if record.lot else None,
        "degree": record.degree,
        "green_g": grams(record.green_mg),
        "roasted_g": grams(record.roasted_mg),
    }
    for name, value in same.items():
        found[name] = [value] * len(rows)
    spans = story.closed_spans
    for place, (t_ms, cells) in enumerate(rows):
        index = sample.get(t_ms)
        found["time_s"].append(t_ms / 1000)
        found["since_beans_in_s"].append((t_ms - beans_in.t_ms) / 1000 if beans_in else None)
        found["bean_temperature_c"].append(None if index is None else story.temperature_centi[index] / 100)
        found["cold_junction_c"].append(hundredths(story.cold_centi, index))
        found["rate_of_rise_c_per_min"].append(hundredths(story.rate_centi_per_min, index))
        found["mark"].append(marks.get(place))
        found["milestone"].append(milestones.get(place))
        found["relay_closed"].append(any(begin <= t_ms < end for begin, end in spans) if story.relay else None)
        found["fault"].append(cells[3] or None)
    return found


def hundredths(values: list[int | None], index: int | None) -> float | None:
    """A value at an index as a number, None where there is none."""
    value = None if index is None else values[index]
    return None if value is None else value / 100
