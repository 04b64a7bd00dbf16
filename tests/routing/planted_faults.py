"""Faults to plant in the plan worked by hand: in words, the change, and every code that the checker gives for it."""

from __future__ import annotations

from dataclasses import replace

from hand_plan import EAST, MID, NORTH, SOUTH, UP, hand_plan, member
from plan_changes import (
    Change,
    bits,
    bore,
    both,
    building,
    cable,
    limit,
    maker,
    more_members,
    moved,
    part,
    rerouted,
    whole,
    without_bore,
)

from barnloom.model.building import CableRule, Hole, KeepClear, Notch, Ply, Right, Role, Void
from barnloom.routing.plan import AsBuilt

HAND = hand_plan()


def old_hole(member_id: str, along: float, diameter: float | None, name: str = "OLD9", across: float = 4.625) -> Change:
    return part("members", member_id, holes=(a_hole(name, along, diameter, across),))


def a_hole(name: str, along: float, diameter: float | None = 0.75, across: float = 4.625) -> Hole:
    return Hole(id=name, along_in=along, across_in=across, diameter_in=diameter)


def drilled(*holes: str) -> AsBuilt:
    return AsBuilt(plans=(), drilled=holes, moved=(), pulled=(), made_up=(), other_boxes=())


def stick(name: str, x: float, z: tuple[float, float]) -> Change:
    """Add a 2x4 on its side in the wall SOUTH."""
    return more_members(member(name, Role.STUD, "SOUTH", (x, 3.5, z[0]), (UP, EAST, SOUTH), (z[1] - z[0], 1.5, 3.5)))


THIN_TYPES = HAND.building.cable_types
THICK = (replace(THIN_TYPES[0], thickness_in=0.36), THIN_TYPES[1])
RULE_2, RULE_AVOID = HAND.building.cable_rules


def joist_beside_plate_hole(x: float) -> Change:
    """Add the stub of a joist with its near face at ``x``; the hole through the plates ends at 24.375."""
    return more_members(member("LOFT-J2a", Role.JOIST, "LOFT", (x, 1.5, 97.5), (NORTH, EAST, UP), (8.5, 1.5, 9.25)))


def narrow_board(width: float) -> Change:
    """Make the board no wider than that, its middle where it was."""
    edge = 120.0 - width / 2
    return both(
        part(
            "members",
            "RUN",
            origin=(70.0, edge, 97.5),
            depth_in=width,
            plies=(Ply(along=(0.0, 48.0), bit=(0.0, 0.75), across=(0.0, width)),),
        ),
        rerouted(
            "L1.TAIL",
            (
                (72.0, 60.0, MID),
                (72.0, edge, MID),
                (72.0, edge, 97.5),
                (72.0, edge, 96.75),
                (72.0, 120.0, 96.75),
                (110.0, 120.0, 96.75),
            ),
            "LOFT, LOFT, RUN, RUN, RUN",
        ),
        cable("L1.TAIL", board_in=0.75 + width / 2 + 38.0),
    )


FAR_IN_THE_WAY = part("boxes", "FAR", u_in=24.0, v_in=85.0, at=(24.0, 2.4375, 85.0))
BOTH_SIDES = ("room side", "far side")

