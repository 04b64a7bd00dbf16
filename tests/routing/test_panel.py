"""Spaces of a panel and their legs."""

from __future__ import annotations

from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.limits import Limits, load_limits
from barnloom.model.wiring import Breakers
from barnloom.routing.wiring.panel import Want, leg_of, placed, spare_words

LIMITS = Limits(load_limits())


def want(name: str, load: float = 10.0, **more: Any) -> Want:
    said: dict[str, Any] = {"poles": 1, "breaker_a": 20.0, "protective": False}
    return Want(circuit=name, load_a=load, **(said | more))


def panel(spaces: int = 12, **more: Any) -> Breakers:
    return Breakers(panel="PANEL", spaces=spaces, **more)


# Numbering and legs of a load centre: odd spaces left, even ones right, rows on alternate legs (common practice, no
# source).


def test_one_breaker_on_each_leg_in_turn() -> None:
    seats, faults = placed(panel(), [want(name) for name in "abcd"])
    assert faults == ()
    assert seats == {"a": ((1,), "A"), "b": ((3,), "B"), "c": ((2,), "A"), "d": ((4,), "B")}


def test_two_poles_lie_below_each_other_on_both_legs() -> None:
    seats, _ = placed(panel(), [want("light"), want("saw", poles=2), want("share", multiwire=True)])
    assert seats == {"saw": ((1, 3), "AB"), "share": ((2, 4), "AB"), "light": ((5,), "A")}


def test_used_spaces_stay_used() -> None:
    seats, faults = placed(panel(6, used=(1, 4)), [want("saw", poles=2), want("a"), want("b")])
    assert faults == ()
    assert seats == {"saw": ((3, 5), "AB"), "a": ((2,), "A"), "b": ((6,), "A")}


def test_loads_are_balanced() -> None:
    # 16 | 12 + 5 by hand: heaviest first gives A 16, B 12 + 5
    seats, _ = placed(panel(), [want("a", 12.0), want("b", 5.0), want("c", 16.0)])
    assert {name: legs for name, (_, legs) in seats.items()} == {"c": "A", "a": "B", "b": "B"}
    # 8 + 5 + 4 | 7 + 6, and 5 for 4 or 6 exchanged betters nothing; 8 + 7 | 6 + 5 + 4 is even
    loads = {"a": 8.0, "b": 7.0, "c": 6.0, "d": 5.0, "e": 4.0}
    seats, _ = placed(panel(), [want(name, load) for name, load in loads.items()])
    legs = {leg: sum(loads[name] for name, (_, its) in seats.items() if its == leg) for leg in "AB"}
    assert abs(legs["A"] - legs["B"]) <= 2.0


def test_a_size_that_the_label_does_not_list() -> None:
    seats, faults = placed(panel(sizes_a=(15.0, 20.0)), [want("heat", breaker_a=25.0), want("b", breaker_a=15.0)])
    assert [fault.where for fault in faults] == [("boxes", "PANEL", "panel", "sizes")]
    assert "a 25 A breaker for heat" in faults[0].found
    assert faults[0].expected.endswith("15, 20 A")
    assert set(seats) == {"heat", "b"}


def test_too_few_spaces_say_how_many_and_ways_out() -> None:
    seats, faults = placed(panel(4, used=(2,)), [want("saw", poles=2), *(want(name) for name in "abc")])
    assert set(seats) == {"saw", "a"}
    assert [fault.where for fault in faults] == [("boxes", "PANEL", "panel", "spaces")]
    assert "5 spaces wanted, 3 free; none left for b, c" in faults[0].found
    for way in ("larger panel", "join circuits", "tandem"):
        assert way in faults[0].do
    # Enough, but none below each other: 1 and 4 are free.
    _, faults = placed(panel(4, used=(2, 3)), [want("saw", poles=2)])
    assert "2 spaces wanted, 2 free, of which no two" in faults[0].found


def test_tandem_breakers_only_where_they_are_listed_and_needed() -> None:
    three = [want(name) for name in "abc"]
    assert placed(panel(2), three)[1]
    seats, faults = placed(panel(2, tandem=(2,)), three)
    assert faults == ()
    assert sorted(spaces for spaces, _ in seats.values()) == [(1,), (2,), (2,)]
    assert len({spaces for spaces, _ in placed(panel(4, tandem=(1, 2, 3, 4)), three)[0].values()}) == 3


def test_no_tandem_under_a_protective_a_two_pole_or_a_multiwire_breaker() -> None:
    listed = panel(4, tandem=(1, 2, 3, 4))
    for special in ({"poles": 2}, {"multiwire": True}):
        assert placed(listed, [want(name, **special) for name in "abc"])[1]
    assert placed(listed, [want(name, protective=True) for name in "abcde"])[1]
    # four plain ones in two tandems, three protective ones do not go into the other two
    assert placed(listed, [want(n, protective=True) for n in "abc"] + [want(n) for n in "wxyz"])[1]
    seats, faults = placed(listed, [want(n, protective=True) for n in "ab"] + [want(n) for n in "wxyz"])
    assert faults == ()
    assert len({seats[name] for name in "ab"}) == 2
    assert not {seats[name] for name in "ab"} & {seats[name] for name in "wxyz"}


