"""Legal zones of random members against an independent formula, rule by rule as the published texts have it."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from timbers import drilled, member

from barnloom.model.boring import along_spans, bands, governing, interesting_along, nail_plates, reason
from barnloom.model.building import Member, Notch, Role
from barnloom.model.limits import Limits, load_limits

LIMITS = Limits(load_limits())


def margin(timber: Member, diameter: float, along: float, across: float, holes: list) -> float:
    """Least room that any rule leaves, inches, rule by rule as the published texts have it; below 0: illegal."""
    here = [ply for ply in timber.plies if ply.along[0] <= along <= ply.along[1]]
    if not here:
        return -math.inf
    r = diameter / 2
    room = [abs(along - end) - r - 2 for ply in timber.plies for end in ply.along]
    depth = min(ply.across[1] - ply.across[0] for ply in here)
    edge = min(min(across - ply.across[0], ply.across[1] - across) for ply in here) - r
    others = [(h.along_in, h.across_in, 2.0 if h.diameter_in is None else h.diameter_in) for h in timber.holes] + holes
    if timber.role in {Role.JOIST, Role.RAFTER, Role.GIRDER}:
        room += [depth / 3 - diameter, edge - 2]
        room += [math.dist((along, across), other[:2]) - r - other[2] / 2 - 2 for other in others]
        for notch in timber.notches:
            low, high = (-99, notch.depth_in) if notch.edge == "low" else (timber.depth_in - notch.depth_in, 99)
            beside = max(notch.along[0] - along, 0, along - notch.along[1])
            above = max(low - across, 0, across - high)
            room.append(math.hypot(beside, above) - r - 2)
    else:
        if timber.role is Role.STUD:
            share = 0.6 if len(here) > 1 or not timber.bearing else 0.4
            room.append(share * depth - diameter)
        room.append(edge - (0.25 if timber.role in (Role.TOP_PLATE, Role.SILL) else 0.625))
        room += [math.dist((along, across), other[:2]) - r - other[2] / 2 - max(diameter, other[2]) for other in others]
        room += [max(notch.along[0] - along, along - notch.along[1]) - r for notch in timber.notches]
    return min(room)


@st.composite
def members(draw: st.DrawFn, *, worked: bool = True) -> Member:
    inch = st.integers(0, 16 * 60).map(lambda sixteenths: sixteenths / 16)
    depth = draw(st.sampled_from([3.5, 4.0, 5.5, 7.25, 9.25, 11.25, 241 / 25.4]))
    role = draw(st.sampled_from([Role.JOIST, Role.RAFTER, Role.GIRDER, Role.STUD, Role.TOP_PLATE, Role.SILL]))
    plies = [(0.0, 60.0, 0.0, depth)]
    for _ in range(draw(st.integers(0, 2))):
        start, low = draw(inch), draw(st.sampled_from([0.0, 0.25, 1.0]))
        plies.append((start, draw(st.sampled_from([60.0, start + 20])), low, depth - draw(st.sampled_from([0.0, 0.5]))))
    holes, notches = [], []
    if worked:
        sizes = st.sampled_from([0.75, 1.0, 2.0, None])
        holes = draw(st.lists(st.tuples(inch, st.floats(0, depth), sizes), max_size=3))
        for at in draw(st.lists(inch, max_size=2)):
            edge = draw(st.sampled_from(["low", "high"]))
            notches.append(Notch(along=(at, at + draw(st.sampled_from([0.5, 3.0]))), edge=edge, depth_in=depth / 6))
    return member(
        role,
        depth=depth,
        length=max(ply[1] for ply in plies),
        plies=plies,
        bearing=draw(st.booleans()),
        holes=drilled(*holes),
        notches=tuple(notches),
    )


DIAMETERS = st.sampled_from([0.5, 0.75, 1.0, 1.25, 1.5, 2.0])
ALONGS = st.lists(st.floats(-1, 82), min_size=1, max_size=5)
NEW = st.lists(st.tuples(st.floats(0, 60), st.floats(0, 9), st.sampled_from([0.75, 1.0])), max_size=2)


@settings(max_examples=300, deadline=None)
@given(members(), DIAMETERS, ALONGS, st.floats(0, 12), NEW)
def test_a_band_keeps_every_limit_and_is_the_nearest_to_the_aim(
    timber: Member, diameter: float, alongs: list, aim: float, new: list
) -> None:
    found = bands(timber, LIMITS, diameter, np.array(alongs), aim_in=aim, holes=new)
    for n, along in enumerate(alongs):
        low, high = float(found.low[n]), float(found.high[n])
        samples = [across / 16 for across in range(-8, int(16 * timber.depth_in) + 8)]
        free = [across for across in samples if margin(timber, diameter, along, across, new) > 1e-3]
        if math.isnan(low):
            assert not free
            assert math.isnan(high)
            continue
        for across in np.linspace(low, high, 5):
            assert margin(timber, diameter, along, float(across), new) >= -2e-6
        off = max(low - aim, aim - high, 0.0)
        assert all(abs(across - aim) >= off - 1e-3 for across in free)
        assert margin(timber, diameter, along, low - 2e-3, new) < 1e-6
        assert margin(timber, diameter, along, high + 2e-3, new) < 1e-6


@settings(deadline=None)
@given(members(), DIAMETERS, ALONGS, NEW)
def test_the_plain_part_is_in_the_band_and_leaves_an_inch_and_a_quarter(
    timber: Member, diameter: float, alongs: list, new: list
) -> None:
    found = bands(timber, LIMITS, diameter, np.array(alongs), aim_in=timber.depth_in / 2, holes=new)
    for low, high, plain_low, plain_high, along in zip(
        found.low, found.high, found.plain_low, found.plain_high, alongs, strict=True
    ):
        if math.isnan(plain_low):
            continue
        assert low - 1e-9 <= plain_low <= plain_high <= high + 1e-9
        for across in (float(plain_low), float(plain_high)):
            assert nail_plates(timber, LIMITS, diameter, across, along) == ()
        if plain_low > low + 1e-3:
            assert nail_plates(timber, LIMITS, diameter, float(plain_low) - 1e-3, along) != ()


@settings(deadline=None)
@given(members(), ALONGS, NEW, st.floats(0.25, 3), st.floats(0, 2))
def test_a_smaller_hole_is_never_allowed_less(
    timber: Member, alongs: list, new: list, small: float, more: float
) -> None:
    large = bands(timber, LIMITS, small + more, np.array(alongs), aim_in=timber.depth_in / 2, holes=new)
    inside = np.where(np.isnan(large.low), timber.depth_in / 2, (large.low + large.high) / 2)
    less = bands(timber, LIMITS, small, np.array(alongs), aim_in=inside, holes=new)
    legal = ~np.isnan(large.low)
    assert (less.low[legal] <= large.low[legal] + 1e-6).all()
    assert (less.high[legal] >= large.high[legal] - 1e-6).all()


@settings(deadline=None)
@given(members(), DIAMETERS, ALONGS, NEW)
def test_there_is_a_reason_exactly_where_there_is_no_zone(
    timber: Member, diameter: float, alongs: list, new: list
) -> None:
    found = bands(timber, LIMITS, diameter, np.array(alongs), aim_in=timber.depth_in / 2, holes=new)
    for low, along in zip(found.low, alongs, strict=True):
        assert bool(reason(timber, LIMITS, diameter, along, holes=new)) is bool(np.isnan(low))


@settings(deadline=None)
@given(members(), DIAMETERS, st.floats(0, 60), st.floats(0, 12), NEW)
def test_the_margin_of_a_legal_hole_is_that_of_the_formula(
    timber: Member, diameter: float, along: float, aim: float, new: list
) -> None:
    found = bands(timber, LIMITS, diameter, np.array([along]), aim_in=aim, holes=new)
    if np.isnan(found.low[0]):
        return
    across = float(found.low[0] + found.high[0]) / 2
    here = [ply for ply in timber.plies if ply.along[0] <= along <= ply.along[1]]
    plain = min(min(across - ply.across[0], ply.across[1] - across) for ply in here) - diameter / 2 - 1.25
    room = margin(timber, diameter, along, across, new)
    expected = min(room, plain) if plain >= -1e-6 else room
    words, found_margin = governing(timber, LIMITS, diameter, along, across, new)
    assert found_margin == pytest.approx(expected, abs=1e-6)
    assert words


@settings(deadline=None)
@given(members(), DIAMETERS, ALONGS, st.floats(0, 12))
def test_a_member_turned_end_for_end_and_upside_down_has_the_same_zones(
    timber: Member, diameter: float, alongs: list, aim: float
) -> None:
    length, depth = timber.length_in, timber.depth_in
    turned = replace(
        timber,
        plies=tuple(
            replace(
                ply,
                along=(length - ply.along[1], length - ply.along[0]),
                across=(depth - ply.across[1], depth - ply.across[0]),
            )
            for ply in timber.plies[::-1]
        ),
        holes=tuple(replace(h, along_in=length - h.along_in, across_in=depth - h.across_in) for h in timber.holes),
        notches=tuple(
            replace(
                notch,
                along=(length - notch.along[1], length - notch.along[0]),
                edge="high" if notch.edge == "low" else "low",
            )
            for notch in timber.notches
        ),
    )
    here = bands(timber, LIMITS, diameter, np.array(alongs), aim_in=aim)
    there = bands(turned, LIMITS, diameter, length - np.array(alongs), aim_in=depth - aim)
    off_here, off_there = (
        np.maximum(np.maximum(found.low - wish, wish - found.high), 0.0)
        for found, wish in ((here, aim), (there, depth - aim))
    )
    np.testing.assert_allclose(off_here, off_there, atol=2e-6)


@settings(deadline=None)
@given(members(worked=False), DIAMETERS, st.lists(st.floats(-5, 90), max_size=20))
def test_the_stretches_along_hold_every_legal_place_and_no_other(timber: Member, diameter: float, alongs: list) -> None:
    spans = along_spans(timber, LIMITS, diameter)
    assert spans == sorted(spans)
    ends = [end + way for span in spans for end, way in ((span[0], -1e-3), (span[1], 1e-3), (sum(span) / 2, 0.0))]
    places = np.array([*alongs, *ends])
    legal = ~np.isnan(bands(timber, LIMITS, diameter, places, aim_in=timber.depth_in / 2).low)
    for place, some in zip(places, legal, strict=True):
        assert any(low - 1e-6 <= place <= high + 1e-6 for low, high in spans) == some


@settings(deadline=None)
@given(members(), DIAMETERS, NEW)
def test_every_interesting_place_is_legal_and_the_stretches_lose_none_of_theirs(
    timber: Member, diameter: float, new: list
) -> None:
    places = interesting_along(timber, LIMITS, diameter, new)
    assert places == sorted(places)
    found = bands(timber, LIMITS, diameter, np.array(places), aim_in=timber.depth_in / 2, holes=new)
    assert not np.isnan(found.low).any()
    for span in along_spans(timber, LIMITS, diameter):
        for end in span:
            legal = bands(timber, LIMITS, diameter, np.array([end]), aim_in=timber.depth_in / 2, holes=new)
            assert (end in places) is not bool(np.isnan(legal.low[0]))
