"""Box fill against published worked examples and tables, by edition, and what must hold for every box."""

from __future__ import annotations

from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from barnloom.model.electrical.boxes import default_box_types
from barnloom.model.electrical.fill import FillLine, easy, fill_lines, fits
from barnloom.model.electrical.tables import TableError, conductor_volume
from barnloom.model.limits import Limits, load_limits

LIMITS = Limits(load_limits())
BEFORE_2020 = Limits(load_limits(changes={"fill.grounds_more": (0.0, "the 2017 edition is in force")}))
"""All grounding conductors together count once (ecmag.com/section/codes-standards/box-fill-calculations-part-viii)."""
VOLUMES = {box.id: box.volume_in3 for box in default_box_types()}
SIZES = (18, 16, 14, 12, 10, 8, 6)

RULES_PAGE = "coconote.app/notes/56e1c20d-d2f5-4ea9-bc75-546d8840e2e8"
GROUNDS_PAGE = "forums.mikeholt.com/threads/egc-fill.2566828"
LIMIT_ROWS = [
    ("fill.conductor", 1, "count", "314.16(B)(1)", RULES_PAGE),
    ("fill.loop", 2, "count", "314.16(B)(1)", RULES_PAGE),
    ("fill.clamps", 1, "count", "314.16(B)(2)", RULES_PAGE),
    ("fill.stud", 1, "count", "314.16(B)(3)", RULES_PAGE),
    ("fill.yoke", 2, "count", "314.16(B)(4)", RULES_PAGE),
    ("fill.grounds", 1, "count", "314.16(B)(5)", GROUNDS_PAGE),
    ("fill.grounds_free", 4, "count", "314.16(B)(5)", GROUNDS_PAGE),
    ("fill.grounds_more", 0.25, "count", "314.16(B)(5)", GROUNDS_PAGE),
    ("fill.terminal_block", 1, "count", "314.16(B)(6)", "memory"),
    ("fill.caution", 0.85, "share", "", "own"),
]


def total(lines: Sequence[FillLine]) -> float:
    return sum(line.total_in3 for line in lines)


@pytest.mark.parametrize(
    ("name", "value", "unit", "clause", "page"),
    LIMIT_ROWS,
    ids=[f"{row[0]}-{row[4]}".replace("memory", "from_memory") for row in LIMIT_ROWS],
)
def test_each_limit_of_the_fill_is_what_its_page_states(
    name: str, value: float, unit: str, clause: str, page: str
) -> None:
    limit = LIMITS.limit(name)
    assert (limit.value, limit.unit, limit.clause) == (value, unit, clause)
    assert limit.confidence == {"memory": "from memory", "own": "own caution"}.get(page, "confirmed")


def test_no_limit_of_the_fill_is_left_out_here() -> None:
    assert {row[0] for row in LIMIT_ROWS} == {name for name in LIMITS if name.startswith("fill.")}


# B1 to B7: published examples.


def test_nine_twelve_gauge_conductors_want_a_square_box_an_inch_and_a_half_deep() -> None:
    # mikeholt.com/mojonewsarchive/EC-HTML/HTML/Outlet_Box_Sizing~20021211.htm: six THHN and three THW, insulation
    # does not matter; "4 x 1-1/2 square" among 4 x 1-1/4 square, 4 x 1-1/4 round, 4 x 1-1/2 round
    fill = total(fill_lines(conductors={12: 9}, limits=LIMITS))
    offered = ("square-4x1-1-4", "square-4x1-1-2", "octagon-4x1-1-4", "octagon-4x1-1-2")
    assert [box for box in offered if fits(fill, VOLUMES[box])] == ["square-4x1-1-2"]
    assert not fits(total(fill_lines(conductors={12: 10}, limits=LIMITS)), VOLUMES["square-4x1-1-2"])


def test_seven_fourteen_gauge_conductors_fill_a_round_box_an_inch_and_a_half_deep() -> None:
    # the same page: "7 conductors"
    assert fits(total(fill_lines(conductors={14: 7}, limits=LIMITS)), VOLUMES["octagon-4x1-1-2"])
    assert not fits(total(fill_lines(conductors={14: 8}, limits=LIMITS)), VOLUMES["octagon-4x1-1-2"])


