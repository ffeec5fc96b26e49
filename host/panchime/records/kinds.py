"""What a log of the journal is: coffee, or a run that made none.

A number of ``panchime roasts`` is given to every log. A proof of the cutoff, a run that was stopped before beans went in, one
that tripped: none of them rests, is drunk, or uses up green beans, unless the person weighed what came out.
"""

from panchime.journal.journal import RoastEntry
from panchime.journal.summary import RUNNING, TRIPPED
from panchime.records.roast_record import RoastRecord
from panchime_fw.mark_names import BEANS_IN, BEANS_OUT

# The plan of 'panchime check --cutoff' is known by its name, in the journal too.
PROOF_NAME = "Proof of the cutoff"

COFFEE = "coffee"
STILL_RUNNING = "still running"
PROOF = "proof of the cutoff"
NO_BEANS = "no beans went in"
TOO_SHORT = "stopped before it was roasted"
CUT_OFF = "tripped"  # over a flame the alarm sounded and nothing was cut

# The lightest roasts end at 195 degC, and set-ups differ by about 10 (common practice, no source); a little below both.
LIGHTEST_CENTI = 18000
# The quickest hot-air popper takes about 4 minutes (common practice, no source).
SHORTEST_MS = 120_000


def kind_of(entry: RoastEntry, record: RoastRecord) -> str:
    """One of the words above. Roasted beans on the person's scales are coffee, whatever the log says."""
    if record.roasted_mg:
        return COFFEE
    if entry.plan_name == PROOF_NAME:
        return PROOF
    if entry.state == RUNNING:
        return STILL_RUNNING
    if record.imported_from:
        return COFFEE
    if not went_in(entry):
        return NO_BEANS
    if entry.state == TRIPPED:
        return CUT_OFF
    return COFFEE if was_roasted(entry) else TOO_SHORT


def has_beans(entry: RoastEntry, record: RoastRecord) -> bool:
    """Whether green beans went into it: only such a roast uses up a lot, and costs."""
    return kind_of(entry, record) not in (PROOF, NO_BEANS)


def went_in(entry: RoastEntry) -> bool:
    """Whether beans in was marked, or the log is that of a roast by its heat and its length."""
    return any(mark.name == BEANS_IN for mark in entry.marks) or was_roasted(entry)


def was_roasted(entry: RoastEntry) -> bool:
    """Whether beans can have become coffee: hot enough, and not in a moment."""
    begin_ms = next((mark.t_ms for mark in entry.marks if mark.name == BEANS_IN), 0)
    end_ms = next((mark.t_ms for mark in entry.marks if mark.name == BEANS_OUT), entry.log_ms)
    return end_ms - begin_ms >= SHORTEST_MS and entry.peak_centi is not None and entry.peak_centi >= LIGHTEST_CENTI
