"""Box cards: sentences that are right for one, two and many, cables by label, the sum of a fill, what to beware of."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from sample_plan import sample_plan
from wired_sample import wired_plan

from barnloom.model.electrical.boxes import default_box_types
from barnloom.model.electrical.fill import FillLine
from barnloom.model.wiring import Breakers, Device, DeviceKind
from barnloom.routing.plan import Joint, Plan
from barnloom.viewer.boxcards import boxes_text
from barnloom.viewer.cautions import CAUTIONS
from barnloom.viewer.joining import joint_sentence
from barnloom.viewer.text import COLUMNS, width

SWITCH = Device(id="B.1", box="B", kind=DeviceKind.SWITCH, circuit="C")
OTHER = Device(id="B.2", box="B", kind=DeviceKind.SWITCH, circuit="C")
LIGHT = Device(id="B", box="B", kind=DeviceKind.LIGHT, circuit="C")
OUTLET = Device(id="B", box="B", kind=DeviceKind.RECEPTACLE, circuit="C")
ENDS = (("C.B", "black"), ("C.D", "black"), ("C.E", "red"))


def card(plan: Plan, box: str) -> str:
    """One card, on one line."""
    text = boxes_text(plan)
    [found] = re.findall(rf"^(?:BOX|PANEL) {box}(?:: [^\n]*)?\n=+\n(.*?)(?=^\w[^\n]*\n=====|\Z)", text, re.M | re.S)
    return " ".join(str(found).split())


@pytest.mark.parametrize(
    ("ends", "terminals", "devices", "sentence"),
    [
        (1, [], [], "Cap the black of C.B; nothing else goes with it here."),
        (2, [], [], "Join the black of C.B and the black of C.D."),
        (3, [], [], "Join the black of C.B, the black of C.D and the red of C.E."),
        (1, [("B.1", "common")], [SWITCH], "Put the black of C.B on the common screw of the switch."),
        (1, [("B", "hot")], [LIGHT], "Join the black of C.B and the hot lead of the light."),
        (2, [("B", "hot")], [LIGHT], "Join the black of C.B, the black of C.D and the hot lead of the light."),
        (
            2,
            [("B.1", "common")],
            [SWITCH],
            "Join the black of C.B and the black of C.D, with a pigtail to the common screw of the switch.",
        ),
        (
            2,
            [("B.1", "line"), ("B.2", "line")],
            [SWITCH, OTHER],
            "Join the black of C.B and the black of C.D, with pigtails to the first brass screw of the switch B.1 and "
            "the first brass screw of the switch B.2.",
        ),
        (
            1,
            [("B", "ground"), ("B", "box")],
            [OUTLET],
            "Join the black of C.B and pigtails to the green screw of the receptacle and the ground screw of the box.",
        ),
        (1, [("B", "load hot")], [OUTLET], "Put the black of C.B on the hot screw marked LOAD of the receptacle."),
        (
            0,
            [("B.1", "line"), ("B.2", "line")],
            [SWITCH, OTHER],
            "Link the first brass screw of the switch B.1 and the first brass screw of the switch B.2 with a short "
            "wire.",
        ),
        (0, [("B", "load hot")], [OUTLET], "Leave the hot screw marked LOAD of the receptacle empty."),
    ],
)
def test_a_joint_is_one_sentence(
    ends: int, terminals: list[tuple[str, str]], devices: list[Device], sentence: str
) -> None:
    joint = Joint(net="line", circuit="C", ends=ENDS[:ends], terminals=tuple(terminals))
    assert joint_sentence(joint, devices, {}) == sentence


def test_a_white_that_is_no_neutral_says_its_tape() -> None:
    joint = Joint(net="line", circuit="C", ends=(("C.B", "black"), ("C.D", "white")), terminals=())
    assert joint_sentence(joint, [], {("C.D", "white"): "red"}) == (
        "Join the black of C.B and the white of C.D (taped red)."
    )
    assert "white (taped red): always hot" in card(wired_plan(), "SW3")


def test_every_joint_of_the_plan_has_its_sentence() -> None:
    plan = wired_plan()
    for makeup in plan.makeups[1:]:
        found = re.findall(r"(?<= )(\d+) (?:Join|Put|Cap) ", card(plan, makeup.box))
        assert found == [str(n) for n in range(1, len(makeup.joints) + 1)]


def test_grounds_come_first_then_neutrals_and_the_device_last() -> None:
    text = card(wired_plan(), "SW1")
    places = [
        text.index(words) for words in ("[ground]", "[neutral]", "[always hot]", "6 Fold in and fasten the switch")
    ]
    assert places == sorted(places)


def test_cables_are_named_by_label_with_what_each_brings() -> None:
    text = card(wired_plan(), "SW2")
    assert "LIGHTS.SW2, label LIGHTS SW1>SW2 14/3, from SW1. black: traveler 1a of STAIR (stair light); red" in text
    assert "LIGHTS.G1, label LIGHTS SW2>G1 14/2, on to G1. black: hot when STAIR (stair light) is on" in text


def test_the_fill_is_shown_line_by_line_with_the_share() -> None:
    text = card(wired_plan(), "SW1")
    assert "Fill, by NEC 2023 5 x 2.00 = 10.00 conductors, 14 AWG [314.16(B)]" in text
    assert "2 x 2.00 = 4.00 switch SW1, 14 AWG" in text
    # 18.00 / 21.00 = 85.7 %, over 85 % (own caution); 8.00 / 15.50 = 51.6 %
    assert "18.00 of 21.00 in3 (86 %): it fits, but is over the 85 % aimed at (own caution)" in text
    assert "8.00 of 15.50 in3 (52 %) wires of" in card(wired_plan(), "G2")


@pytest.mark.parametrize(
    ("volume", "words"),
    [(17.9, "(101 %): TOO FULL"), (18.0, "(100 %): it fits, but"), (0.0, "is not known: read what is")],
)
def test_a_box_too_full_just_full_or_unknown_says_so(volume: float, words: str) -> None:
    plan = wired_plan()
    made = tuple(replace(one, volume_in3=volume) if one.box == "SW1" else one for one in plan.makeups)
    assert words in card(replace(plan, makeups=made), "SW1")


def test_a_light_says_that_the_wires_of_its_canopy_are_left_out() -> None:
    # Wires of a domed canopy, NEC 314.16(B)(1), exception: from memory
    text = card(wired_plan(), "G2")
    assert "wires of light G2: not counted: up to four smaller than 14 AWG" in text
    assert "[314.16(B)(1), exception: from memory]; without a canopy each counts" in text
    assert text.count("canopy") == 2
    assert "canopy" not in card(wired_plan(), "SW1")


def lead_card(cables: int) -> str:
    """The saw's card with so many cables of 10 AWG in its box, which is filled as its lines say."""
    plan = wired_plan()
    grounds = [f"X{n}.SAW" for n in range(1, cables)]
    lines = [("conductors", 2.0 * cables), ("grounds", 1.0)]
    fill = tuple(FillLine(what=what, count=count, awg=10, each_in3=2.5, clause="") for what, count in lines)
    made = []
    for one in plan.makeups:
        if one.box == "SAW":
            joints = [
                replace(joint, ends=(*joint.ends, *((name, "bare") for name in grounds)))
                if joint.net == "ground"
                else joint
                for joint in one.joints
            ]
            made.append(replace(one, fill=fill, volume_in3=30.3, joints=tuple(joints)))
        else:
            made.append(one)
    saw = next(cable for cable in plan.cables if cable.id == "SAW.SAW")
    more = tuple(replace(saw, id=name) for name in grounds)
    return card(replace(plan, makeups=tuple(made), cables=(*plan.cables, *more)), "SAW")


