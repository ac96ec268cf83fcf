import itertools
import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from moldgen.casting import Component, Extra, KitError, MixSystem, Pour, Working, plan_kit, weigh_out
from moldgen.errors import RangeError

MINUTE = 60.0
HOUR = 3600.0


def soft(minutes, name="mold", volume_mm3=1000.0, elastomer="soft"):
    return Pour(name, elastomer, volume_mm3, minutes * MINUTE)


def ten_minutes_to_pour(**changed):
    times = {"pot_life_s": 15 * MINUTE, "preparation_s": 5 * MINUTE, "demould_s": 4 * HOUR} | changed
    return Working(**times)


def minutes(kit):
    return [[pour.fill_s / MINUTE for pour in batch.pours] for batch in kit.batches]


def test_molds_that_fit_share_a_cup_slowest_first():
    kit = plan_kit(pours=[soft(2, "b"), soft(5, "a"), soft(3, "c")], workings={"soft": ten_minutes_to_pour()})
    (batch,) = kit.batches
    assert batch.parts == ("a", "c", "b")
    assert batch.volume_mm3 == 3000.0
    assert batch.fill_s == 10 * MINUTE  # exactly what is left
    assert batch.pourable_mm3 == pytest.approx(3000.0)
    assert kit.too_slow == ()


def test_what_outlasts_the_pot_life_is_split_evenly():
    # 13 min into cups of 10 min: two cups; filling one up would leave 10 and 3, evenly it is 6 and 7.
    kit = plan_kit(pours=[soft(6), soft(4), soft(3)], workings={"soft": ten_minutes_to_pour()})
    assert minutes(kit) == [[6.0], [4.0, 3.0]]
    assert [batch.number for batch in kit.batches] == [1, 2]


def test_a_packing_that_is_not_even_stands_where_even_ones_do_not_fit():
    # The textbook case against longest-first spreading: 3 3 2 2 2 into two cups of 6 fit only as 3+3 and
    # 2+2+2.
    working = ten_minutes_to_pour(pot_life_s=11 * MINUTE)
    kit = plan_kit(pours=[soft(m) for m in (3, 3, 2, 2, 2)], workings={"soft": working})
    assert minutes(kit) == [[3.0, 3.0], [2.0, 2.0, 2.0]]


def test_one_cup_follows_the_other():
    # 5 min of mixing before each, 6 and 7 min of pouring, then 4 h to the demould.
    kit = plan_kit(pours=[soft(6), soft(4), soft(3)], workings={"soft": ten_minutes_to_pour()})
    assert [batch.starts_s / MINUTE for batch in kit.batches] == [0.0, 11.0]
    assert [batch.poured_s / MINUTE for batch in kit.batches] == [11.0, 23.0]
    assert [batch.demould_s / MINUTE for batch in kit.batches] == [251.0, 263.0]


def test_a_mold_that_no_cup_can_fill_is_said_and_left_out():
    kit = plan_kit(pours=[soft(12, "slow"), soft(2, "fast")], workings={"soft": ten_minutes_to_pour()})
    assert [batch.parts for batch in kit.batches] == [("fast",)]
    (slow,) = kit.too_slow
    assert slow.pour.name == "slow"
    assert slow.over_s == 2 * MINUTE


def test_mixing_that_takes_the_whole_pot_life_leaves_nothing_to_pour():
    working = ten_minutes_to_pour(preparation_s=20 * MINUTE)
    kit = plan_kit(pours=[soft(2)], workings={"soft": working})
    assert kit.batches == ()
    assert kit.too_slow[0].over_s == 2 * MINUTE


def test_what_poisons_a_platinum_cure_is_poured_last():
    # Tin, sulphur and amines inhibit platinum-cured silicone (makers' notes): however long it takes to
    # demould.
    workings = {
        "tin silicone": ten_minutes_to_pour(demould_s=24 * HOUR, taints=True),
        "platinum silicone": ten_minutes_to_pour(demould_s=1 * HOUR),
    }
    pours = [soft(2, elastomer="tin silicone"), soft(2, elastomer="platinum silicone")]
    kit = plan_kit(pours=pours, workings=workings)
    assert [batch.elastomer for batch in kit.batches] == ["platinum silicone", "tin silicone"]


def test_no_other_order_of_elastomers_opens_the_last_mold_sooner():
    # Independent: all orders tried.
    takes = {"a": (7, 60), "b": (3, 500), "c": (9, 240), "d": (2, 90)}
    workings = {name: ten_minutes_to_pour(demould_s=cure * MINUTE) for name, (_, cure) in takes.items()}
    kit = plan_kit(pours=[soft(fill, elastomer=name) for name, (fill, _) in takes.items()], workings=workings)
    ends = []
    for order in itertools.permutations(takes):
        poured = itertools.accumulate(5 + takes[name][0] for name in order)
        ends.append(max(at + takes[name][1] for at, name in zip(poured, order, strict=True)))
    assert max(batch.demould_s for batch in kit.batches) == pytest.approx(min(ends) * MINUTE)
    assert min(ends) < max(ends)


def test_an_elastomer_without_working_times_is_refused():
    with pytest.raises(KitError, match="no working times for soft"):
        plan_kit(pours=[soft(2)], workings={})
    with pytest.raises(RangeError, match="pot_life_s of soft"):
        plan_kit(pours=[soft(2)], workings={"soft": ten_minutes_to_pour(pot_life_s=0.0)})
    with pytest.raises(RangeError, match="fill_s of mold"):
        plan_kit(pours=[soft(math.nan)], workings={"soft": ten_minutes_to_pour()})