def test_two_poles_keep_off_the_spaces_for_tandems() -> None:
    seats, faults = placed(panel(6, tandem=(1, 3)), [want("saw", poles=2), *(want(name) for name in "abcdef")])
    assert faults == ()
    assert seats["saw"] == ((2, 4), "AB")


def test_a_fifth_stays_free_or_it_is_said() -> None:
    ten = [want(name) for name in "abcdefgh"]
    assert spare_words(panel(10), placed(panel(10), ten)[0], LIMITS) == ()
    nine = placed(panel(10, used=(1,)), ten)[0]
    assert spare_words(panel(10, used=(1,)), nine, LIMITS) == (
        "PANEL: 1 of 10 spaces stay free; aim at 20% (own caution)",
    )


# --- whatever is wanted ----------------------------------------------------------------------------------------------

wishes = st.lists(
    st.tuples(st.sampled_from(["plain", "plain", "protective", "two", "multiwire"]), st.integers(1, 30)),
    min_size=1,
    max_size=7,
)


@st.composite
def panels(draw: st.DrawFn) -> Breakers:
    spaces = draw(st.integers(2, 8))
    some = st.sets(st.integers(1, spaces), max_size=4)
    used = draw(some)
    return panel(spaces, used=tuple(sorted(used)), tandem=tuple(sorted(draw(some))))


def all_fit(breakers: Breakers, wants: list[Want]) -> bool:
    """Whether every breaker finds a place: every way to put the wide ones is tried."""
    free = set(range(1, breakers.spaces + 1)) - set(breakers.used)
    wide = sum(one.spaces == 2 for one in wants)
    single = [one for one in wants if one.spaces == 1]
    plain = sum(not one.protective for one in single)

    def wides(left: set[int], many: int) -> bool:
        if many == 0:
            tandem = len(left & set(breakers.tandem))
            return any(len(single) <= len(left) + t and 2 * t <= plain for t in range(tandem + 1))
        return any(wides(left - {s, s + 2}, many - 1) for s in left if s + 2 in left)

    return wides(free, wide)


@settings(max_examples=300, deadline=None)
@given(panels(), wishes)
def test_breakers_keep_the_rules_and_find_a_place_if_there_is_one(
    breakers: Breakers, wished: list[tuple[str, int]]
) -> None:
    more: dict[str, dict[str, Any]] = {"protective": {"protective": True}, "two": {"poles": 2}}
    more |= {"multiwire": {"multiwire": True, "protective": True}, "plain": {}}
    wants = [want(f"C{n}", float(load), **more[kind]) for n, (kind, load) in enumerate(wished)]
    seats, faults = placed(breakers, wants)
    assert (not faults) == all_fit(breakers, wants) == (len(seats) == len(wants))
    in_space: dict[int, list[Want]] = {}
    for one in wants:
        for space in seats[one.circuit][0] if one.circuit in seats else ():
            in_space.setdefault(space, []).append(one)
    for space, its in in_space.items():
        assert 1 <= space <= breakers.spaces
        assert space not in breakers.used
        assert len(its) == 1 or (len(its) == 2 and space in breakers.tandem)
        assert len(its) == 1 or not any(one.protective or one.spaces == 2 for one in its)
    for one in wants:
        if one.circuit in seats:
            spaces, legs = seats[one.circuit]
            assert len(spaces) == one.spaces
            assert legs == "".join(map(leg_of, sorted(spaces, key=leg_of)))
            assert one.spaces == 1 or (spaces[1] == spaces[0] + 2 and legs == "AB")


@settings(max_examples=200, deadline=None)
@given(st.lists(st.integers(1, 40), min_size=1, max_size=8), st.integers(8, 16))
def test_no_exchange_evens_the_legs_out_better(loads: list[int], spaces: int) -> None:
    wants = [want(f"C{n}", float(load)) for n, load in enumerate(loads)]
    seats, _ = placed(panel(spaces), wants)
    found = abs(sum(load if seats[f"C{n}"][1] == "A" else -load for n, load in enumerate(loads)))
    most = {leg: sum(leg_of(space) == leg for space in range(1, spaces + 1)) for leg in "AB"}
    best = min(
        abs(sum(sign * load for sign, load in zip(signs, loads, strict=True)))
        for signs in product((1, -1), repeat=len(loads))
        if signs.count(1) <= most["A"] and signs.count(-1) <= most["B"]
    )
    assert best <= found <= max(best, max(loads))
    # no single breaker moved to the other leg, and no two exchanged, would do better
    sides = [seats[f"C{n}"][1] for n in range(len(loads))]
    apart = sum(load if leg == "A" else -load for load, leg in zip(loads, sides, strict=True))
    for n, m in product(range(len(loads)), repeat=2):
        if sides[n] == "A" and sides[m] == "B":
            assert abs(apart - 2 * (loads[n] - loads[m])) >= found


@pytest.mark.parametrize("turn", [1, 3])
def test_the_order_of_equals_changes_no_leg_load(turn: int) -> None:
    loads = [9.0, 9.0, 4.0, 7.0, 7.0]
    wants = [want(f"C{n}", load) for n, load in enumerate(loads)]
    first, again = placed(panel(), wants)[0], placed(panel(), wants[turn:] + wants[:turn])[0]
    assert {name: legs for name, (_, legs) in first.items()} == {name: legs for name, (_, legs) in again.items()}