def test_leads_of_a_machine_are_told_beside_the_sum() -> None:
    # A conductor that enters and is spliced counts once (coconote.app/notes/56e1c20d-d2f5-4ea9-bc75-546d8840e2e8);
    # 10 AWG is 2.50 in3 (synthmind.com/Electrical_Box_Sizing_Guide.htm): 7.50, and 2 leads 12.50.
    text = lead_card(1)
    assert "7.50 of 30.30 in3 (25 %) leads of machine SAW: not counted, as in its own housing" in text
    assert text.endswith("each counts [314.16(B)(1)]: with 2 of 10 AWG it is 12.50 of 30.30 in3 (41 %)")
    assert "leads of" not in card(wired_plan(), "G2")


def test_the_ground_of_a_lead_is_the_fifth_in_a_box_of_four_cables() -> None:
    # A quarter for each beyond four (forums.mikeholt.com/threads/egc-fill.2566828): 8 x 2.50 + 2.50 = 22.50; with
    # 5.00 for two leads and 0.25 x 2.50 for the ground 28.125, which is over 85 % of 30.3.
    assert lead_card(4).endswith(
        "with 2 of 10 AWG it is 28.12 of 30.30 in3 (93 %): it fits, but is over the 85 % aimed at (own caution)"
    )


def test_a_box_says_where_it_is_and_what_to_buy() -> None:
    assert (
        "switch SW1 (15 A, 120 V, a point of STAIR) in the wall SOUTH (South wall), centre 3' 4\" from its west end; "
        "centre 4' 0\" over the floor of SHOP to buy: square-4x1-1-2 (square box, 4 x 4 in) with square-4-mud-1x1-2 "
        "(mud ring, one gang)"
    ) in card(wired_plan(), "SW1")
    assert "in the ceiling LOFT (Loft floor), from its datum corner" in card(wired_plan(), "G1")


