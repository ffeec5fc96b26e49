"""What a plan may say and hardly means."""

import pytest

from panchime.planfile.doubts import doubts
from panchime.planfile.reading import mistakes
from panchime.planfile.starters import starter
from panchime_fw.plan_rules import METHODS


def document(**changes):
    return {"name": "Doubtful", "method": "wok", "limit": 240, **changes}


def rising(value):
    return [{"label": "Out", "rises_to": value, "sound": "rising"}]


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (document(limit=150), "below where any roast ends"),
        (document(limit=240, unit="F"), "Celsius under unit F"),
        (document(milestone=rising(240)), "will never sound"),
        (document(limit=275, milestone=rising(300)), "will never sound"),
        (document(marks=["beans in", "yelow", "first crack", "beans out"]), "is not 'yellow'"),
    ],
)
def test_doubtful(plan, words):
    assert mistakes(plan) == []
    assert any(words in sentence for sentence in doubts(plan)), doubts(plan)


@pytest.mark.parametrize(
    "plan",
    [
        document(),
        document(limit=464, unit="F"),
        document(milestone=rising(239)),
        document(marks=["beans in", "smoke", "beans out"]),
    ],
)
def test_sound(plan):
    assert doubts(plan) == []


@pytest.mark.parametrize("method", [method for method in METHODS if method != "other"])
def test_no_starter_is_doubtful(method):
    import tomllib

    assert doubts(tomllib.loads(starter(method))) == []
