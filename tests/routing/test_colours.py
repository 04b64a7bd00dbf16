"""Conductors in their colours, against NEC 200.6, 200.7 and how cable is made."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barnloom.routing.wiring.colours import INSULATED, STRIPED, conductors_for
from barnloom.routing.wiring.nets import is_neutral, least_conductors


def said(nets: list[str], count: int) -> list[tuple[str, str]]:
    return [(one.colour, one.net + (" marked" if one.marked else "")) for one in conductors_for(nets, count)]


# NEC 200.7(C)(1), diychatroom.com/f18/wire-colors-switch-26814/: in a switch loop the white supplies the switch,
# marked, and not the return from it to the light.
def test_in_a_switch_loop_without_neutral_the_marked_white_supplies_the_switch() -> None:
    assert said(["line", "switched R"], 2) == [("black", "switched R"), ("white", "line marked"), ("bare", "ground")]


# NEC 200.6, 200.7: a white is the neutral wherever there is one in the cable.
@pytest.mark.parametrize(
    ("nets", "count", "expected"),
    [
        (["line", "neutral"], 2, {"black": "line", "white": "neutral"}),
        (["switched R", "neutral"], 2, {"black": "switched R", "white": "neutral"}),
        (["line", "switched R", "neutral"], 3, {"black": "line", "red": "switched R", "white": "neutral"}),
        # Between two three-way switches with the neutral along: travelers black and red (common practice, no source).
        (
            ["neutral", "traveler R 1a", "traveler R 1b"],
            3,
            {"black": "traveler R 1a", "red": "traveler R 1b", "white": "neutral"},
        ),
        # A multiwire circuit: black and red on opposite legs (common practice, no source).
        (["line 1", "line 2", "neutral"], 3, {"black": "line 1", "red": "line 2", "white": "neutral"}),
        # 240 V in two conductors: the white is the second line, marked (200.7(C)(1)).
        (["line 1", "line 2"], 2, {"black": "line 1", "white": "line 2 marked"}),
        # Line and both neutrals of a ground-fault device: two whites, for a neutral is white (200.6).
        (
            ["line", "neutral", "protected line B", "protected neutral B"],
            4,
            {"black": "line", "red": "protected line B", "white": "neutral", STRIPED: "protected neutral B"},
        ),
        # What is over is capped.
        (["line", "neutral"], 3, {"black": "line", "red": "spare", "white": "neutral"}),
    ],
)
def test_colours_follow_the_code(nets: list[str], count: int, expected: dict[str, str]) -> None:
    assert dict(said(nets, count)) == expected | {"bare": "ground"}


def test_two_neutrals_need_two_whites() -> None:
    assert least_conductors(["neutral", "protected neutral B", "protected line B"]) == 4
    with pytest.raises(ValueError, match="3 conductors"):
        conductors_for(["neutral", "protected neutral B", "protected line B"], 3)


def test_what_returns_from_switches_needs_coloured_conductors_where_there_is_no_neutral() -> None:
    # NEC 200.7(C)(1): a marked white supplies a switch and does not return from it
    # (diychatroom.com/f18/wire-colors-switch-26814/). Cables of four have two whites: two pairs.
    assert least_conductors(["line", "switched A"]) == 2
    assert least_conductors(["line", "switched A", "switched B"]) == 3
    assert least_conductors(["switched A", "switched B"]) == 3
    assert least_conductors(["line", "switched A", "switched B", "switched C"]) == 5
    assert least_conductors(["neutral", "switched A", "switched B", "switched C"]) == 4


NETS = ("line", "neutral", "switched R", "switched S", "traveler R 1a", "traveler R 1b", "interconnect")


@given(st.sets(st.sampled_from(NETS), min_size=1, max_size=4), st.integers(2, 4))
def test_every_net_has_one_conductor_and_no_unmarked_white_is_hot(nets: set[str], count: int) -> None:
    if count < len(nets):
        return
    found = conductors_for(sorted(nets), count)
    assert [one.colour for one in found] == [*INSULATED[count], "bare"]
    assert sorted(one.net for one in found if one.net not in ("spare", "ground")) == sorted(nets)
    for one in found:
        hot = one.net not in ("spare", "ground") and not is_neutral(one.net)
        assert bool(one.marked) == (hot and one.colour.startswith("white"))
        assert not (is_neutral(one.net) and not one.colour.startswith("white"))
        assert one.marked not in ("white", "gray", "green")


@given(st.sets(st.sampled_from(NETS), min_size=1, max_size=4), st.integers(2, 4))
def test_a_white_is_a_switched_line_only_where_nothing_else_can_be(nets: set[str], count: int) -> None:
    if count < len(nets):
        return
    white = {one.net for one in conductors_for(sorted(nets), count) if one.marked}
    others = {n for n in nets if not is_neutral(n) and not n.startswith("switched")}
    if any(net.startswith("switched") for net in white):
        assert others <= white
