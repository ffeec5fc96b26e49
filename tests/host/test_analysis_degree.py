"""The roast degree with its uncertainty, and weight loss against it."""

import pytest

from panchime.analysis.degree import degree_at, estimate_degree, groups_of_loss, loss_against_degree


@pytest.mark.parametrize(
    ("temperature_c", "name"),
    # As printed for home roasters: light end, City, Full City where second crack begins, and the dark ones.
    [
        (194.9, "not yet a light roast"),
        (195, "light"),
        (212.9, "light"),
        (213, "City"),
        (224, "Full City"),
        (230, "Vienna"),
        (240, "French"),
        (245, "Italian"),
        (250, "Spanish"),
    ],
)
def test_names_begin_where_they_are_printed(temperature_c, name):
    assert degree_at(temperature_c).name == name


def test_without_first_crack_the_probes_ten_degrees_stay():
    found = estimate_degree(216.0, None, False)
    assert (found.low_c, found.high_c) == (206, 226)
    assert (found.lightest.name, found.likely.name, found.darkest.name) == ("light", "City", "Full City")


def test_first_crack_takes_the_probes_own_error_out():
    # A probe that shows 12 degC too much at first crack shows it at the end, too.
    high = estimate_degree(230.0, 214.0, False)
    right = estimate_degree(218.0, 202.0, False)
    assert (high.low_c, high.high_c) == (right.low_c, right.high_c) == (212, 223)
    assert high.likely.name == right.likely.name == "City"
    assert high.by_first_crack


def test_second_crack_means_full_city_at_least():
    found = estimate_degree(214.0, None, True)
    assert (found.lightest.name, found.likely.name) == ("Full City", "Full City")
    assert found.by_second_crack
    assert estimate_degree(238.0, None, True).likely.name == "Vienna"


@pytest.mark.parametrize(
    ("loss", "groups"),
    # 11-13, 13-16 and 16-20 %: from memory.
    [
        (0.10, ("under light",)),
        (0.12, ("light",)),
        (0.13, ("light", "medium")),
        (0.15, ("medium",)),
        (0.18, ("dark",)),
        (0.21, ("beyond dark",)),
    ],
)
def test_groups_of_a_loss(loss, groups):
    assert groups_of_loss(loss) == groups


@pytest.mark.parametrize(("loss", "verdict"), [(0.09, -1), (0.12, 0), (0.145, 0), (0.19, 1), (0.25, 1)])
def test_loss_against_a_city_roast(loss, verdict):
    assert loss_against_degree(loss, estimate_degree(216.0, None, False)) == verdict


@pytest.mark.parametrize(("loss", "verdict"), [(0.14, -1), (0.17, 0), (0.21, 1)])
def test_loss_against_a_dark_roast(loss, verdict):
    assert loss_against_degree(loss, estimate_degree(243.0, None, True)) == verdict
