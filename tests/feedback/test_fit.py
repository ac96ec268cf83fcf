"""The fit of shrinkage, scale and offset, on castings whose truth is known.

The synthetic readings come from the three sentences that define the figures (printed length over modelled length, how
far a wall stands proud, how much of the mold the part lacks), written out here once more, not from the code.
"""

import math
import random

import numpy as np
import pytest
from scipy.optimize import least_squares

from moldgen.families.base import Sizes
from moldgen.feedback.castings import Castings, Reading
from moldgen.feedback.fit import Design, refined
from moldgen.mechanics.stretch import FreeRing, fitted_ring
from moldgen.quantities import Estimate

MOLD = {"inner_diameter_mm": 28.0, "outer_diameter_mm": 38.0, "width_mm": 6.0}
OVER = {"inner_diameter_mm": "inside", "outer_diameter_mm": "outside", "width_mm": "height"}
TRUTH = {"linear_shrinkage": 0.009, "print_scale": 0.9965, "print_offset_mm": 0.06, "print_z_offset_mm": 0.05}
BUILT_FOR = {"linear_shrinkage": 0.002, "print_scale": 1.0, "print_offset_mm": 0.0, "print_z_offset_mm": 0.0}
HALF = {"mold": 0.03, "casting": 0.05}

EVERYTHING = [(of, name) for of in ("mold", "casting") for name in MOLD] * 2


def design(mold=MOLD, *, shrinkage=0.002, free=None, fitted=None, **options):
    free = free or {name: value * (1.0 - shrinkage) for name, value in mold.items()}
    chosen = {"cast_on": False, "flanged": False, **options}
    return Design(
        sizes=Sizes(fitted or free, free, mold),
        figures=(shrinkage, 1.0, 0.0, 0.0),
        doubts=(0.0013, 0.0029, 0.087, 0.115),
        hole_offset_mm=0.0,
        boss_offset_mm=0.0,
        **chosen,
    )


def true_length(of, name, truth):
    scale, proud = truth["print_scale"], truth["print_offset_mm"]
    printed = {
        "outer_diameter_mm": scale * (MOLD["outer_diameter_mm"] - 2.0 * proud),
        "inner_diameter_mm": scale * (MOLD["inner_diameter_mm"] + 2.0 * proud),
        "width_mm": MOLD["width_mm"] + truth["print_z_offset_mm"],
    }[name]
    return printed if of == "mold" else printed * (1.0 - truth["linear_shrinkage"])


def reading(of, name, value, half, line=2):
    return Reading(of, name, OVER[name], Estimate(value, u=half / math.sqrt(3.0)), line)


def measured(rng, plan=EVERYTHING, truth=TRUTH, shape="normal"):
    out = []
    for line, (of, name) in enumerate(plan, start=2):
        half = HALF[of]
        error = rng.gauss(0.0, half / math.sqrt(3.0)) if shape == "normal" else rng.uniform(-half, half)
        out.append(reading(of, name, true_length(of, name, truth) + error, half, line))
    return Castings("castings.csv", tuple(out), 0)


@pytest.mark.parametrize("shape", ["normal", "uniform"])
def test_true_values_lie_in_the_stated_intervals_95_times_in_100(shape):
    rng = random.Random(20)
    hits = dict.fromkeys(TRUTH, 0)
    for _ in range(1000):
        fit = refined(design(), measured(rng, shape=shape))
        for name, figure in fit.figures.items():
            assert figure.known
            hits[name] += figure.low <= TRUTH[name] <= figure.high
    # The 95 % of the statement; its own spread over 1000 trials is 0.7 %.
    for name, count in hits.items():
        assert 930 <= count <= 970, (name, count)


def test_no_change_is_called_for_95_times_in_100_where_the_design_was_right():
    rng = random.Random(21)
    called = sum(refined(design(), measured(rng, truth=BUILT_FOR)).significant for _ in range(1000))
    assert 30 <= called <= 70


