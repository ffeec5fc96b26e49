"""The equations of the bean model against values computed from them by hand, and their behaviour along a ramp."""

import pytest

from panchime.virtual.roaster.beans import Beans, drying_rate, heat_capacity, reaction_heat

# Schwartzberg's form; degC, c at X = 0.12, 0.05, 0, dX/dt at X = 0.12 and d = 6 mm, Q_r at h = 0. Computed from the equations.
VALUES = [
    (25, 1.6732, 1.4514, 1.2740, -6.8444e-09, 0.00114),
    (100, 2.1420, 1.9514, 1.7990, -5.3663e-06, 0.04622),
    (150, 2.4545, 2.2848, 2.1490, -1.2283e-04, 0.26365),
    (200, 2.7670, 2.6181, 2.4990, -1.4508e-03, 1.04089),
    (240, 3.0170, 2.8848, 2.7790, -7.3960e-03, 2.57538),
]


@pytest.mark.parametrize(("bean_c", "wet", "damp", "dry", "drying", "reaction"), VALUES)
def test_equation_values(bean_c, wet, damp, dry, drying, reaction):
    assert heat_capacity(bean_c, 0.12) == pytest.approx(wet, abs=6e-5)
    assert heat_capacity(bean_c, 0.05) == pytest.approx(damp, abs=6e-5)
    assert heat_capacity(bean_c, 0.0) == pytest.approx(dry, abs=6e-5)
    assert drying_rate(bean_c, 0.12, 6.0) == pytest.approx(drying, rel=1e-4)
    assert reaction_heat(bean_c, 0.0) == pytest.approx(reaction, abs=6e-6)


@pytest.mark.parametrize(("until_c", "moisture"), [(150, 0.1123), (196, 0.0657), (215, 0.0397), (225, 0.0288)])
def test_drying_along_a_ramp_of_15_degrees_a_minute(until_c, moisture):
    held, bean_c, dt_s = 0.12, 25.0, 0.05
    while bean_c < until_c:
        held += drying_rate(bean_c, held, 6.0) * dt_s
        bean_c += 15.0 / 60.0 * dt_s
    assert held == pytest.approx(moisture, abs=2e-4)


def test_smaller_beans_dry_faster():
    assert drying_rate(180, 0.1, 5.0) == pytest.approx(drying_rate(180, 0.1, 6.0) * 36 / 25)


def test_reactions_end_when_their_heat_is_spent():
    assert reaction_heat(200, 116.0) == pytest.approx(reaction_heat(200, 0.0) / 2)
    assert reaction_heat(240, 232.0) == 0.0


def test_energy_is_kept():
    """What goes in is what the beans hold, less what the steam took, plus what the reactions gave."""
    beans = Beans(dry_kg=0.2, bean_c=20.0)
    before = beans.bean_c
    beans.step(0.5, 0.05)
    expected = 0.5 * 0.05 / (0.2 * 1.12 * heat_capacity(20.0, 0.12))
    assert beans.bean_c - before == pytest.approx(expected, rel=1e-3)


def test_small_steps_do_not_matter():
    """Half the step, the same roast: what is left is the numerics' own error."""
    ends = []
    for dt_s in (0.05, 0.025):
        beans = Beans(dry_kg=0.223, bean_c=18.0)
        for _ in range(round(600 / dt_s)):
            beans.step(0.0025 * (270 - beans.bean_c), dt_s)
        ends.append((beans.bean_c, beans.moisture))
    assert ends[0][0] == pytest.approx(ends[1][0], abs=0.05)
    assert ends[0][1] == pytest.approx(ends[1][1], abs=1e-4)