def test_nothing_to_pour_is_an_empty_kit():
    kit = plan_kit(pours=[], workings={})
    assert (kit.batches, kit.too_slow) == ((), ())


ELASTOMERS = ("p20", "p40", "u60")

systems = st.builds(
    MixSystem,
    components=st.lists(
        st.builds(
            Component,
            name=st.text("ABCDEFGH", min_size=1, max_size=3),
            parts=st.sampled_from([1, 2, 5, 10, 37.5, 50, 90, 100]),
            density_g_cm3=st.floats(0.9, 1.6),
        ),
        min_size=1,
        max_size=3,
        unique_by=lambda component: component.name,
    ).map(tuple),
    extras=st.sampled_from([(), (Extra("pigment", 0.02),), (Extra("thinner", 0.1), Extra("pigment", 0.005))]),
    by=st.sampled_from(["weight", "volume"]),
)

pours = st.builds(
    Pour,
    name=st.text("abc", min_size=1, max_size=2),
    elastomer=st.sampled_from(ELASTOMERS),
    volume_mm3=st.floats(50.0, 60e3),
    fill_s=st.floats(5.0, 1500.0),
)

workings = st.fixed_dictionaries(
    {
        name: st.builds(
            Working,
            pot_life_s=st.floats(120.0, 3600.0),
            preparation_s=st.floats(0.0, 900.0),
            demould_s=st.floats(600.0, 80e3),
            taints=st.booleans(),
        )
        for name in ELASTOMERS
    }
)


@settings(max_examples=1000, deadline=None)
@given(
    pours=st.lists(pours, max_size=12),
    workings=workings,
    system=systems,
    density_g_cm3=st.floats(0.9, 1.6),
    spare=st.floats(0.0, 0.5),
    scale_step_g=st.sampled_from(["1", "0.5", "0.1", "0.05", "0.01"]),
)
def test_mass_adds_up_and_pot_life_holds_for_any_kit(pours, workings, system, density_g_cm3, spare, scale_step_g):
    kit = plan_kit(pours=pours, workings=workings)

    # Each pour is in one cup, or said to be too slow.
    planned = [pour for batch in kit.batches for pour in batch.pours] + [slow.pour for slow in kit.too_slow]
    assert sorted(planned, key=repr) == sorted(pours, key=repr)

    now_s = 0.0
    for batch in kit.batches:
        assert {pour.elastomer for pour in batch.pours} == {batch.elastomer}
        working = workings[batch.elastomer]
        # The last mold is full before the pot life that began when the components met is over.
        assert batch.starts_s == now_s
        took_s = working.preparation_s + sum(pour.fill_s for pour in batch.pours)
        assert took_s <= working.pot_life_s + 1e-9
        assert batch.poured_s == pytest.approx(batch.starts_s + took_s)
        assert batch.volume_mm3 <= batch.pourable_mm3 * (1.0 + 1e-12)
        now_s = batch.poured_s

        weighed = weigh_out(
            volume_mm3=batch.volume_mm3,
            density_g_cm3=density_g_cm3,
            system=system,
            spare=spare,
            scale_step_g=float(scale_step_g),
        )
        # Grams as written are whole steps, exactly, and add up to the batch, exactly.
        written = [Fraction(str(line.grams)) for line in weighed.components]
        assert all((amount / Fraction(scale_step_g)).denominator == 1 and amount > 0 for amount in written)
        assert sum(written) == Fraction(str(weighed.batch_g))
        # Never less than needed, spare never negative.
        needed_g = batch.volume_mm3 / 1000.0 * density_g_cm3 * (1.0 + spare)
        assert weighed.batch_g >= needed_g * (1.0 - 1e-9)
        assert weighed.spare >= max(0.0, spare - 1e-9)
        # The printed ratio error is that of the printed grams.
        wanted = [
            component.parts * (component.density_g_cm3 if system.by == "volume" else 1.0)
            for component in system.components
        ]
        errors = [
            abs(float(amount / written[0]) * wanted[0] / parts - 1.0)
            for amount, parts in zip(written, wanted, strict=False)
        ]
        assert weighed.ratio_error == pytest.approx(max(errors), abs=1e-9)
        # Sound means that even the scale's worst reading stays within what the elastomer stands.
        if len(wanted) > 1:
            smallest = float(min(written[1 : len(wanted)]))
            reading = float(scale_step_g) / 2 * (1 / float(written[0]) + 1 / smallest)
            assert weighed.reading_error_worst == pytest.approx(reading, rel=1e-9)
            assert weighed.sound == (weighed.ratio_error + weighed.reading_error_worst <= 0.02)

    for slow in kit.too_slow:
        working = workings[slow.pour.elastomer]
        assert slow.over_s > 0.0
        assert working.preparation_s + slow.pour.fill_s > working.pot_life_s


@given(pours=st.lists(pours, max_size=10), workings=workings, data=st.data())
def test_the_same_kit_in_another_order_is_the_same_plan(pours, workings, data):
    shuffled = data.draw(st.permutations(pours))
    assert plan_kit(pours=shuffled, workings=workings) == plan_kit(pours=pours, workings=workings)


@given(fills=st.lists(st.floats(5.0, 600.0), min_size=1, max_size=15))
def test_cups_are_at_least_half_used_on_average(fills):
    # First fit leaves at most one cup under half full, so n cups mean more than (n - 1)/2 cups' worth of
    # pouring.
    pours = [Pour("mold", "soft", 1000.0, fill_s) for fill_s in fills]
    kit = plan_kit(pours=pours, workings={"soft": ten_minutes_to_pour()})
    assert math.fsum(fills) > (len(kit.batches) - 1) / 2 * 600.0 or len(kit.batches) == 1