def test_a_light_with_stud_clamps_and_fixture_wires() -> None:
    # stallcupeducation.learnworlds.com/blog/sizing-octagon-box-different-size-conductors-article: two 12-2 with ground,
    # a stud, two clamps, two pigtails, two 18 AWG fixture wires without a canopy: 18.75 in3, a 4 x 2-1/8 octagon
    lines = fill_lines(
        conductors={12: 4}, grounds=[12, 12], clamps_inside=True, stud=True, fixture_wires={18: 2}, limits=LIMITS
    )
    assert total(lines) == 18.75
    assert [(line.count, line.awg, line.each_in3) for line in lines] == [
        *((4, 12, 2.25), (2, 18, 1.50)),
        *((1, 12, 2.25), (1, 12, 2.25), (1, 12, 2.25)),
    ]
    octagons = [box for box in VOLUMES if box.startswith("octagon-4x")]
    assert [box for box in octagons if fits(18.75, VOLUMES[box])] == ["octagon-4x2-1-8"]


def test_seven_conductors_a_switch_and_clamps_overfill_a_square_box_an_inch_and_a_half_deep() -> None:
    # derived: two 12/2 and one 12/3, 7 + 1 + 1 + 2 = 11 of 2.25
    lines = fill_lines(conductors={12: 7}, grounds=[12] * 3, devices=[("S", 1, 12)], clamps_inside=True, limits=LIMITS)
    assert total(lines) == 24.75
    assert not fits(24.75, VOLUMES["square-4x1-1-2"])


@pytest.mark.parametrize("limits", [LIMITS, BEFORE_2020], ids=["2023", "2017"])
def test_four_cables_and_a_receptacle(limits: Limits) -> None:
    # codestandardspracticeslevel1.passetra.com: four 12-2, one receptacle, no clamps: 8 + 1 + 2 = 11, 24.75 in3; four
    # grounds count the same in both editions
    lines = fill_lines(conductors={12: 8}, grounds=[12] * 4, devices=[("R", 1, 12)], limits=limits)
    assert total(lines) == 24.75


def test_ten_grounds_of_two_sizes() -> None:
    # forums.mikeholt.com/threads/egc-fill.2566828: five 14 and five 12 AWG, 2.5 x 2.25, printed 5.6
    (line,) = fill_lines(conductors={}, grounds=[14, 12] * 5, limits=LIMITS)
    assert (line.count, line.awg) == (2.5, 12)
    assert line.total_in3 == 5.625
    assert total(fill_lines(conductors={}, grounds=[14, 12] * 5, limits=BEFORE_2020)) == 2.25


def test_an_exactly_full_box_passes_and_one_conductor_more_does_not() -> None:
    # diychatroom.com/threads/box-fill-calculations.102858/: 18 in3, three 14/2, a duplex receptacle, no clamps: 9 x 2
    fill = total(fill_lines(conductors={14: 6}, grounds=[14] * 3, devices=[("R", 1, 14)], limits=LIMITS))
    assert fill == 18.0
    assert fits(fill, VOLUMES["plastic-1-18"])
    assert not easy(fill, VOLUMES["plastic-1-18"], LIMITS)
    more = total(fill_lines(conductors={14: 7}, grounds=[14] * 3, devices=[("R", 1, 14)], limits=LIMITS))
    assert not fits(more, VOLUMES["plastic-1-18"])


# More published examples.


@pytest.mark.parametrize(("clamps", "printed"), [(False, 36.5), (True, 38.5)])
def test_three_switches_with_five_cables(clamps: bool, printed: float) -> None:
    # life-improver.com/diy/electrical-3-gang-box-code-specifications: four 14/2 and one 14/3, three switches; 38.5 with
    # clamps by the 2020 rule, half a cubic inch of it for the fifth ground; it fits in 44 in3
    lines = fill_lines(
        conductors={14: 11},
        grounds=[14] * 5,
        devices=[(f"S.{n}", 1, 14) for n in (1, 2, 3)],
        clamps_inside=clamps,
        limits=LIMITS,
    )
    assert total(lines) == printed
    assert fits(printed, VOLUMES["plastic-3-44"])


@pytest.mark.parametrize(("clamps", "printed"), [(True, 43.0), (False, 40.75)])
def test_two_sizes_in_three_ganged_device_boxes(clamps: bool, printed: float) -> None:
    # diychatroom.com/threads/box-fill-verification-for-gangable-metal-box-with-cable-clamp.378353/: three 14/2 and
    # three 12/2, a switch on 14 and two on 12, six clamps that count once; an inch too much for 42 in3, and 40.75
    # without them. It counts all grounds once, as before 2020; since then the fifth and sixth add half of 2.25.
    fill = {
        limits is LIMITS: total(
            fill_lines(
                conductors={14: 6, 12: 6},
                grounds=[14] * 3 + [12] * 3,
                devices=[("S.1", 1, 14), ("S.2", 1, 12), ("S.3", 1, 12)],
                clamps_inside=clamps,
                limits=limits,
            )
        )
        for limits in (BEFORE_2020, LIMITS)
    }
    assert fill[False] == printed
    assert fill[True] == printed + 0.5 * 2.25
    assert fits(fill[False], 3 * VOLUMES["device-3x2x2-3-4"]) is not clamps


