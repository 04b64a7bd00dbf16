"""Circuit diagrams read back: which box hangs on which, what each cable carries; one-lines say the panel."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from barnloom.model.building import Circuit
from barnloom.model.errors import InputError
from barnloom.model.wiring import Breakers, Supply
from barnloom.routing.plan import CircuitSheet, Conductor, Plan
from barnloom.viewer.drawing import Drawing, Line, Point, Polygon, Polyline, Symbol, Text
from barnloom.viewer.drawings.one_line import one_line
from barnloom.viewer.drawings.wiring_circuit import PAGE_IN, circuit_diagrams
from barnloom.viewer.symbols import SYMBOLS
from barnloom.viewer.wires import label
from tests.viewer.drawings.read_wiring import box_of, groups, middle
from tests.viewer.drawings.wired_layouts import LAYOUTS, cable_of, layout_plan, plan_of

NEAR = 1e-6


def overlaps(drawing: Drawing) -> list[str]:
    """Text over text, and text outside."""
    texts = [(item.text, box_of(item)) for item in drawing.items if isinstance(item, Text)]
    b = drawing.bounds
    found = [
        f"{one!r} over {other!r}"
        for (one, p), (other, q) in combinations(texts, 2)
        if p[0] < q[2] and q[0] < p[2] and p[1] < q[3] - NEAR and q[1] < p[3] - NEAR
    ]
    return found + [
        f"{text!r} is outside"
        for text, (left, foot, right, head) in texts
        if left < b.left - NEAR or right > b.right + NEAR or foot < b.bottom - NEAR or head > b.top + NEAR
    ]


def tangled(drawing: Drawing, signs: list[tuple[Point, Point]]) -> list[str]:
    """Cables that touch or cross each other, or run on over a sign."""
    pieces = [
        pair
        for item in drawing.items
        if isinstance(item, Polyline) and item.layer == "cables"
        for pair in pairwise(item.points)
    ]
    cable = groups(pieces)
    found = [] if len(set(cable)) == len(signs) - 1 else ["cables touch"]
    boxes = [tuple((min(pair), max(pair)) for pair in zip(*piece, strict=True)) for piece in pieces]
    for (a, one), (b, other) in combinations(enumerate(boxes), 2):
        if cable[a] != cable[b] and all(p[0] <= q[1] and q[0] <= p[1] for p, q in zip(one, other, strict=True)):
            found.append(f"{pieces[a]} crosses {pieces[b]}")
    for piece, box in zip(pieces, boxes, strict=True):
        for low, high in signs:
            if all(p[0] < top - NEAR and p[1] > foot + NEAR for p, foot, top in zip(box, low, high, strict=True)):
                found.append(f"{piece} runs over a sign")
    return found


def fed_from(drawing: Drawing) -> dict[str, str]:
    """Which box each box hangs on, from the ends of lines at their signs alone."""
    nodes: dict[str, tuple[Point, Point]] = {}
    names = [item for item in drawing.items if isinstance(item, Text) and item.layer == "boxes" and item.bold]
    for item in drawing.items:
        if isinstance(item, Polygon) and item.layer == "nodes":
            low, high = item.points[0], item.points[2]
            (name,) = (text for text in names if low[1] < middle(text) < high[1])
            nodes[name.text] = (low, high)

    def at(point: Point) -> str:
        (name,) = (
            name
            for name, (low, high) in nodes.items()
            if low[0] - NEAR <= point[0] <= high[0] + NEAR and low[1] - NEAR <= point[1] <= high[1] + NEAR
        )
        return name

    assert tangled(drawing, list(nodes.values())) == []
    found = {}
    lines = [item.points for item in drawing.items if isinstance(item, Polyline) and item.layer == "cables"]
    ends = {(line[0], line[-1]) for line in lines}
    starts = {line[0] for line in lines}
    for start, end in ends:
        if any(start == other for _, other in ends):
            continue  # it goes on from another piece
        while end in starts:
            end = next(line[-1] for line in lines if line[0] == end)
        found[at(end)] = at(start)
    return found


@pytest.mark.parametrize("layout", LAYOUTS, ids=[layout["id"] for layout in LAYOUTS])
def test_every_published_layout_is_drawn_as_its_tree(layout):
    plan = layout_plan(layout)
    (drawing,) = circuit_diagrams(plan, "C1")
    assert fed_from(drawing) == {cable.to_box: cable.from_box for cable in plan.cables}
    assert overlaps(drawing) == []


WIRES = (
    Conductor(colour="black", net="line"),
    Conductor(colour="white", net="neutral"),
    Conductor(colour="bare", net="ground"),
)


def tree_plan(parents: list[int]) -> Plan:
    """Box n is fed from the box that ``parents[n]`` says, 0 being the panel."""
    names = ["P", *(f"B{n}" for n in range(1, len(parents) + 1))]
    cables = [cable_of(f"C1.{names[n]}", (names[near], names[n]), WIRES) for n, near in enumerate(parents, 1)]
    return plan_of(names[1:], cables, [], {})


@settings(max_examples=80, deadline=None)
@given(st.data())
def test_any_tree_is_drawn_as_it_is(data):
    count = data.draw(st.integers(1, 20))
    parents: list[int] = []
    for n in range(count):
        free = [box for box in range(n + 1) if parents.count(box) < 3]
        parents.append(data.draw(st.sampled_from(free)))
    plan = tree_plan(parents)
    (drawing,) = circuit_diagrams(plan, "C1")
    assert fed_from(drawing) == {cable.to_box: cable.from_box for cable in plan.cables}
    assert overlaps(drawing) == []
    assert drawing.bounds.width_in <= PAGE_IN[0]
    assert drawing.bounds.height_in <= PAGE_IN[1]


def test_each_cable_tells_its_label_and_what_its_conductors_carry():
    layout = next(one for one in LAYOUTS if one["id"] == "switch-loop-with-neutral")
    plan = layout_plan(layout)
    (drawing,) = circuit_diagrams(plan, "C1")
    said = " ".join(item.text for item in drawing.items if isinstance(item, Text) and item.layer == "cables")
    assert all(label(cable) in said for cable in plan.cables)
    assert "black always hot; red hot when A is on; white neutral" in said
    assert {item.name for item in drawing.items if isinstance(item, Symbol)} == {"panel", "light", "switch"}
    assert {"panel", "light", "switch"} <= set(SYMBOLS)


def test_a_long_circuit_goes_on_over_pages_and_loses_no_box():
    plan = tree_plan([n if n % 3 else max(0, n - 2) for n in range(120)])
    pages = circuit_diagrams(plan, "C1")
    assert len(pages) > 2
    names = [
        item.text
        for page in pages
        for item in page.items
        if isinstance(item, Text) and item.layer == "boxes" and item.bold
    ]
    assert sorted(names) == sorted(["P", *(f"B{n}" for n in range(1, 121))])
    assert all(page.bounds.height_in <= PAGE_IN[1] and overlaps(page) == [] for page in pages)
    for page in pages:
        points = [point for item in page.items if isinstance(item, Polyline) for point in item.points]
        assert all(0 <= x <= page.bounds.right and 0 <= y <= page.bounds.top for x, y in points)


def test_long_and_foreign_names_stay_within_the_page():
    plan = tree_plan([0, 1, 2])
    long = {f"B{n}": "W" * 39 + str(n) for n in (1, 2, 3)} | {"P": "P"}
    cables = tuple(
        replace(cable, id=f"C1.{long[cable.to_box]}", from_box=long[cable.from_box], to_box=long[cable.to_box])
        for cable in plan.cables
    )
    boxes = tuple(replace(box, id=long[box.id], title="船小屋 " * 12 + "<b>&amp;" * 20) for box in plan.building.boxes)
    plan = replace(plan, cables=cables, building=replace(plan.building, boxes=boxes))
    for drawing in circuit_diagrams(plan, "C1"):
        assert overlaps(drawing) == []


def test_a_circuit_without_cables_is_refused():
    with pytest.raises(InputError, match="C9"):
        circuit_diagrams(tree_plan([0]), "C9")


# --- one-line --------------------------------------------------------------------------------------------------------


def panel_plan(count: int, **supply: object) -> Plan:
    plan = tree_plan([0])
    circuits = tuple(Circuit(id=f"K{n}", title=f"title {n}", panel="P", boxes=("B1",)) for n in range(count))
    sheets = tuple(
        CircuitSheet(
            circuit=f"K{n}", panel="P", volts=120, poles=1, breaker_a=20, breaker="ground-fault", awg=12, load_va=1800,
            load_a=15, longest_ft=50, drop_percent=1.5, spaces=(count - n,), legs="A",
        )
        for n in range(count)
    )  # fmt: skip
    building = replace(
        plan.building,
        circuits=circuits,
        breakers=(Breakers(panel="P", spaces=20, main_a=60, said=True),),
        supply=Supply(said=True, **supply),
    )
    return replace(plan, building=building, circuits=sheets)


def words(drawing: Drawing) -> list[str]:
    return [item.text for item in drawing.items if isinstance(item, Text)]


def test_a_one_line_says_supply_panel_circuits_in_order_of_space_and_electrodes():
    plan = panel_plan(
        3, from_where="the house", breaker_a=60, awg="6", length_in=1320, method="buried", family="UF-B",
        electrodes="two rods", disconnect_a=60,
    )  # fmt: skip
    (drawing,) = one_line(plan, "P")
    said = words(drawing)
    for part in (
        "source: the house",
        "its breaker: 60 A",
        "feeder: 4 wires of 6 AWG, UF-B, 110' 0\", buried",
        "disconnect: 60 A, nearest to where the supply comes in",
        "panel P, main: 60 A, 20 spaces",
        "neutral bar: apart from the ground bar: no strap",
        "electrodes: two rods",
    ):
        assert part in said
    heads = [text for text in said if text.startswith("K")]
    assert heads[0] == "K2 (title 2): 20 A ground-fault, space 1, leg A"
    assert [head[:2] for head in heads] == ["K2", "K1", "K0"]
    assert overlaps(drawing) == []


def test_the_bars_of_a_separate_building_are_not_joined():
    """NEC 250.32(B): neutral and ground stay apart in a separate building's panel."""
    (drawing,) = one_line(panel_plan(1), "P")
    low, high = sorted(
        (min(y for _, y in item.points), max(y for _, y in item.points))
        for item in drawing.items
        if isinstance(item, Polygon) and item.layer == "bars"
    )
    between = [
        item
        for item in drawing.items
        if isinstance(item, Line)
        and item.layer == "lines"
        and min(item.start[1], item.end[1]) < high[0]
        and max(item.start[1], item.end[1]) > low[1]
    ]
    assert between == []
    bonded = panel_plan(1)
    breakers = (replace(bonded.building.breakers[0], neutral_bonded=True),)
    (drawing,) = one_line(replace(bonded, building=replace(bonded.building, breakers=breakers)), "P")
    assert "neutral bar: the two bars are joined here, as the scene says" in words(drawing)


def test_what_is_not_said_is_said_to_be_missing():
    plan = panel_plan(1)
    plan = replace(plan, building=replace(plan.building, supply=Supply(), breakers=()))
    (drawing,) = one_line(plan, "P")
    said = words(drawing)
    assert "source: not said" in said
    assert "feeder: not said" in said
    assert "electrodes: not said" in said


def test_a_full_panel_goes_on_over_pages():
    pages = one_line(panel_plan(42), "P")
    assert len(pages) > 1
    assert all(page.bounds.height_in <= PAGE_IN[1] + 0.05 and overlaps(page) == [] for page in pages)
    heads = [text.partition(" ")[0] for page in pages for text in words(page) if text.startswith("K")]
    assert heads == [f"K{n}" for n in reversed(range(42))]


def test_a_panel_that_is_not_there_is_refused():
    with pytest.raises(InputError, match="B1"):
        one_line(panel_plan(1), "B1")