def test_two_circuits_in_a_box_are_warned_of() -> None:
    text = card(wired_plan(), "MIX")
    assert "TWO CIRCUITS MEET HERE: LOOP and OUT." in text
    assert "[OUT, neutral behind O1]" in text
    assert [name for name in ("G1", "SW3", "O1") if "TWO CIRCUITS" in card(wired_plan(), name)] == []


def test_a_box_of_a_later_phase_is_not_there_before() -> None:
    assert "phase 2: nothing of it is bought, put up or joined before" in card(wired_plan(), "G2")
    assert "phase 2: nothing of it" in card(wired_plan(), "SAW")  # its circuit is of phase 2
    assert "phase" not in card(wired_plan(), "SW1")


def test_a_box_says_what_a_later_phase_adds_to_it() -> None:
    text = card(wired_plan(), "G1")
    assert "phase 2 adds LIGHTS.G2: make the joints without it until then" in text
    assert "on to G2, phase 2. black: hot when" in text
    assert "Join the white of LIGHTS.G1, the white of LIGHTS.G2 (phase 2) and the neutral lead of the light." in text
    # In its own phase nothing is marked.
    assert "(phase" not in card(wired_plan(), "G2")


def test_a_joint_that_no_connector_takes_is_made_in_groups_as_it_is_bought() -> None:
    plan = wired_plan()
    names = [f"OUT.X{n}" for n in range(6)]
    some = next(cable for cable in plan.cables if cable.id == "OUT.O1")
    made = []
    for one in plan.makeups:
        if one.box == "O1":
            joints = [
                replace(joint, ends=(*joint.ends, *((name, "bare") for name in names)))
                if joint.net == "ground"
                else joint
                for joint in one.joints
            ]
            one = replace(one, joints=tuple(joints))
        made.append(one)
    cables = (*plan.cables, *(replace(some, id=name, to_box=name) for name in names))
    crowded = replace(plan, makeups=tuple(made), cables=cables)
    assert "No connector takes them all: make 2 groups, each joined to the next by a short wire. [ground]" in card(
        crowded, "O1"
    )
    assert "groups" not in card(plan, "O1")


def test_a_device_that_nothing_is_joined_to_is_left_out() -> None:
    plan = wired_plan()
    made = tuple(
        replace(one, joints=tuple(replace(joint, terminals=()) for joint in one.joints)) if one.box == "SW3" else one
        for one in plan.makeups
    )
    text = card(replace(plan, makeups=made), "SW3")
    assert "left out: switch SW3, for what belongs to it is not reached; cap what ends here" in text
    assert "Fold in and fasten" not in text
    assert "left out" not in card(plan, "SW3")


@pytest.mark.parametrize(
    ("kind", "more", "words"),
    [
        (DeviceKind.ALARM, {"detects": "heat"}, "heat alarm G1"),
        (DeviceKind.ALARM, {"detects": "smoke"}, "smoke alarm G1"),
        (
            DeviceKind.RECEPTACLE,
            {"linked": 4, "load_va": 144.0, "control": "STAIR"},
            "(15 A, 120 V, follows STAIR, 4 plug-in lights of 36 W, one hung on the next, no more than their maker "
            "allows)",
        ),
        (DeviceKind.LIGHT, {"linked": 3, "load_va": 60.0}, "(3 lights of 20 W, one hung on the next, no more than"),
    ],
)
def test_a_card_says_which_alarm_and_which_lights_hang_on_it(
    kind: DeviceKind, more: dict[str, object], words: str
) -> None:
    plan = wired_plan()
    one = Device(id="G1", box="G1", kind=kind, circuit="LIGHTS", **more)  # type: ignore[arg-type]
    devices = tuple(one if device.id == "G1" else device for device in plan.building.devices)
    assert words in card(replace(plan, building=replace(plan.building, devices=devices)), "G1")


@pytest.mark.parametrize(
    ("box_type", "clamps", "words"),
    [
        # 8 in along the sheath at a plastic box of one gang without a clamp: 314.17, as the limit's entry cites it
        ("plastic-1-18", "none", 'it has no clamp: fasten every cable within 8" of it'),
        ("plastic-1-18", "inside", ""),
        ("plastic-2-32", "none", ""),
        ("square-4x1-1-2", "none", ""),
    ],
)
def test_a_plastic_box_without_a_clamp_says_where_to_fasten(box_type: str, clamps: str, words: str) -> None:
    plan = wired_plan()
    made = tuple(replace(one, box_type=box_type, ring="") if one.box == "SW1" else one for one in plan.makeups)
    types = tuple(replace(kind, clamps=clamps) for kind in default_box_types())
    plan = replace(plan, makeups=made, building=replace(plan.building, box_types=types))
    text = card(plan, "SW1")
    assert words in text
    assert ("no clamp" in text) == bool(words)