def test_fit_is_that_of_a_numerical_library():
    table = measured(random.Random(22))

    def residuals(x):
        truth = dict(zip(TRUTH, x, strict=True))
        return [(r.value_mm - true_length(r.of, r.dimension, truth)) / r.value_mm.u for r in table.readings]

    # SciPy's trust-region least squares on the model as written out above, and the covariance from its Jacobian.
    found = least_squares(residuals, list(BUILT_FOR.values()), x_scale=[1e-3, 1e-3, 0.05, 0.05], xtol=1e-15, ftol=1e-15)
    u = np.sqrt(np.diag(np.linalg.inv(found.jac.T @ found.jac)))
    fit = refined(design(), table)
    assert not fit.outliers
    for figure, value, doubt in zip(fit.figures.values(), found.x, u, strict=True):
        assert figure.value == pytest.approx(value, abs=1e-4 * doubt)
        assert figure.u == pytest.approx(doubt, rel=1e-3)


def test_castings_alone_cannot_tell_scale_from_shrinkage():
    plan = [("casting", name) for name in MOLD] * 4
    fit = refined(design(), measured(random.Random(23), plan))
    assert not fit.figures["print_scale"].known
    assert not fit.figures["linear_shrinkage"].known
    assert fit.figures["print_offset_mm"].known  # inside and outside lengths tell it
    assert fit.significant
    # What they do tell is the product, and the shares given to each keep to it.
    product = fit.figures["print_scale"].value * (1.0 - fit.figures["linear_shrinkage"].value)
    assert product == pytest.approx(TRUTH["print_scale"] * (1.0 - TRUTH["linear_shrinkage"]), abs=1e-3)


def test_lengths_of_one_kind_cannot_tell_scale_from_offset():
    plan = [("mold", "outer_diameter_mm")] * 6 + [("casting", "outer_diameter_mm")] * 6
    fit = refined(design(), measured(random.Random(24), plan))
    assert not fit.figures["print_scale"].known
    assert not fit.figures["print_offset_mm"].known
    assert fit.figures["linear_shrinkage"].known
    assert fit.figures["linear_shrinkage"].low <= 0.009 <= fit.figures["linear_shrinkage"].high


def test_what_nothing_was_measured_of_stays_as_it_was_designed():
    fit = refined(design(), measured(random.Random(25), [("casting", "outer_diameter_mm")]))
    z = fit.figures["print_z_offset_mm"]
    assert (z.value, z.u, z.known) == (0.0, pytest.approx(0.115, rel=1e-6), False)


def test_proud_walls_make_outsides_smaller_and_bores_larger():
    truth = {**BUILT_FOR, "print_offset_mm": 0.1}
    exact = tuple(reading(of, name, true_length(of, name, truth), 0.03) for of, name in EVERYTHING)
    fit = refined(design(), Castings("c", exact, 0))
    assert fit.figures["print_offset_mm"].value == pytest.approx(0.1, abs=1e-9)
    assert fit.figures["print_scale"].value == pytest.approx(1.0, abs=1e-9)


def test_reading_that_the_others_contradict_is_left_out_and_named():
    table = measured(random.Random(26))
    wrong = list(table.readings)
    wrong[7] = reading(wrong[7].of, wrong[7].dimension, wrong[7].value_mm + 0.4, 0.05, wrong[7].line)
    fit = refined(design(), Castings("c", tuple(wrong), 0))
    assert [one.reading.line for one in fit.outliers] == [wrong[7].line]
    clean = refined(design(), Castings("c", tuple(r for i, r in enumerate(wrong) if i != 7), 0))
    for name, figure in fit.figures.items():
        assert figure.value == pytest.approx(clean.figures[name].value, rel=1e-9)


def test_more_scatter_than_stated_widens_the_intervals():
    plan = EVERYTHING * 2
    calm = refined(design(), measured(random.Random(27), plan))
    rng = random.Random(28)
    rough = Castings(
        "c", tuple(reading(of, n, true_length(of, n, TRUTH) + rng.choice([-0.05, 0.05]), 0.03) for of, n in plan), 0
    )
    fit = refined(design(), rough)
    # Readings 0.05 off either way where ±0.03 was stated: chi-square over freedom about (0.05/0.0173)².
    assert calm.scatter == 1.0
    assert fit.scatter == pytest.approx(0.05 * math.sqrt(3.0) / 0.03, rel=0.25)