# Rules one by one (coconote.app/notes/56e1c20d-d2f5-4ea9-bc75-546d8840e2e8).


@pytest.mark.parametrize(
    ("grounds", "allowances"), [(0, 0), (1, 1), (3, 1), (4, 1), (5, 1.25), (6, 1.5), (8, 2), (10, 2.5)]
)
def test_grounds_by_number(grounds: int, allowances: float) -> None:
    # forums.mikeholt.com/threads/egc-fill.2566828
    assert sum(line.count for line in fill_lines(conductors={}, grounds=[12] * grounds, limits=LIMITS)) == allowances
    earlier = fill_lines(conductors={}, grounds=[12] * grounds, limits=BEFORE_2020)
    assert sum(line.count for line in earlier) == min(grounds, 1)


def test_a_yoke_counts_by_the_largest_conductor_on_its_own_device() -> None:
    lines = fill_lines(
        conductors={10: 2, 14: 2},
        grounds=[10, 14],
        devices=[("S", 1, 14), ("R", 2, 10)],
        clamps_inside=True,
        limits=LIMITS,
    )
    by_what = {line.what: line for line in lines if line.what != "conductors"}
    assert (by_what["S"].count, by_what["S"].each_in3) == (2, 2.0)
    assert (by_what["R"].count, by_what["R"].each_in3) == (4, 2.5)  # wider than one gang: two for each
    assert (by_what["clamps inside"].count, by_what["clamps inside"].each_in3) == (1, 2.5)
    assert (by_what["grounds"].count, by_what["grounds"].each_in3) == (1, 2.5)


def test_a_larger_ground_makes_the_clamps_larger_but_no_device() -> None:
    lines = {
        line.what: line
        for line in fill_lines(
            conductors={14: 2}, grounds=[12], devices=[("S", 1, 14)], clamps_inside=True, limits=LIMITS
        )
    }
    assert (lines["clamps inside"].awg, lines["grounds"].awg, lines["S"].awg) == (12, 12, 14)


def test_an_unbroken_loop_counts_twice_and_a_terminal_block_once() -> None:
    # the loop also at codebookcity.com/necquiz/necquizq/ (314-05); the terminal block from memory
    loop, block = fill_lines(conductors={}, loops={12: 2}, terminal_blocks=[10], limits=LIMITS)
    assert (loop.count, loop.each_in3, loop.clause) == (4, 2.25, "314.16(B)(1)")
    assert (block.count, block.each_in3, block.clause) == (1, 2.5, "314.16(B)(6)")


def test_each_line_names_its_clause() -> None:
    lines = fill_lines(
        conductors={12: 2}, grounds=[12], devices=[("R", 1, 12)], clamps_inside=True, stud=True, limits=LIMITS
    )
    assert [line.clause for line in lines] == [f"314.16(B)({n})" for n in (1, 2, 3, 4, 5)]


def test_an_empty_box_has_no_lines() -> None:
    assert fill_lines(conductors={12: 0}, clamps_inside=True, stud=True, limits=LIMITS) == ()


# Table 314.16(A): what each box takes at most of one size, 18 to 6 AWG. Counts from memory; the 5 for 8 AWG in the
# shallow round box is printed by synthmind.com/Electrical_Box_Sizing_Guide.htm, 9 of 12 AWG and 7 of 14 AWG as above.
MOST = {
    "octagon-4x1-1-4": (8, 7, 6, 5, 5, 5, 2),
    "octagon-4x1-1-2": (10, 8, 7, 6, 6, 5, 3),
    "octagon-4x2-1-8": (14, 12, 10, 9, 8, 7, 4),
    "square-4x1-1-4": (12, 10, 9, 8, 7, 6, 3),
    "square-4x1-1-2": (14, 12, 10, 9, 8, 7, 4),
    "square-4x2-1-8": (20, 17, 15, 13, 12, 10, 6),
    "square-4-11-16x1-1-4": (17, 14, 12, 11, 10, 8, 5),
    "square-4-11-16x1-1-2": (19, 16, 14, 13, 11, 9, 5),
    "square-4-11-16x2-1-8": (28, 24, 21, 18, 16, 14, 8),
    "device-3x2x1-1-2": (5, 4, 3, 3, 3, 2, 1),
    "device-3x2x2": (6, 5, 5, 4, 4, 3, 2),
    "device-3x2x2-1-4": (7, 6, 5, 4, 4, 3, 2),
    "device-3x2x2-1-2": (8, 7, 6, 5, 5, 4, 2),
    "device-3x2x2-3-4": (9, 8, 7, 6, 5, 4, 2),
    "device-3x2x3-1-2": (12, 10, 9, 8, 7, 6, 3),
    "handy-4x2x1-1-2": (6, 5, 5, 4, 4, 3, 2),
    "handy-4x2x1-7-8": (8, 7, 6, 5, 5, 4, 2),
    "handy-4x2x2-1-8": (9, 8, 7, 6, 5, 4, 2),
    "masonry-1x2-1-2": (9, 8, 7, 6, 5, 4, 2),
    "masonry-1x3-1-2": (14, 12, 10, 9, 8, 7, 4),
    "fs": (9, 7, 6, 6, 5, 4, 2),
    "fd": (12, 10, 9, 8, 7, 6, 3),
}
PRINTED_ONE_MORE = ("octagon-4x1-1-4", 8)
"""The table prints 5, the volume takes 4: the volume counts, which is the stricter."""


