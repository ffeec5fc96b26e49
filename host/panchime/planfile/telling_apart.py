"""Which sounds of a plan could be taken for one another, or for the board's own, and what to write instead."""

from typing import Any

from panchime_fw import life_safety, sound_meanings, sound_words, sounds
from panchime_fw.plan import Plan, compile_plan
from panchime_fw.plan_rules import sounding_of
from panchime_fw.sound_distance import TOLD_APART, WELL_APART, distance

Tones = tuple[tuple[int, int, int], ...]

# What is proposed, the plainest first.
PROPOSALS = tuple(
    f"{pattern}{pitch}"
    for pitch in ("", " low", " middle")
    for pattern in (*sound_words.PATTERNS, "morse A", "morse W", "morse U", "morse O", "morse Z", "morse L", "morse M")
)
# The beat is only a click; the answers to presses come when somebody has just pressed, and an alarm is no cue.
OWN = tuple((meaning, tones) for meaning, tones, repeats in sound_meanings.OWN if tones is not sounds.TICK and not repeats)


def warnings(document: dict[str, Any]) -> list[str]:
    """One sentence for every pair of a checked plan that is too near, each with a proposal."""
    plan: Plan = compile_plan(document)
    milestones = plan.milestones
    found = []
    for index, milestone in enumerate(milestones):
        for other in milestones[:index]:
            if distance(milestone.tones, other.tones) < TOLD_APART:
                found.append(
                    f"'{other.label}' ({other.sound}) and '{milestone.label}' ({milestone.sound}) sound alike; "
                    + proposal(milestone.label, document, plan, index)
                )
        for meaning, tones in OWN:
            if distance(milestone.tones, tones) < TOLD_APART:
                found.append(
                    f"'{milestone.label}' ({milestone.sound}) sounds like the board's own '{meaning}'; "
                    + proposal(milestone.label, document, plan, index)
                )
    return found


def proposal(label: str, document: dict[str, Any], plan: Plan, index: int) -> str:
    """Another sound for a milestone, well apart from everything else that the plan and the board say."""
    speed, pitch = sounding_of(document)
    others: list[Tones] = [milestone.tones for place, milestone in enumerate(plan.milestones) if place != index]
    others += [tones for _, tones in OWN]
    for text in PROPOSALS:
        tones = sound_words.compile_sound(text, speed, pitch)
        if not life_safety.resembles(tones) and all(distance(tones, other) >= WELL_APART for other in others):
            return f'for \'{label}\' write sound = "{text}"'
    return "there are more sounds in this plan than an ear tells apart: drop one"
