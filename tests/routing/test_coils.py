"""Coil plans against every way to buy, tried one after the other; cuts that nothing makes; order and words."""

from __future__ import annotations

import math
import random
from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from hand_plan import hand_plan
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import LinearConstraint, milp

from barnloom.model.cables import default_cable_types
from barnloom.routing.wiring import coil_search
from barnloom.routing.wiring.coils import CoilPlan, Cut, coil_plan, coil_plans, coil_words, offered

Coils = list[tuple[float, float]]
STORE: Coils = [(25, 35.6), (50, 59.4), (100, 104.5), (250, 237.5)]


def cuts_of(*feet: float) -> list[Cut]:
    """Cuts A, B, C, ... of these lengths."""
    return [Cut(cable=f"L1.C{number}", feet=length) for number, length in enumerate(feet, 1)]


def by_hand(feet: list[float], coils: Coils, foot: float | None) -> tuple[float, int, float] | None:
    """
    Money, coils, and feet bought of the best way there is: every cut put on every coil of every group, or by the foot.

    Groups are numbered, and each is then bought as the cheapest coil that holds it.
    """
    best: tuple[float, int, float] | None = None
    for groups in product(range(-1, len(feet)), repeat=len(feet)):
        if foot is None and -1 in groups:
            continue
        money, count, bought = 0.0, 0, 0.0
        for group in set(groups):
            lengths = [length for length, its in zip(feet, groups, strict=True) if its == group]
            if group == -1:
                bought += sum(map(math.ceil, lengths))
                money += sum(map(math.ceil, lengths)) * (foot or 0)
                continue
            fits = [(price, length) for length, price in coils if sum(lengths) <= length]
            if not fits:
                break
            price, length = min(fits)
            money, count, bought = money + price, count + 1, bought + length
        else:
            found = (round(money, 4), count, bought)
            best = found if best is None or found < best else best
    return best


def worth(found: CoilPlan) -> tuple[float, int, float]:
    """Money, coils, and feet bought."""
    bought = sum(coil.feet for coil in found.coils) + sum(cut.sold_ft for cut in found.by_foot)
    return found.price, len(found.coils), bought


eighths = st.integers(8, 8 * 60).map(lambda n: n / 8)
prices = st.integers(50, 20_000).map(lambda cents: cents / 100)
stocks = st.dictionaries(st.sampled_from([25.0, 50.0, 60.0, 100.0, 125.0]), prices, max_size=3).map(
    lambda stock: list(stock.items())
)
feet_prices = st.one_of(st.none(), st.integers(20, 400).map(lambda cents: cents / 100))


@given(st.lists(eighths, min_size=1, max_size=5), stocks, feet_prices)
@settings(max_examples=150, deadline=None)
def test_no_way_to_buy_is_cheaper(feet: list[float], coils: Coils, foot: float | None) -> None:
    found = coil_plan("12/2", cuts_of(*feet), coils, foot)
    longest = math.inf if foot is not None else max((length for length, _ in coils), default=0)
    possible = [length for length in feet if length <= longest]
    assert sorted(cut.feet for cut in found.too_long) == sorted(length for length in feet if length > longest)
    assert found.proven
    assert worth(found) == pytest.approx(by_hand(possible, coils, foot))


@given(st.lists(eighths, min_size=1, max_size=5), stocks, feet_prices)
@settings(max_examples=100, deadline=None)
def test_the_integer_program_agrees_by_itself(feet: list[float], coils: Coils, foot: float | None) -> None:
    longest = math.inf if foot is not None else max((length for length, _ in coils), default=0)
    possible = sorted((length for length in feet if length <= longest), reverse=True)
    if not possible:
        return
    stock = sorted((length, round(price * 100)) for length, price in coils)
    cents = None if foot is None else round(foot * 100)
    _, start = coil_search._first_fit(possible, stock, cents)
    found = coil_search._by_program(possible, stock, cents, start)
    assert found is not None
    money = sum(price for (_, price), _ in found.loads)
    money += sum(math.ceil(possible[i]) * (cents or 0) for i in found.by_foot)
    best = by_hand(possible, coils, foot)
    assert best is not None
    assert (money / 100, len(found.loads)) == pytest.approx(best[:2])


@given(st.lists(eighths, max_size=45), stocks, feet_prices)
@settings(max_examples=60, deadline=None)
def test_every_cut_comes_whole_off_one_coil(feet: list[float], coils: Coils, foot: float | None) -> None:
    cuts = cuts_of(*feet)
    found = coil_plan("12/2", cuts, coils, foot)
    got = [cut for coil in found.coils for cut in coil.cuts] + [*found.by_foot, *found.too_long]
    assert sorted(cut.cable for cut in got) == sorted(cut.cable for cut in cuts)
    assert all(coil.cuts and coil.left_ft >= -1e-6 for coil in found.coils)
    assert all((coil.feet, coil.price) in coils for coil in found.coils)
    assert found.pieced <= found.price + 1e-6


