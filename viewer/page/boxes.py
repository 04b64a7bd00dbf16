"""Cards of boxes and panels: the same words as ``boxes.txt``, as a page shows them."""

from __future__ import annotations

from barnloom.model.building import Box
from barnloom.routing.plan import Cable, Makeup
from barnloom.routing.store import natural_key
from barnloom.viewer import boxcards
from barnloom.viewer.page.index import Index
from barnloom.viewer.page.markup import Markup, element, joined
from barnloom.viewer.page.pieces import card, chips, facts, steps, tick, values, warning
from barnloom.viewer.wires import conductor_words, devices_in, label, listed, net_words


def box_cards(index: Index) -> list[Markup]:
    """Cards of all boxes: panels, then in walking order."""
    work = boxcards._Work(index.plan)
    makeups = {makeup.box: makeup for makeup in index.plan.makeups}
    return [_box_card(index, work, box, makeups.get(box.id)) for box in index.boxes]


def _box_card(index: Index, work: boxcards._Work, box: Box, makeup: Makeup | None) -> Markup:
    title = box.title if box.title != box.id else ""
    about = [title, boxcards._place_words(work, box)]
    content: list[str] = []
    if makeup is None:
        why = next((lost.reason for lost in index.plan.unreached_why if lost.box == box.id), "")
        content.append(warning(f"No cable of this plan reaches it{f': {why}' if why else ''}."))
    elif box.kind == "panel":
        content += _panel(index, work, box, makeup)
    else:
        content += _made_up(index, work, box, makeup)
    if makeup is not None:
        content.append(tick("box", box.id, "Made up", done=False))
    cables = work.cables.get(box.id, [])
    content.append(chips((index.link("cable", cable.id) for cable in cables), "Its cables"))
    return card(index.anchors["box", box.id], "box", box.id, about, *content)


def _made_up(index: Index, work: boxcards._Work, box: Box, makeup: Makeup) -> list[str]:
    plan = index.plan
    devices = devices_in(plan.building, box.id)
    said = boxcards._device_words(devices) if box.kind == "box" else "the end of a cable, left for later"
    lines = [said, *([boxcards._bought_words(work, makeup)] if box.kind == "box" else [])]
    lines += boxcards._phase_words(work, box)
    unjoined = boxcards._unjoined(makeup, devices)
    if unjoined:
        lines.append(boxcards._unjoined_words(unjoined))
    content: list[str] = [facts(lines)]
    circuits = sorted({joint.circuit for joint in makeup.joints if joint.circuit}, key=natural_key)
    if len(circuits) > 1:
        content.append(
            warning(
                f"two circuits meet here: {listed(circuits)}. Turn off the breakers of all of them before opening it. "
                "Join nothing of one with anything of another but the grounds; above all not their neutrals."
            )
        )
    if box.kind == "stub":
        content.append(warning(boxcards._STUB))
    content += [element("h3", None, "Cables that come in, by their label"), *_cables(index, work, box)]
    content += [
        element("h3", None, "Joints, in the order of folding in"),
        steps(_joints(index, work, makeup, circuits)),
    ]
    if makeup.fill:
        edition = work.limits.limit("fill.conductor").edition
        content += [element("h3", None, f"How full it is, by {edition}"), *_fill(work, makeup)]
    return content


def _cables(index: Index, work: boxcards._Work, box: Box) -> list[Markup]:
    rows = []
    for cable in work.cables.get(box.id, []):
        far = cable.from_box if cable.to_box == box.id else cable.to_box
        way = "from " if cable.to_box == box.id else "on to "
        wires = [conductor_words(one, index.plan.building.controls) for one in cable.conductors]
        rows.append((label(cable), joined((f"{cable.id}, {way}", index.link("box", far), f". {'; '.join(wires)}"))))
    return [values(rows, look="named")] if rows else []