# Each: what is wrong in words, the change, and every code that the checker then gives.
FAULTS: dict[str, tuple[Change, set[str]]] = {
    # --- a hole in its member
    "stud hole 1/16 in nearer the face than 1-1/4 in, no plate": (
        moved("SOUTH-S3.a", across=1.5625),
        {"bore.nail_plates"},
    ),
    "joist hole 1/16 in nearer the bottom edge than 2 in": (
        moved("LOFT-J3.a", across=2.3125),
        {"bore.edge", "bore.band"},
    ),
    "joist hole 1/16 in nearer the top edge than 2 in": (
        moved("LOFT-J3.a", across=6.9375),
        {"bore.edge", "bore.band"},
    ),
    "hole legal in a joist but not in its sister": (
        moved("LOFT-J5.a", across=3.3125),
        {"bore.edge", "bore.band"},
    ),
    "plate hole 1/16 in nearer the edge than 5/8 in": (
        moved("SOUTH-TP1.a", across=0.9375),
        {"bore.edge", "bore.band"},
    ),
    "hole 1/16 in nearer the end of one ply than 2 in": (moved("LOFT-J5.a", along=26.3125), {"bore.end"}),
    "joist hole over a third of the depth": (
        both(bore("LOFT-J3.a", diameter_in=3.125, across_min_in=3.5625, across_max_in=5.6875), bits(0.75, 3.125)),
        {"bore.size"},
    ),
    "hole over 40 % of a bearing stud": (
        both(
            bore("SOUTH-S3.a", diameter_in=1.4375, across_min_in=1.375, across_max_in=2.125, nail_plates=BOTH_SIDES),
            bits(0.75, 1.4375),
        ),
        {"bore.size"},
    ),
    "hole over 60 % of a stud that bears nothing": (
        both(
            bore("SOUTH-S3.a", diameter_in=2.125, across_min_in=1.6875, across_max_in=1.8125, nail_plates=BOTH_SIDES),
            bits(0.75, 2.125),
            part("members", "SOUTH-S3", bearing=False),
        ),
        {"bore.size"},
    ),
    "bit that nobody owns": (bore("SOUTH-S3.a", diameter_in=0.6875), {"bore.bit"}),
    "hole 1/32 in off the print grid": (moved("SOUTH-S3.a", across=1.78125), {"bore.grid"}),
    "band that ends off the print grid": (bore("SOUTH-S3.a", across_min_in=1.63), {"bore.grid"}),
    "aim outside its own band": (bore("SOUTH-S3.a", across_min_in=1.8125), {"bore.band"}),
    "band past the edge rule": (bore("LOFT-J3.a", across_max_in=6.9375), {"bore.band"}),
    "band that reaches where a nail plate is needed": (bore("SOUTH-S3.a", across_max_in=1.9375), {"bore.band"}),
    "more cables in a sealed plate hole than need no derating": (limit("cable.sealed_together", 1), {"bore.sealed"}),
    "no rule named": (bore("SOUTH-S3.a", rule=" "), {"bore.rule"}),
    "negative margin": (bore("SOUTH-S3.a", margin_in=-0.0625), {"bore.rule"}),
    "pose without a price": (bore("SOUTH-S3.a", pose="upside down"), {"bore.pose"}),
    "nail plate forgotten": (bore("SOUTH-TP1.a", nail_plates=()), {"bore.nail_plates", "bore.band"}),
    "nail plate on the wrong face": (
        bore("SOUTH-TP1.a", nail_plates=("far side",)),
        {"bore.nail_plates", "bore.band"},
    ),
    "nail plate too many": (bore("LOFT-J3.a", nail_plates=("bottom edge",)), {"bore.nail_plates"}),
    "corner stud without its nail plate": (
        part("members", "SOUTH-S3", corner=True),
        {"bore.nail_plates", "bore.band"},
    ),
    "hole in a member never to be bored": (part("members", "LOFT-J3", bore=Right.NEVER), {"bore.right"}),
    "hole where it is not known whether one may": (part("members", "LOFT-J3", bore=Right.UNKNOWN), {"bore.right"}),
    "hole where the old holes were not measured": (part("members", "LOFT-J3", unmeasured=("holes",)), {"bore.right"}),
    "hole in an engineered joist without data": (part("members", "LOFT-J6", maker=None), {"bore.right", "bore.band"}),
    "hole larger than the maker allows": (maker(diameter_max_in=0.6875), {"bore.size"}),
    "hole nearer an end than the maker allows": (maker(end_min_in=48.1875), {"bore.end"}),
    "hole nearer an edge than the maker allows": (maker(edge_min_in=4.3125), {"bore.edge", "bore.band"}),
    "hole in a member that is not there": (
        bore("SOUTH-S4.a", member="SOUTH-S99"),
        {"bore.member", "run.track", "id.bore"},
    ),
    "hole past the end of its member": (
        part("members", "SOUTH-S3", length_in=30.0, plies=(Ply(along=(0.0, 30.0), bit=(0.0, 1.5), across=(0.0, 3.5)),)),
        {"bore.off"},
    ),
    # --- a hole beside others
    "joist hole 1/16 in nearer another than 2 in": (old_hole("LOFT-J3", 48.5 + 2.6875, 0.75), {"bore.spacing"}),
    "joist hole too near an unmeasured one": (old_hole("LOFT-J3", 48.5 + 3.3125, None), {"bore.spacing"}),
    "stud hole less than the larger diameter from another": (
        old_hole("SOUTH-S3", 33.5 + 1.8125, 1.0, across=1.75),
        {"bore.spacing"},
    ),
    "hole nearer another than the maker allows": (old_hole("LOFT-J6", 48.5 + 2.6875, 0.75), {"bore.spacing"}),
    "joist hole 1/16 in nearer a notch than 2 in": (
        part("members", "LOFT-J3", notches=(Notch(along=(48.5, 50.0), edge="low", depth_in=2.3125),)),
        {"bore.notch", "notch.old"},
    ),
    "hole nearer a notch than the maker allows": (
        part("members", "LOFT-J6", notches=(Notch(along=(40.0, 48.5), edge="high", depth_in=2.3125),)),
        {"bore.notch", "notch.old"},
    ),
    "old notch in a joist deeper than a sixth": (
        part("members", "LOFT-J4", notches=(Notch(along=(10.0, 12.0), edge="high", depth_in=1.5625),)),
        {"notch.old"},
    ),
    "old notch in a joist longer than a third of its depth": (
        part("members", "LOFT-J4", notches=(Notch(along=(10.0, 13.125), edge="high", depth_in=1.5),)),
        {"notch.old"},
    ),
    "old notch in the middle third of a span": (
        part("members", "LOFT-J4", notches=(Notch(along=(70.0, 71.0), edge="high", depth_in=1.0),)),
        {"notch.old"},
    ),
    "old notch at a joist's end deeper than a quarter": (
        part("members", "LOFT-J4", notches=(Notch(along=(0.0, 3.0), edge="high", depth_in=2.375),)),
        {"notch.old"},
    ),
    "old notch deeper than a quarter of a bearing stud": (
        part("members", "SOUTH-S6", notches=(Notch(along=(10.0, 12.0), edge="high", depth_in=0.9375),)),
        {"notch.old"},
    ),
    "stud hole at the cross-section of a notch": (
        part("members", "SOUTH-S3", notches=(Notch(along=(33.8125, 40.0), edge="high", depth_in=0.25),)),
        {"bore.notch"},
    ),
    "plate hole 3/16 in off the joist beside it": (joist_beside_plate_hole(24.5625), {"bore.mouth"}),
    "stud hole that opens half against a block": (
        more_members(member("SOUTH-B1", Role.BLOCK, "SOUTH", (32.75, 3.5, 35.25), (EAST, UP, SOUTH), (5.25, 1.5, 3.5))),
        {"bore.mouth"},
    ),
    # --- old holes used again
    "old hole elsewhere than the plan says": (old_hole("LOFT-J4", 68.5625, 1.0, "OLD1"), {"bore.old"}),
    "old hole of another size than the plan says": (old_hole("LOFT-J4", 68.5, 0.9375, "OLD1"), {"bore.old"}),
    "old hole that is not there": (part("members", "LOFT-J4", holes=()), {"bore.old"}),
    "old hole used though nobody measured it": (old_hole("LOFT-J4", 68.5, None, "OLD1"), {"bore.old"}),
    "old hole used though it is too large": (
        both(old_hole("LOFT-J4", 68.5, 3.25, "OLD1"), bore("OLD1", diameter_in=3.25)),
        {"bore.size"},
    ),
    "old hole used in a member of unknown section": (
        part("members", "LOFT-J4", unmeasured=("section",)),
        {"bore.old"},
    ),
    "old hole used in a member never to be bored": (part("members", "LOFT-J4", bore=Right.NEVER), {"bore.right"}),
    "old hole used where it is not known whether one may bore": (
        part("members", "LOFT-J4", bore=Right.UNKNOWN),
        {"bore.right"},
    ),
    "old hole outside its own band": (bore("OLD1", across_min_in=4.5, across_max_in=4.5), {"bore.band"}),
    "old hole that breaks out of its member's edge": (
        part(
            "members",
            "LOFT-J4",
            bore=Right.MAKER,
            depth_in=5.0,
            plies=(Ply(along=(0.0, 140.0), bit=(0.0, 1.5), across=(0.0, 5.0)),),
        ),
        {"bore.off", "bore.nail_plates"},
    ),
    # --- what is in a hole
    "more cables in a hole than its bit allows": (
        building(tools=replace(HAND.building.tools, per_hole=((0.75, 1), (1.0, 3)))),
        {"bore.fill"},
    ),
    "cables too thick for a hole": (building(cable_types=THICK), {"bore.fill"}),
    "old hole that was full already": (
        part(
            "members",
            "LOFT-J4",
            holes=(Hole(id="OLD1", along_in=68.5, across_in=4.625, diameter_in=1.0, holds=("14/2",) * 3),),
        ),
        {"bore.fill"},
    ),
    "old hole with a cable of unknown size": (
        part(
            "members",
            "LOFT-J4",
            holes=(Hole(id="OLD1", along_in=68.5, across_in=4.625, diameter_in=1.0, holds=("?",)),),
        ),
        {"bore.fill"},
    ),
    "hole that names a cable which does not pass": (
        bore("SOUTH-S3.a", cables=("P1.OUT1", "P1.OUT2")),
        {"bore.cables"},
    ),
    "hole that names no cable": (bore("SOUTH-S3.a", cables=()), {"bore.cables"}),
    "cable that does not name its holes": (cable("P1.OUT1", bores=()), {"run.bores"}),
    # --- where cables run
    "cable through a stud with no hole": (
        both(
            rerouted(
                "P1.OUT1",
                ((24.0, 1.75, 43.0), (24.0, 1.75, 35.0), (40.0, 1.75, 35.0), (40.0, 1.75, 46.0)),
                "SOUTH, SOUTH, SOUTH",
            ),
            without_bore("SOUTH-S3.a"),
        ),
        {"run.wood"},
    ),
    "cable 1/16 in below its hole": (
        rerouted(
            "P1.OUT1",
            tuple((x, y, 34.9375 if z == 35.0 else z) for x, y, z in HAND.cables[0].points),
            "SOUTH, SOUTH, bore SOUTH-S3.a, SOUTH, SOUTH",
        ),
        {"run.bore"},
    ),
    "cable that turns inside a hole": (
        rerouted(
            "P1.OUT1",
            (
                (24.0, 1.75, 43.0),
                (24.0, 1.75, 35.0),
                (31.25, 1.75, 35.0),
                (32.0, 1.75, 35.0),
                (40.0, 1.75, 35.0),
                (40.0, 1.75, 46.0),
            ),
            "SOUTH, SOUTH, bore SOUTH-S3.a, SOUTH, SOUTH",
        ),
        {"run.bore", "run.wood"},
    ),
    "hole said to begin before the wood": (
        rerouted(
            "P1.OUT1",
            (
                (24.0, 1.75, 43.0),
                (24.0, 1.75, 35.0),
                (30.75, 1.75, 35.0),
                (32.75, 1.75, 35.0),
                (40.0, 1.75, 35.0),
                (40.0, 1.75, 46.0),
            ),
            "SOUTH, SOUTH, bore SOUTH-S3.a, SOUTH, SOUTH",
        ),
        {"run.bore"},
    ),
    "cable up through plate and subfloor with no hole": (
        both(
            rerouted(
                "U1.UP1",
                HAND.cables[3].points,
                "SOUTH, SOUTH, SOUTH, bore SOUTH-TP1.a, LOFT, LOFT, UP, UP, UP",
            ),
            without_bore("UP-SP1.a"),
        ),
        {"run.outside", "run.wood", "run.subfloor"},
    ),
    "cable in a crack between two sticks that touch": (
        both(stick("SOUTH-X1", 38.5, (52.0, 58.0)), stick("SOUTH-X2", 40.0, (52.0, 58.0))),
        {"run.wood", "run.gap"},
    ),
    "cable in a gap of 3/8 in": (
        both(stick("SOUTH-X1", 38.3125, (52.0, 58.0)), stick("SOUTH-X2", 40.1875, (52.0, 58.0))),
        {"run.gap"},
    ),
    "cable through another box": (FAR_IN_THE_WAY, {"run.box"}),
    "cable through a chimney": (
        building(keep_clear=(KeepClear(id="C", kind="chimney", low=(20, 20, 0), high=(30, 30, 200), clearance_in=2),)),
        {"run.clear"},
    ),
    "cable in mid-air across a stair hole": (
        part("assemblies", "LOFT", voids=(Void(id="STAIR", u=(20.0, 30.0), v=(10.0, 40.0)),)),
        {"run.void"},
    ),
    "cable past the edge of its floor": (part("assemblies", "LOFT", extent_v=(0.0, 65.0)), {"run.outside"}),
    "cable over a sloped top": (part("assemblies", "SOUTH", top=((0.0, 90.0), (120.0, 90.0))), {"run.outside"}),
    "cable off the face it says it is on": (
        rerouted(
            "L1.LAMP3",
            ((72.0, 60.0, MID), (72.0, 99.0, MID), (72.0, 99.0, 97.5), (72.0, 99.0, 92.5), (102.0, 99.0, 92.5)),
            "LOFT, LOFT, GIRDER -bit, GIRDER -bit",
        ),
        {"run.outside", "run.end"},
    ),
    "cable on a timber that takes no staple": (part("members", "GIRDER", fasten=Right.NEVER), {"run.fasten"}),
    "cable aslant": (
        rerouted(
            "P1.OUT2",
            (
                *HAND.cables[1].points[:4],
                (52.0, 1.75, 60.0),
                (56.0, 1.75, 58.5),
                (56.0, 1.75, 50.0),
            ),
            "SOUTH, SOUTH, bore SOUTH-S4.a, SOUTH, SOUTH, SOUTH",
        ),
        {"run.axis"},
    ),
    "track that does not exist": (
        cable("P1.OUT1", tracks=("SOUTH", "NORTH", "bore SOUTH-S3.a", "SOUTH", "SOUTH")),
        {"run.track"},
    ),
    "leg without a track": (cable("P1.OUT1", tracks=("SOUTH", "bore SOUTH-S3.a")), {"run.track"}),
    "cable that ends 1/16 in short of its box": (
        rerouted("P1.OUT1", (*HAND.cables[0].points[:-1], (40.0, 1.75, 45.9375)), ", ".join(HAND.cables[0].tracks)),
        {"run.end"},
    ),
    "cable that turns 1/16 in too near a box": (part("boxes", "PANEL", rise_in=8.0625), {"run.rise"}),
    "cable that leaves a box sideways": (
        rerouted(
            "P1.OUT2",
            ((40.0, 1.75, 50.0), (44.0, 1.75, 50.0), (44.0, 1.75, 60.0), *HAND.cables[1].points[2:]),
            "SOUTH, SOUTH, SOUTH, bore SOUTH-S4.a, SOUTH, SOUTH",
        ),
        {"run.rise"},
    ),
    "cable with nothing to be stapled to": (
        both(
            part("members", "UP-S2", fasten=Right.NEVER),
            part("members", "UP-S3", fasten=Right.NEVER),
        ),
        {"run.support"},
    ),
    "first support too far from a box": (
        both(
            part("members", "UP-S2", fasten=Right.NEVER),
            part("members", "UP-S3", fasten=Right.NEVER),
            limit("cable.support", 60.0),
        ),
        {"run.first_support"},
    ),
    "more cables than the sides of a bay have room for": (
        both(limit("cable.face_edge", 1.5), part("members", "SOUTH-S2", fasten=Right.NEVER)),
        {"lanes.bay"},
    ),
    "cable wider than its board": (narrow_board(0.36), {"lanes.face"}),
    "cable across an unlined wall in reach": (
        both(
            part("assemblies", "SOUTH", lining="none"),
            building(exposed="drops"),
            cable("U1.UP1", covered_in=0.0),
        ),
        {"run.exposed"},
    ),
    "cable down an unlined wall where none is accepted": (
        both(building(exposed="never"), cable("U1.UP1", covered_in=0.0)),
        {"run.exposed"},
    ),
    # --- sums
    "path off by an inch": (cable("P1.OUT1", path_in=36.0, slack_in=1.8, cut_in=95.8), {"length.path"}),
    "entries for one end only": (cable("P1.OUT1", entries_in=4.0, cut_in=90.75), {"length.entries"}),
    "free conductor at one end only": (cable("P1.OUT1", free_in=8.0, cut_in=86.75), {"length.free"}),
    "panel's part left out": (cable("P1.OUT1", panel_in=0.0, cut_in=60.75), {"length.panel"}),
    "panel's part of a known panel taken flat": (cable("P1.OUT1", panel_in=36.0, cut_in=96.75), {"length.panel"}),
    "slack of 4 %": (cable("P1.OUT1", slack_in=1.4, cut_in=94.4), {"length.slack"}),
    "cut off by an inch": (cable("P1.OUT1", cut_in=93.75), {"length.cut"}),
    "cable between floors counted on one": (cable("U1.UP1", floor="SHOP"), {"length.floor"}),
    "board length wrong": (cable("L1.TAIL", board_in=38.0), {"length.board"}),
    "cover length wrong": (cable("U1.UP1", covered_in=43.5), {"length.covered"}),
    "cost that is not the sum of its parts": (whole(cost=HAND.cost + 0.01), {"cost.sum"}),
    "lower bound above the cost": (whole(lower_bound=HAND.cost + 0.5), {"cost.bound"}),
    "a cent too little for the holes": (
        whole(cost=HAND.cost - 0.01, cost_parts={**HAND.cost_parts, "holes": HAND.cost_parts["holes"] - 0.01}),
        {"cost.part"},
    ),
    "overhead hole at the price of one in a wall": (bore("LOFT-J5.a", pose="stud"), {"cost.pose", "cost.part"}),
    "a turn forgotten": (cable("L1.LAMP1", turns=2), {"cost.fastening", "cost.part"}),
    "a staple too many": (cable("U1.UP1", staples=5), {"cost.fastening"}),
    "plan of another version": (whole(version=0), {"plan.version"}),
    # --- trees, pins, ids
    "cable fed from itself by way of another": (
        cable("P1.OUT1", from_box="OUT2"),
        {"run.end", "length.panel", "tree.apart"},
    ),
    "cable that runs towards the panel": (
        cable(
            "P1.OUT1",
            from_box="OUT1",
            to_box="PANEL",
            points=HAND.cables[0].points[::-1],
            tracks=HAND.cables[0].tracks[::-1],
        ),
        {"tree.root", "id.cable", "tree.apart", "plan.unreached"},
    ),
    "two home runs wanted, one there": (part("circuits", "P1", home_runs=2), {"tree.home_runs"}),
    "more cables than a box takes": (part("boxes", "LAMP2", cables_max=3), {"box.cables"}),
    "pinned feed not kept": (part("boxes", "LAMP4", fed_from="LAMP1"), {"tree.pin"}),
    "box without a cable, and not said": (whole(unreached=(), unreached_why=()), {"plan.unreached", "tree.apart"}),
    "box left out without a reason": (whole(unreached_why=()), {"plan.unreached"}),
    "box said to be left out that is not": (
        whole(
            unreached=("FAR", "OUT2"), unreached_why=(*HAND.unreached_why, replace(HAND.unreached_why[0], box="OUT2"))
        ),
        {"plan.unreached"},
    ),
    "box fed twice": (
        lambda plan: whole(cables=(*plan.cables, replace(plan.cables[1], id="P1.OUT2b")))(plan),
        {"tree.twice", "id.cable", "bore.cables"},
    ),
    "two holes of one id": (
        lambda plan: whole(bores=(*plan.bores, plan.bores[0]))(plan),
        {"id.twice", "bore.spacing"},
    ),
    "hole id of another member": (
        both(
            bore("SOUTH-S3.a", id="SOUTH-S4.b"),
            cable("P1.OUT1", tracks=("SOUTH", "SOUTH", "bore SOUTH-S4.b", "SOUTH", "SOUTH"), bores=("SOUTH-S4.b",)),
        ),
        {"id.bore"},
    ),
    "cable to a box of another circuit": (
        cable("P1.OUT2", from_box="LAMP1"),
        {"run.end", "tree.stranger", "tree.apart"},
    ),
    "cable from a box that is not there": (
        cable("P1.OUT2", from_box="NOWHERE"),
        {"cable.box", "tree.stranger", "tree.apart"},
    ),
    "cable of a circuit that is not there": (
        cable("P1.OUT2", circuit="P9"),
        {"cable.circuit", "tree.apart", "plan.unreached"},
    ),
    "14/2 where the circuit is pulled in 12/2": (cable("P1.OUT1", type="14/2"), {"cable.type"}),
    "cable that nobody sells": (
        both(part("circuits", "U1", cable="13/2"), cable("U1.UP1", type="13/2")),
        {"cable.type", "bore.fill"},
    ),
    "cable not where the scene sends it": (
        building(cable_rules=(replace(RULE_2, through=("LOFT-J5", "LOFT-J4")), RULE_AVOID)),
        {"rule.through"},
    ),
    "cable through what the scene keeps it out of": (
        building(cable_rules=(RULE_2, replace(RULE_AVOID, avoid=("SOUTH-S4",)))),
        {"rule.avoid"},
    ),
    "cable pulled already but planned as new": (
        building(cable_rules=(RULE_2, RULE_AVOID, CableRule(cable="P1.OUT1", done=True))),
        {"rule.done"},
    ),
    "cable not through the holes that it is pulled through": (
        building(cable_rules=(RULE_2, RULE_AVOID, CableRule(cable="P1.OUT1", holes=("LOFT-J3.a",)))),
        {"rule.holes"},
    ),
    "hole that was drilled too near an edge": (
        both(
            old_hole("LOFT-J2", 60.0, 0.75, across=2.0),
            whole(as_built=drilled("OLD9")),
        ),
        {"hole.built"},
    ),
    "hole that was drilled too near another": (
        both(
            part("members", "LOFT-J2", holes=tuple(a_hole(name, x) for name, x in (("OLD8", 60.0), ("OLD9", 62.6875)))),
            whole(as_built=drilled("OLD8", "OLD9")),
        ),
        {"hole.built"},  # 2.6875 less 0.75 is 1/16 in less than 2
    ),
    "hole recorded as drilled that no member has": (whole(as_built=drilled("LOFT-J99.a")), {"plan.as_built"}),
    "cable that the scene fixes left out": (
        building(cable_rules=(RULE_2, RULE_AVOID, CableRule(cable="P1.LAMP9", done=True))),
        {"rule.cable"},
    ),
    "box elsewhere than its place in the wall": (part("boxes", "FAR", at=(108.0, 2.4375, 49.0)), {"box.at"}),
    "box in a wall that is not there": (part("boxes", "FAR", host="EAST"), {"box.host"}),
    "limit left out": (
        lambda plan: building(limits=tuple(x for x in plan.building.limits if x.name != "joist.edge"))(plan),
        {"limits"},
    ),
    # --- warnings
    "top plate cut by more than half": (limit("plate.tie_share", 0.2), {"plate.tie"}),
    "hole within a joist's depth of a bearing": (moved("LOFT-J3.a", along=11.5625), {"bore.bearing"}),
    "old hole too large, and not used": (old_hole("LOFT-J2", 60.0, 3.25), {"hole.old"}),
}
WARNINGS = {"plate.tie", "bore.bearing", "hole.old", "hole.built", "notch.old", "run.first_support"}
