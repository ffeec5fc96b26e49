"""Roasts of the virtual kitchen as stories, with the truth behind them."""

from functools import cache

from panchime.journal.story import tell
from panchime.measure.made_journal import cooked, plan_of, written_log
from panchime.virtual.roaster.scenario import load_scenario


@cache
def kitchen_roast(name, seed=3):
    """(story, truth, raw log) of a scenario's roast; the truth is the probe's own temperature without noise and rounding."""
    scenario = load_scenario(name)
    samples, truth = cooked(scenario, seed)
    raw = written_log(samples, truth.acts_ms, plan_of(scenario), board="INVENTED", boot=1, uptime_ms=0)
    return tell(raw), truth, raw