def test_cover_cast_on_its_hub_follows_finite_elements():
    # Our own axisymmetric finite-element run: hub 10, mold 16 and length 10 mm lose 5.3583 s on the radius as the mean
    # over the length, not the 3 s of the naive free ring nor 9 s of "three times the wall".
    shrinkage = 0.006
    mold = {"inner_diameter_mm": 10.0, "outer_diameter_mm": 16.0, "width_mm": 10.0}
    free = {**mold, "outer_diameter_mm": 16.0 - 2.0 * 5.3583 * 0.002}
    readings = (
        reading("mold", "outer_diameter_mm", 16.0, 0.01),
        reading("casting", "outer_diameter_mm", 16.0 - 2.0 * 5.3583 * shrinkage, 0.01),
        reading("casting", "width_mm", 9.93, 0.01),
        reading("casting", "inner_diameter_mm", 10.0, 0.01),
        reading("mold", "inner_diameter_mm", 9.8, 0.01),  # that is the hub, which no printer made
    )
    fit = refined(design(mold, free=free, cast_on=True), Castings("c", readings * 20, 0))
    assert fit.figures["linear_shrinkage"].known
    assert fit.figures["linear_shrinkage"].value == pytest.approx(shrinkage, rel=0.04)  # the rule's stated 3 %
    assert {r.dimension for r in fit.unused} == {"width_mm", "inner_diameter_mm"}
    assert not fit.figures["print_offset_mm"].known


def test_ring_measured_on_its_hub_tells_the_same_shrinkage_as_one_lying_free():
    # Our own axisymmetric finite-element run: bore 27.77778, outside 37.77778, width 5 on a 30 mm hub measure
    # 39.640 mm over the outside and are 4.881 mm wide.
    shrinkage = 0.01
    free = {"inner_diameter_mm": 30.0 / 1.08, "outer_diameter_mm": 30.0 / 1.08 + 10.0, "width_mm": 5.0}
    mold = {name: value / (1.0 - shrinkage) for name, value in free.items()}
    as_designed = fitted_ring(
        free=FreeRing(mold["inner_diameter_mm"] / 2, mold["outer_diameter_mm"] / 2, mold["width_mm"]),
        hub_radius_mm=15.0,
        shear_modulus_mpa=1.0,
    )
    fitted = {
        "inner_diameter_mm": 30.0,
        "outer_diameter_mm": as_designed.outer_diameter_mm,
        "width_mm": as_designed.width_mm,
    }
    built_for_none = design(mold, shrinkage=0.0, free=mold, fitted=fitted)
    in_mold = [reading("mold", name, value, 0.005) for name, value in mold.items()]
    in_place = reading("fitted", "outer_diameter_mm", 39.640, 0.005)
    fit = refined(built_for_none, Castings("c", (*in_mold, in_place) * 10, 0))
    assert fit.figures["linear_shrinkage"].known
    assert fit.figures["linear_shrinkage"].value == pytest.approx(shrinkage, abs=1e-4)  # 39.640 ± 0.001 in 40


def test_stretched_belt_keeps_the_ratio_of_its_section():
    # Volume kept: a section thins by the square root of the stretch, here 2.0 from 2.0494 (1.05), whatever shrank.
    mold = {"height_mm": 2.0494, "width_mm": 2.0494}
    fitted = {"height_mm": 2.0, "width_mm": 2.0}
    over = [Reading("mold", "width_mm", "height", Estimate(2.0494, u=0.001), 2)]
    over += [Reading("fitted", "width_mm", "height", Estimate(2.0 * 0.99, u=0.001), 3)]
    belt = design(mold, shrinkage=0.0, free=mold, fitted=fitted)
    fit = refined(belt, Castings("c", tuple(over) * 20, 0))
    assert fit.figures["linear_shrinkage"].value == pytest.approx(0.01, abs=1e-4)


def test_a_height_that_lies_in_both_halves_is_printed_deeper_twice():
    # The mold's width reads 0.10 mm too much; two pockets that each print 0.05 mm deeper make it so, one by 0.10 mm.
    mold = {"width_mm": MOLD["width_mm"]}
    proud = tuple(reading("mold", "width_mm", MOLD["width_mm"] + 0.10, 0.005) for _ in range(20))
    for pockets, each in ((2, 0.05), (1, 0.10)):
        fit = refined(design(mold, pockets=pockets), Castings("c", proud, 0))
        assert fit.figures["print_z_offset_mm"].value == pytest.approx(each, abs=0.002)