def _joints(index: Index, work: boxcards._Work, makeup: Makeup, circuits: list[str]) -> list[str]:
    devices = devices_in(index.plan.building, makeup.box)
    lines: list[str] = []
    for joint in boxcards._in_order(makeup.joints):
        net = net_words(joint.net, index.plan.building.controls)
        net = f"{joint.circuit}, {net}" if len(circuits) > 1 and joint.circuit else net
        later = boxcards._later(work, work.boxes[makeup.box])
        sentence = boxcards.joint_sentence(joint, devices, work.tape, later) + boxcards._groups_words(work, joint)
        lines.append(joined((element("b", None, net), f": {sentence}")))
    joined_to = [device for device in devices if device not in boxcards._unjoined(makeup, devices)]
    if any(device.yokes for device in joined_to):
        last = listed([f"the {device.kind.value} {device.id}" for device in joined_to])
        lines.append(f"Fold in and fasten {last}.")
    return lines


def _fill(work: boxcards._Work, makeup: Makeup) -> list[Markup]:
    devices = devices_in(work.plan.building, makeup.box)
    kinds = {device.id: f"{device.kind.value} {device.id}" for device in devices}
    head = element("tr", None, *(element("th", {"scope": "col"}, text) for text in ("what", "count", "each", "in3")))
    rows = []
    for line in makeup.fill:
        size = f", {line.awg} AWG" if line.awg else ""
        what = f"{kinds.get(line.what, line.what)}{size} [{line.clause}]"
        numbers = (f"{line.count:g}", f"{line.each_in3:.2f}", f"{line.total_in3:.2f}")
        cells = (element("td", None, text) for text in numbers)
        rows.append(element("tr", None, element("th", {"scope": "row"}, what), *cells))
    total, volume = makeup.fill_in3, makeup.volume_in3
    words = f"{total:.2f} in3 wanted; the volume of the box is not known: read what is marked in it"
    if volume:
        words = boxcards._share_words(work, total, volume)
    notes = [words]
    canopied = [kinds[device.id] for device in devices if device.kind in boxcards._CANOPIED]
    if canopied:
        notes.append(f"wires of {listed(canopied)}: {boxcards._CANOPY}")
    led = [device.id for device in devices if device.kind in boxcards._LED]
    if led:
        leads = boxcards._lead_words(work, makeup, led)
        notes.append(f"leads of {listed([kinds[name] for name in led])}: {leads}")
    table = element("table", {"class": "fill"}, element("thead", None, head), element("tbody", None, *rows))
    return [table, facts(notes)]


def _panel(index: Index, work: boxcards._Work, box: Box, makeup: Makeup) -> list[str]:
    content: list[str] = [warning(boxcards._PANEL)]
    bonded = any(one.panel == box.id and one.neutral_bonded for one in index.plan.building.breakers)
    if index.plan.building.supply.separate and not bonded:
        words = "neutral bar and ground bar are apart in this panel: take out or leave out the strap between them"
        content.append(facts([words]))
    places = {end: boxcards._panel_place(work, joint) for joint in makeup.joints for end in joint.ends}
    cables = sorted(
        work.cables.get(box.id, ()), key=lambda cable: (boxcards._first_space(work, cable), natural_key(cable.id))
    )
    rows = [(f"{cable.id}: label {label(cable)}", _panel_words(cable, places)) for cable in cables]
    return [*content, element("h3", None, "Cables, by the space of their breaker"), values(rows, look="named")]


def _panel_words(cable: Cable, places: dict[tuple[str, str], str]) -> str:
    by_place: dict[str, list[str]] = {}
    for one in cable.conductors:
        tape = f" (taped {one.marked})" if one.marked else ""
        by_place.setdefault(places.get((cable.id, one.colour), "a cap"), []).append(f"the {one.colour}{tape}")
    words = listed([f"{listed(colours)} on {place}" for place, colours in by_place.items()])
    return f"Put {words}." if words else "Its conductors are not planned."
