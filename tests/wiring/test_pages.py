"""The pages of the wiring: links lead somewhere, every picture is named, and the board is quoted as it speaks."""

import re

import pytest
from panchime_wiring import data

from panchime_fw import faults

PAGES = ("wiring/README.md", "wiring/parts.md", "wiring/pins.md", "wiring/results.md", "docs/probe-placement.md")


def heading_anchors(text):
    titles = re.findall(r"^#+ (.*)$", text, re.MULTILINE)
    return {re.sub(r"[^\w -]", "", title.lower()).replace(" ", "-") for title in titles}


@pytest.mark.parametrize("page", PAGES)
def test_links_lead_somewhere(page):
    path = data.ROOT / page
    for target in re.findall(r"\]\(([^)]+)\)", path.read_text(encoding="utf-8")):
        file, _, anchor = target.partition("#")
        found = (path.parent / file).resolve() if file else path
        assert found.exists(), target
        if anchor:
            assert anchor in heading_anchors(found.read_text(encoding="utf-8")), target


def test_every_combination_is_in_the_table():
    text = (data.ROOM / "README.md").read_text(encoding="utf-8")
    for name in data.BOARDS:
        for amplifier in data.AMPLIFIERS:
            for kind in ("breadboard", "circuit"):
                assert f"drawings/{data.board(name)['drawn_as']}-{amplifier}-{kind}.svg" in text


def test_faults_are_quoted_as_the_board_says_them():
    text = " ".join((data.ROOM / "README.md").read_text(encoding="utf-8").split())
    for number in (faults.AMPLIFIER_ABSENT, faults.OPEN, faults.WRONG_CHIP):
        assert f'"{faults.NAMES[number]}"' in text


@pytest.mark.parametrize("page", ["wiring/README.md", "docs/probe-placement.md"])
def test_a_page_leads_to_the_page_on_safety_early(page):
    assert "SAFETY.md" in (data.ROOT / page).read_text(encoding="utf-8")[:1200]


def test_every_probe_drawing_is_shown():
    text = (data.ROOT / "docs/probe-placement.md").read_text(encoding="utf-8")
    for path in data.DRAWINGS.glob("probe-*.svg"):
        assert path.name in text