@pytest.mark.parametrize(("box", "awg"), [(box, awg) for box in MOST for awg in SIZES], ids=str)
def test_most_conductors_of_one_size_by_volume_are_those_of_the_table_from_memory(box: str, awg: int) -> None:
    most = MOST[box][SIZES.index(awg)] - ((box, awg) == PRINTED_ONE_MORE)
    assert fits(total(fill_lines(conductors={awg: most}, limits=LIMITS)), VOLUMES[box])
    assert not fits(total(fill_lines(conductors={awg: most + 1}, limits=LIMITS)), VOLUMES[box])


def test_a_size_without_a_volume_in_the_table_is_no_size() -> None:
    with pytest.raises(TableError, match="18, 16, 14, 12, 10, 8, 6"):
        fill_lines(conductors={4: 2}, limits=LIMITS)


# What must hold for every box.

AWG = st.sampled_from(SIZES)
CABLES = st.lists(st.tuples(AWG, st.integers(1, 4)), max_size=8)
DEVICES = st.lists(st.tuples(st.integers(1, 2), AWG), max_size=4)


def filled(
    cables: Sequence[tuple[int, int]], devices: Sequence[tuple[int, int]], clamps: bool, stud: bool, limits: Limits
) -> float:
    conductors: dict[int, int] = {}
    for awg, count in cables:
        conductors[awg] = conductors.get(awg, 0) + count
    return total(
        fill_lines(
            conductors=conductors,
            grounds=[awg for awg, _ in cables],
            devices=[(f"D.{n}", yokes, awg) for n, (yokes, awg) in enumerate(devices)],
            clamps_inside=clamps,
            stud=stud,
            limits=limits,
        )
    )


@given(CABLES, st.tuples(AWG, st.integers(1, 4)), DEVICES, st.booleans(), st.booleans(), st.booleans())
def test_one_cable_more_never_lowers_a_fill(
    cables: list[tuple[int, int]],
    more: tuple[int, int],
    devices: list[tuple[int, int]],
    clamps: bool,
    stud: bool,
    earlier: bool,
) -> None:
    limits = BEFORE_2020 if earlier else LIMITS
    fill = filled(cables, devices, clamps, stud, limits)
    assert filled([*cables, more], devices, clamps, stud, limits) >= fill + more[1] * conductor_volume(more[0])


@given(CABLES.filter(bool), DEVICES, st.booleans(), st.booleans(), st.data())
def test_a_larger_conductor_never_lowers_a_fill(
    cables: list[tuple[int, int]], devices: list[tuple[int, int]], clamps: bool, stud: bool, data: st.DataObject
) -> None:
    at = data.draw(st.integers(0, len(cables) - 1))
    awg, count = cables[at]
    larger = data.draw(st.sampled_from([size for size in SIZES if size <= awg]))
    swapped = [*cables[:at], (larger, count), *cables[at + 1 :]]
    assert filled(swapped, devices, clamps, stud, LIMITS) >= filled(cables, devices, clamps, stud, LIMITS)


@given(CABLES, DEVICES, st.booleans(), st.booleans())
def test_the_edition_before_2020_never_asks_for_more(
    cables: list[tuple[int, int]], devices: list[tuple[int, int]], clamps: bool, stud: bool
) -> None:
    extra = filled(cables, devices, clamps, stud, LIMITS) - filled(cables, devices, clamps, stud, BEFORE_2020)
    assert extra >= 0
    assert (extra == 0) == (len(cables) <= 4)