def test_halves_of_a_tandem_breaker_have_letters() -> None:
    plan = wired_plan()
    sheets = tuple(replace(one, spaces=(2,)) if one.circuit == "LIGHTS" else one for one in plan.circuits)
    panel = card(replace(plan, circuits=sheets), "PANEL")
    assert "the breaker of LIGHTS (15 A, space 2a, half of a tandem breaker)" in panel
    assert "the breaker of LOOP (15 A, space 2b, half of a tandem breaker)" in panel
    assert "tandem" not in card(plan, "PANEL")


def test_two_home_runs_of_one_circuit_reach_its_breaker_by_a_pigtail() -> None:
    # One wire under a terminal unless it is marked for more: NEC 110.14(A), from memory
    plan = wired_plan()
    run = next(cable for cable in plan.cables if cable.id == "OUT.O1")
    panel, *rest = plan.makeups
    joints = tuple(
        replace(joint, ends=(*joint.ends, ("OUT.X", colour))) if (joint.circuit, joint.net) == ("OUT", net) else joint
        for joint in panel.joints
        for net, colour in [("line", "black") if joint.net == "line" else ("neutral", "white")]
    )
    two = replace(
        plan,
        makeups=(replace(panel, joints=joints), *rest),
        cables=(*plan.cables, replace(run, id="OUT.X", to_box="X")),
    )
    text = card(two, "PANEL")
    words = (
        "joined with the others of OUT by a pigtail: most take one wire under a terminal (NEC 110.14(A), from memory)"
    )
    assert text.count(words) == 2 * 2  # hot and, on a protective breaker, white; of either cable
    assert "pigtail" not in card(plan, "PANEL")


def test_the_panel_comes_first_and_says_which_wire_goes_where() -> None:
    text = boxes_text(wired_plan())
    assert text.index("PANEL PANEL") < text.index("BOX G1")
    panel = card(wired_plan(), "PANEL")
    assert (
        "LIGHTS.SW1, label LIGHTS PANEL>SW1 14/2. Put the black on the breaker of LIGHTS (15 A, space 1), the white on "
        "the neutral bar and the bare on the ground bar."
    ) in panel
    assert (
        "the white (taped red) on the breaker of SAW (30 A, spaces 4 + 6, second terminal) and the bare on the "
        "ground bar"
    ) in panel
    assert "neutral bar and ground bar are apart" in panel


def test_a_protective_breaker_takes_the_neutral_itself() -> None:
    """Common practice, no source: without it the breaker trips at once."""
    panel = card(wired_plan(), "PANEL")
    assert panel.count("the neutral terminal of its breaker") == 1
    assert "(20 A ground-fault, space 3), the white on the neutral terminal of its breaker" in panel


def test_a_tail_left_for_later_says_that_it_is_live() -> None:
    # NEC 300.15, a box at every splice and end: from memory
    plan = wired_plan()
    boxes = tuple(replace(box, kind="stub") if box.id == "G2" else box for box in plan.building.boxes)
    tail = card(replace(plan, building=replace(plan.building, boxes=boxes)), "G2")
    assert "live as soon as its breaker is on" in tail
    assert "blank cover (NEC 300.15" in tail
    assert "live as soon as" not in card(plan, "G2")


def test_a_panel_where_neutral_and_ground_are_joined_is_not_said_to_be_apart() -> None:
    plan = wired_plan()
    bonded = replace(plan.building, breakers=(Breakers(panel="PANEL", neutral_bonded=True),))
    assert "are apart" not in card(replace(plan, building=bonded), "PANEL")


def test_cautions_answers_and_warnings_stand_at_the_head() -> None:
    head = " ".join(boxes_text(wired_plan()).split("PANEL PANEL")[0].split())
    for caution in CAUTIONS:
        assert caution in head
    assert "must there be a neutral at every switch? no [building office, 2026-03-12]" in head
    assert "LOFT-J6: an old hole is large" in head


def test_boxes_without_a_route_are_named() -> None:
    assert boxes_text(wired_plan(unreached=("O1",))).endswith("=\n  O1\n")


def test_a_plan_without_wiring_has_a_list_without_cards() -> None:
    assert "\nBOX " not in boxes_text(sample_plan())


@pytest.mark.parametrize("title", ["舟小屋の二階" * 30, "e\u0301" * 200, "<b>\n\x1b[31m" * 10, ""])
def test_every_line_stays_within_the_page(title: str) -> None:
    plan = wired_plan()
    boxes = tuple(replace(box, title=title) for box in plan.building.boxes)
    plan = replace(plan, building=replace(plan.building, title=title, boxes=boxes))
    for line in boxes_text(plan).splitlines():
        assert width(line) <= COLUMNS, line
        assert "\x1b" not in line