@given(st.floats(0.1, 3000), stocks, feet_prices)
@settings(max_examples=60, deadline=None)
def test_feet_in_pieces_cost_what_an_integer_program_says(feet: float, coils: Coils, foot: float | None) -> None:
    offer = [(length, round(price * 100)) for length, price in coils]
    offer += [] if foot is None else [(1.0, round(foot * 100))]
    if not offer:
        return
    enough = LinearConstraint(np.array([[length for length, _ in offer]]), feet, np.inf)
    price = np.array([price for _, price in offer], dtype=float)
    best = milp(price, constraints=enough, integrality=np.ones(len(offer)), options={"mip_rel_gap": 0.0})
    stock = [(length, round(price * 100)) for length, price in coils]
    found = coil_search.pieced(feet, stock, None if foot is None else round(foot * 100))
    assert found == round(best.fun)


@given(st.permutations(range(12)))
@settings(max_examples=20, deadline=None)
def test_the_order_of_cables_and_of_coils_changes_nothing(order: list[int]) -> None:
    feet = [12.5, 31.0, 31.0, 31.0, 8.25, 47.0, 22.0, 19.5, 31.0, 40.0, 12.5, 27.75]
    cuts = cuts_of(*feet)
    found = coil_plan("12/2", [cuts[i] for i in order], STORE[::-1] if order[0] % 2 else STORE, 1.62)
    assert found == coil_plan("12/2", cuts, STORE, 1.62)


def test_of_equal_cuts_the_first_id_stands_first() -> None:
    found = coil_plan("12/2", cuts_of(*[40.0] * 12), STORE, None)
    assert [cut.cable for coil in found.coils for cut in coil.cuts] == [f"L1.C{n}" for n in range(1, 13)]


def test_forty_cuts_of_a_barn_are_bought_as_cheaply_as_feet_alone_allow() -> None:
    # The price of the feet were they one piece bounds it from below: reached means nothing is cheaper.
    rng = random.Random(7)
    found = coil_plan("12/2", cuts_of(*(rng.randint(6 * 8, 48 * 8) / 8 for _ in range(40))), STORE, None)
    assert found.proven
    assert found.price == pytest.approx(found.pieced)


def test_three_cuts_where_joining_would_save_a_coil() -> None:
    # 90 ft are on two coils of 50 ft, but 30 + 30 are not on one.
    found = coil_plan("12/2", cuts_of(30, 30, 30), [(50, 60.0)], None)
    assert (len(found.coils), found.price, found.pieced) == (3, 180.0, 120.0)
    words = coil_words(found, metric=False)
    assert "3 x 50.0 ft" in words
    assert "60.00 less" in words
    assert "NEC 300.15" in words
    assert "3 x 15.2 m" in coil_words(found, metric=True)


def test_feet_are_sold_whole() -> None:
    found = coil_plan("8/3", cuts_of(30.01, 30.0), [], 3.0)
    assert [cut.sold_ft for cut in found.by_foot] == [31, 30]
    assert found.price == pytest.approx(183.0)


def test_a_cut_longer_than_every_coil_is_told() -> None:
    found = coil_plan("8/3", cuts_of(130.0, 20.0), [(125, 300.0)], None)
    assert [cut.feet for cut in found.too_long] == [130.0]
    assert [cut.feet for coil in found.coils for cut in coil.cuts] == [20.0]
    words = coil_words(found, metric=False)
    assert "nothing on offer makes L1.C1 (130.0 ft)" in words
    assert "expected" in words


def test_a_cut_just_as_long_as_a_coil_fits() -> None:
    # 15.24 m in inches is not quite 600 in floats: 50 ft all the same.
    cut = replace(cuts_of(50)[0], feet=15240 / 25.4 / 12)
    assert len(coil_plan("12/2", [cut], [(50, 60.0)], None).coils) == 1


def test_too_many_cuts_for_proof_still_get_a_plan() -> None:
    rng = random.Random(3)
    found = coil_plan("12/2", cuts_of(*(rng.randint(20 * 8, 33 * 8) / 8 for _ in range(90))), [(100, 1.0)], None)
    assert sum(len(coil.cuts) for coil in found.coils) == 90
    assert not found.proven
    assert "not proven" in coil_words(found, metric=False)


def test_what_is_pulled_already_is_not_bought() -> None:
    plan = hand_plan()
    first = plan.cables[0]
    done = replace(plan, cables=tuple(replace(cable, done=cable is first) for cable in plan.cables))
    names = {
        cut.cable for found in coil_plans(done) for cut in (*found.by_foot, *(c for k in found.coils for c in k.cuts))
    }
    assert names == {cable.id for cable in plan.cables[1:]}


def test_usual_cables_are_sold_in_coils_and_by_the_foot() -> None:
    kinds = {kind.id: kind for kind in default_cable_types()}
    # common practice, no source; 50 and 250 ft seen on sellers' pages
    assert [feet for feet, _ in kinds["12/2"].coils] == [25, 50, 100, 250]
    assert [feet for feet, _ in kinds["UF 8/3"].coils] == [125]
    assert all(kind.by_foot > kind.price_ft for kind in kinds.values())


def test_a_cable_of_the_scenes_own_is_sold_by_the_foot() -> None:
    own = replace(default_cable_types()[0], coils=(), by_foot=0.0, price_ft=0.7)
    assert offered(own) == ((), 0.7)
    assert offered(replace(own, coils=((50.0, 40.0),))) == (((50.0, 40.0),), None)
