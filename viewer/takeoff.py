"""What to buy: all material of a plan by aisle and phase with prices where they are known, and the coils it comes off.

A cable belongs to the phase in which it is pulled, a hole to the earliest of its cables, a coil to the earliest of its
cuts, a breaker to the earliest of its circuit's cables, everything in a box to the box. What is in place or pulled
already is left out, and what is not reached. Sums belong to the report.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from decimal import Decimal

from barnloom.model.boring import tie_needed
from barnloom.model.building import Box, Building, Member, Role
from barnloom.model.electrical import parts
from barnloom.model.electrical.boxes import accessories
from barnloom.model.lengths import format_length
from barnloom.model.limits import Limits
from barnloom.model.wiring import BoxType, Device, DeviceKind
from barnloom.routing.cost import boards_used
from barnloom.routing.plan import Bore, Joint, Makeup, Plan
from barnloom.routing.store import natural_key
from barnloom.routing.wiring.coils import CoilPlan, coil_plans
from barnloom.viewer import totals
from barnloom.viewer.pulling import box_phases, cable_phases
from barnloom.viewer.rows import Row, Value
from barnloom.viewer.schedule import tandems
from barnloom.viewer.splices import USUAL_AWG, connected_sizes, on_breaker, terminals_of
from barnloom.viewer.text import counted
from barnloom.viewer.wires import listed

TAKEOFF_COLUMNS = ("item", "size", "quantity", "unit", "unit_price", "price", "phase", "where")
COILS_COLUMNS = ("type", "coil", "coil_ft", "price", "cable", "cut_ft", "left_ft")

AISLES = ("cable", "boxes", "devices", "fastening", "panel", "tools")
BY_FOOT = "by the foot"
BY_METRE = "by the metre"
NOT_OFFERED = "not on offer so long"
LABELS = 4
"""To a cable: at both ends, and at the first staple from each end, which survives when the end is cut off."""
SEALED = frozenset({Role.SOLE_PLATE, Role.TOP_PLATE, Role.RIM})
CLOSED_BY_DEVICE = frozenset({DeviceKind.LIGHT, DeviceKind.ALARM})
"""Kinds that cover their box themselves."""
FOOT_M = Decimal("0.3048")


def takeoff_rows(plan: Plan) -> list[Row]:
    """List what the plan needs from the store, in the order of the aisles."""
    store = _Store(plan)
    store.cables()
    store.boxes()
    store.devices()
    store.made_up()
    store.fastening()
    store.panel()
    store.tools()
    return store.rows()


def coil_rows(plan: Plan) -> list[Row]:
    """
    List every cut with the coil that it comes off, the longest first; ``left_ft`` is on the coil after this cut.

    A coil's price stands at its first cut, so that the column adds up to what is paid.
    """
    return [
        dict(zip(COILS_COLUMNS, (found.type, *values), strict=True))
        for found in coil_plans(plan)
        for values in _cuts_bought(found)
    ]


def _cuts_bought(found: CoilPlan) -> Iterator[tuple[Value, ...]]:
    for number, coil in enumerate(found.coils, 1):
        left = coil.feet
        for n, cut in enumerate(coil.cuts):
            left = max(0.0, left - cut.feet)
            price = None if n else coil.price
            yield str(number), coil.feet, price, cut.cable, totals.feet(cut.feet * 12), round(left, 4)
    for cut in found.by_foot:
        price, left = round(cut.sold_ft * found.foot_price, 2), max(0.0, cut.sold_ft - cut.feet)
        yield BY_FOOT, cut.sold_ft, price, cut.cable, totals.feet(cut.feet * 12), round(left, 4)
    for cut in found.too_long:
        yield NOT_OFFERED, None, None, cut.cable, totals.feet(cut.feet * 12), None


def _pigtail_colour(joint: Joint) -> str:
    """Bare or green for the ground, white for a neutral, else red where all that it joins is red, else black."""
    if joint.net == "ground":
        return "bare or green"
    if joint.net == "neutral" or joint.net.startswith("protected neutral "):
        return "white"
    return "red" if joint.ends and all(colour == "red" for _, colour in joint.ends) else "black"


class _Store:
    """The list in the making: quantities by what they are and phase."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.building: Building = plan.building
        self.open = [cable for cable in plan.cables if not cable.done]
        self.box = {box.id: box for box in self.building.boxes}
        self.kinds = {kind.id: kind for kind in self.building.cable_types}
        self.types = {kind.id: kind for kind in self.building.box_types}
        self.makeups = {makeup.box: makeup for makeup in plan.makeups}
        self.awg = {
            cable.id: (self.kinds[cable.type].awg if cable.type in self.kinds else 0) or USUAL_AWG
            for cable in plan.cables
        }
        self.device = {device.id: device for device in self.building.devices}
        self.in_box: dict[str, list[Device]] = defaultdict(list)
        self.wired = [device for device in self.building.devices if self._is_wired(device)]
        for device in self.wired:
            self.in_box[device.box].append(device)
        self.part = {part.id: part for part in accessories()}
        self.sheets = {sheet.circuit: sheet for sheet in plan.circuits}
        self.covers = sorted((part for part in accessories() if part.what == "cover"), key=lambda part: part.gangs)
        self.slabs = {assembly.id: assembly.kind for assembly in self.building.assemblies}
        self.phase, self.built = cable_phases(plan), box_phases(plan)
        self.open_ids = {cable.id for cable in self.open}
        self.made = frozenset(plan.as_built.made_up if plan.as_built else ())
        self.bores = [bore for bore in plan.bores if self.open_ids.intersection(bore.cables)]
        self.quantity: dict[tuple[str, str, str, str, int], int | Decimal] = {}
        self.price: dict[tuple[str, str], float | None] = {}

    def add(
        self,
        where: str,
        item: str,
        size: str,
        count: int | Decimal,
        phase: int,
        price: float | None,
        unit: str = "each",
    ) -> None:
        """Put something on the list."""
        key = (where, item, size, unit, phase)
        self.quantity[key] = self.quantity.get(key, 0) + count
        self.price[item, size] = price

    def rows(self) -> list[Row]:
        """All of the list: by aisle, items in the order in which they came, sizes (but bits) and phases in theirs."""
        came: dict[str, int] = {}
        for _, item, _, _, _ in self.quantity:
            came.setdefault(item, len(came))
        keys = sorted(
            (key for key, count in self.quantity.items() if count),
            key=lambda key: (
                AISLES.index(key[0]),
                came[key[1]],
                natural_key("" if key[0] == "tools" else key[2]),
                key[4],
            ),
        )
        return [self._row(key) for key in keys]

    def cables(self) -> None:
        """Cable as it is cut, and as it is bought: the price stands at what is bought."""
        for cable in sorted(self.open, key=lambda cable: natural_key(cable.type)):
            self.add("cable", "cable", cable.type, totals.feet(cable.cut_in), self.phase[cable.id], None, "ft")
        for found in coil_plans(self.plan):
            self._bought(found)

    def boxes(self) -> None:
        """Boxes, rings, what closes them, and connectors that hold cables in them."""
        for box in self.building.boxes:
            if box.kind == "box" and box.id not in self.plan.unreached and box.id not in self.made:
                self._box(box, self.built[box.id])
        for cable in self.open:
            for name in (cable.from_box, cable.to_box):
                if self._clamped_outside(name):
                    width = self.kinds[cable.type].width_in if cable.type in self.kinds else 0.0
                    fitting = parts.cable_connector(width)
                    phase = self.phase[cable.id]
                    self.add("boxes", "cable connector", fitting.title, 1, phase, fitting.price)

    def devices(self) -> None:
        """Receptacles, switches, lights, alarms; machines and heaters are the owner's."""
        wanted = [device for device in self.wired if device.box not in self.made]
        for device in wanted:
            phase = self.built.get(device.box, 1)
            if device.kind in (DeviceKind.LIGHT, DeviceKind.ALARM):
                size = self._linked(device) if device.linked > 1 else device.detects
                self.add("devices", device.kind.value, size, device.linked or 1, phase, None)
            elif device.yokes:
                item = self._named(device)
                form = ("single, " if self._single(device) else "duplex, ") if item == "receptacle" else ""
                size = f"{form}{device.volts} V, {device.rating_a:g} A{self._whole_kind(device)}"
                self.add("devices", item, size, 1, phase, parts.device_price(item, device.volts, device.rating_a))
        for device in wanted:
            if device.yokes and device.linked:
                size = self._linked(device)
                self.add("devices", "plug-in light", size, device.linked, self.built.get(device.box, 1), None)

    def made_up(self) -> None:
        """What joins conductors in boxes: wire connectors, wire for pigtails, ground screws; tape for whites."""
        pigtails: dict[tuple[int, str, int], int] = defaultdict(int)
        for makeup in self.plan.makeups:
            box = self.box.get(makeup.box)
            if box is None or box.kind == "stub":
                continue
            for joint in makeup.joints:
                if box.id in self.made and not any(cable in self.open_ids for cable, _ in joint.ends):
                    continue
                phase = self.built[box.id]
                if box.kind == "panel":
                    if len(joint.ends) < 2 or not on_breaker(joint, self.sheets.get(joint.circuit)):
                        continue
                    phase = min(self.phase[cable] for cable, _ in joint.ends)
                awg, count = self._pigtails(joint, makeup)
                pigtails[awg, _pigtail_colour(joint), phase] += count + self._connected(joint, phase)
        # A colour and size is measured off together; what is left of cables and coils is not counted on.
        for (awg, colour, phase), count in sorted(pigtails.items()):
            feet, price = parts.pigtail_wire(count, awg)
            each = self._inches(parts.pigtail_in())
            size = f"{awg} AWG, {colour}; for {counted(count, 'pigtail')} of {each}"
            self.add("devices", "single wire", size, feet, phase, price, "ft")
        taped: dict[str, int] = {}
        for cable in self.open:
            for one in cable.conductors:
                if one.marked:
                    phase = self.phase[cable.id]
                    taped[one.marked] = min(phase, taped.get(one.marked, phase))
        for colour, phase in sorted(taped.items()):
            size = f"{colour}; for white wires that are no neutrals"
            self.add("devices", "marking tape", size, 1, phase, parts.price_each("marking tape"), "roll")

    def fastening(self) -> None:
        """Staples, plates, ties, boards, covers, sealant, labels."""
        prices, members = self.building.prices, {member.id: member for member in self.building.members}
        for cable in self.open:
            phase = self.phase[cable.id]
            self.add("fastening", "staple", f"for {cable.type}", cable.staples, phase, prices.get("staple_each"))
        for bore in self.bores:
            phase = self._hole_phase(bore)
            self.add("fastening", "nail plate", "", len(bore.nail_plates), phase, prices.get("nail_plate_each"))
        limits = Limits(self.building.limits)
        for bore in self.bores:
            if tie_needed(members[bore.member], limits, bore.diameter_in):
                size = f"for a plate {self._inches(members[bore.member].depth_in)} wide"
                self.add("fastening", "plate tie", size, 1, self._hole_phase(bore), parts.price_each("plate tie"))
        for board in boards_used(self.building, self.plan.cables):
            size = f"{self._inches(board.thickness_in)} x {self._inches(board.depth_in)}"
            length, phase = totals.feet(board.length_in), self._board_phase(board)
            self.add("fastening", "running board", size, length, phase, prices.get("board_ft"), "ft")
        for cable in self.open:
            length, phase = totals.feet(cable.covered_in), self.phase[cable.id]
            self.add("fastening", "cable cover", "", length, phase, prices.get("cover_ft"), "ft")
        self._sealant(members)
        for cable in self.open:
            size = "at both ends and at the first staple from each"
            self.add("fastening", "cable label", size, LABELS, self.phase[cable.id], parts.price_each("cable label"))

    def panel(self) -> None:
        """Breakers: each with the first cables of its circuit."""
        halves = [pair for pair in tandems(self.plan) if pair[0].panel not in self.made]
        in_tandem = {sheet.circuit for pair in halves for sheet in pair}
        for sheet in self.plan.circuits:
            if sheet.circuit not in in_tandem and sheet.panel not in self.made:
                size = f"{sheet.breaker_a:g} A, {sheet.poles}-pole, {sheet.breaker}"
                price = parts.breaker_price(sheet.poles, sheet.breaker, sheet.breaker_a)
                self.add("panel", "breaker", size, 1, self._circuit_phase(sheet.circuit), price)
        for pair in halves:
            low, high = sorted(sheet.breaker_a for sheet in pair)
            size = f"{low:g} A + {high:g} A, tandem: two of 1 pole in one space"
            phase = min(self._circuit_phase(sheet.circuit) for sheet in pair)
            self.add("panel", "breaker", size, 1, phase, parts.breaker_price(1, "tandem", high))

    def tools(self) -> None:
        """A bit of each size, once."""
        phases: dict[float, int] = {}
        for bore in totals.to_bore(self.plan):
            phase = self._hole_phase(bore)
            phases[bore.diameter_in] = min(phase, phases.get(bore.diameter_in, phase))
        for diameter, phase in sorted(phases.items()):
            self.add("tools", "bit", self._inches(diameter), 1, phase, parts.price_each("bit"))

    def _row(self, key: tuple[str, str, str, str, int]) -> Row:
        where, item, size, unit, phase = key
        count, each = self.quantity[key], self.price[item, size]
        price = None if each is None else round(float(count) * each, 2)
        if self.building.metric and unit == "ft":
            unit, count = "m", (count * FOOT_M).quantize(totals.FOOT_STEP)
            each = None if each is None else round(each / float(FOOT_M), 6)
        values = (item, size, count, unit, each, price, phase, where)
        return dict(zip(TAKEOFF_COLUMNS, values, strict=True))

    def _bought(self, found: CoilPlan) -> None:
        for coil in found.coils:
            metric = self.building.metric
            length = totals.run_of(Decimal(str(coil.feet)), metric=True) if metric else f"{coil.feet:g} ft"
            size = f"{found.type}, {length}"
            phase = min(self.phase[cut.cable] for cut in coil.cuts)
            self.add("cable", "coil", size, 1, phase, coil.price)
        for cut in found.by_foot:
            phase = self.phase[cut.cable]
            sold = BY_METRE if self.building.metric else BY_FOOT
            self.add("cable", f"cable {sold}", found.type, cut.sold_ft, phase, found.foot_price, "ft")
        for cut in found.too_long:
            phase = self.phase[cut.cable]
            self.add("cable", f"cable {NOT_OFFERED}", found.type, totals.feet(cut.feet * 12), phase, None, "ft")

    def _box(self, box: Box, phase: int) -> None:
        kind, ring = self._type(box.id)
        if kind is None:
            self.add("boxes", "box", " x ".join(map(self._inches, box.size_in)), 1, phase, None)
        else:
            self.add("boxes", "box", f"{kind.id}: {kind.title}", 1, phase, kind.price or None)
        if not box.side and self.slabs[box.host] != "wall":
            self.add("boxes", "bar hanger", "between joists", 1, phase, self.part["bar-hanger"].price)
        elif not box.side and (kind is None or kind.material != "plastic"):  # one of plastic has its nails on it
            self.add("boxes", "bracket", "to a stud", 1, phase, self.part["bracket-stud"].price)
        if ring is not None:
            self.add("boxes", "ring", f"{ring.id}: {ring.title}", 1, phase, ring.price or None)
        devices = self.in_box[box.id]
        yokes = [device for device in devices if device.yokes]
        face = self._face(box, kind)
        if yokes:
            self._closed(box, yokes, kind, ring, phase)
        elif not any(device.kind in CLOSED_BY_DEVICE for device in devices):
            self.add("boxes", "box cover", f"blank; for {face}", 1, phase, self._blank_price(kind))

    def _closed(self, box: Box, yokes: list[Device], kind: BoxType | None, ring: BoxType | None, phase: int) -> None:
        """
        What goes over devices: a cover of the box's own where its series has some, else a plate.

        A mud ring (gangs, and no volume of its own) turns such a box into one for plates; an extension ring has the
        face of the box, and takes what the box takes.
        """
        mud = ring if ring and ring.gangs and not ring.volume_in3 else None
        own = [part for part in self.covers if kind and kind.series in part.series and not mud]
        if own:
            cover = next((part for part in own if part.gangs >= len(yokes)), None)
            gangs, price = (cover.gangs, cover.price) if cover else (len(yokes), None)
        else:
            front = mud or kind
            gangs = max(len(yokes), front.gangs if front else 0)
            price = next((p.price for p in self.part.values() if (p.what, p.gangs) == ("plate", gangs)), None)
        openings = [self._opening(device) for device in yokes] + ["blank"] * (gangs - len(yokes))
        size = f"{gangs} gang: {', '.join(openings)}"
        item, size = ("box cover", f"{size}; for {self._face(box, kind)}") if own else ("plate", size)
        self.add("boxes", item, size, 1, phase, price)

    def _face(self, box: Box, kind: BoxType | None) -> str:
        """What a cover has to fit, in words."""
        return kind.title if kind else "box of " + " x ".join(map(self._inches, box.size_in[:2]))

    def _blank_price(self, kind: BoxType | None) -> float | None:
        """Price of a blank cover for a box; None: not known."""
        blanks = (part for part in self.part.values() if part.what == "blank")
        return next((part.price for part in blanks if kind and kind.series in part.series), None)

    def _connected(self, joint: Joint, phase: int) -> int:
        """Put on the list what a joint is made with; the number of short wires between its connectors."""
        own, _, _ = terminals_of(joint, self.device)
        title = "ground screw with pigtail"
        self.add("devices", title, "", own, phase, parts.price_each(title))
        sizes = connected_sizes(joint, self.device, self.awg)
        found = parts.wire_connectors(sizes) if sizes else ()
        for part in found:
            self.add("devices", "wire connector", part.title, 1, phase, part.price)
        return max(0, len(found) - 1)

    def _pigtails(self, joint: Joint, makeup: Makeup) -> tuple[int, int]:
        """Size (AWG) of the wires that are cut for a joint, that of its largest conductor, and how many."""
        own, screws, leads = terminals_of(joint, self.device)
        wires = len(joint.ends) + leads
        count = screws if wires else max(0, screws - 1)  # without a wire, screws are linked with each other
        if wires == own + screws == 1:
            count = 0
        ends = joint.ends or [end for one in makeup.joints if one.circuit == joint.circuit for end in one.ends]
        return min((self.awg[cable] for cable, _ in ends), default=USUAL_AWG), count

    def _sealant(self, members: dict[str, Member]) -> None:
        if self.building.insulated == "no":
            return
        holes: dict[int, int] = defaultdict(int)
        for bore in self.bores:
            if members[bore.member].role in SEALED:
                holes[self._hole_phase(bore)] += 1
        for phase, count in sorted(holes.items()):
            tubes, price = parts.sealant(count)
            self.add(
                "fastening", "sealant", f"fire-blocking, for {counted(count, 'hole')}", tubes, phase, price, "tube"
            )

    def _named(self, device: Device) -> str:
        """What a device is called in the store."""
        terminals = self._terminals(device)
        if device.kind is not DeviceKind.SWITCH:
            guarded = device.ground_fault or "line hot" in terminals
            return "ground-fault receptacle" if guarded else "receptacle"
        points: tuple[str, ...] = next((c.points for c in self.building.controls if c.id == device.control), ())
        if "in 1" in terminals or (not terminals and device.id in points[1:-1]):
            return "four-way switch"
        if "common" in terminals or (not terminals and len(points) > 1):
            return "three-way switch"
        return "double-pole switch" if device.volts == 240 else "single-pole switch"

    def _whole_kind(self, device: Device) -> str:
        """What a switch has to be once all points of its control are reached, where it can do with less until then."""
        points: tuple[str, ...] = next((c.points for c in self.building.controls if c.id == device.control), ())
        lost = [name for name in points if self.device[name].box in self.plan.unreached]
        if device.kind is not DeviceKind.SWITCH or not lost:
            return ""
        kind = "three-way" if len(points) == 2 else "three-way or four-way"
        return f"; a {kind} one once {listed(lost)} {'is' if len(lost) == 1 else 'are'} reached"

    def _is_wired(self, device: Device) -> bool:
        """Whether it is joined to anything; where its box's joints are not planned, whether its box is reached."""
        makeup = self.makeups.get(device.box)
        if makeup is None or not makeup.joints:
            return device.box not in self.plan.unreached
        return any(
            name == device.id and terminal != "box" for joint in makeup.joints for name, terminal in joint.terminals
        )

    def _linked(self, device: Device) -> str:
        """Lights that hang one on the next, in words."""
        return f"{device.load_va / device.linked:g} W, one hung on the next, as its maker allows"

    def _terminals(self, device: Device) -> set[str]:
        """Terminals of a device that its box's joints name, but the ground."""
        makeup = self.makeups.get(device.box)
        joints: Iterable[Joint] = makeup.joints if makeup else ()
        return {terminal for joint in joints for name, terminal in joint.terminals if name == device.id} - {"ground"}

    def _opening(self, device: Device) -> str:
        named = self._named(device)
        if named != "receptacle":
            return "ground-fault receptacle" if "receptacle" in named else "switch"
        return f"single receptacle {device.rating_a:g} A" if self._single(device) else "duplex receptacle"

    def _single(self, device: Device) -> bool:
        return device.single or device.volts == 240

    def _type(self, box: str) -> tuple[BoxType | None, BoxType | None]:
        """The box as bought and the ring on it, where that is known."""
        makeup: Makeup | None = self.makeups.get(box)
        if makeup is None:
            return None, None
        return self.types.get(makeup.box_type), self.types.get(makeup.ring)

    def _clamped_outside(self, name: str) -> bool:
        kind, _ = self._type(name)
        at_panel = name in self.box and self.box[name].kind == "panel"
        return at_panel or (kind is not None and kind.clamps == "outside")

    def _circuit_phase(self, circuit: str) -> int:
        """Phase of a circuit's first cables."""
        return min((self.phase[cable.id] for cable in self.plan.cables if circuit in cable.circuit.split()), default=1)

    def _hole_phase(self, bore: Bore) -> int:
        return min((self.phase[cable] for cable in bore.cables if cable in self.phase), default=1)

    def _board_phase(self, board: Member) -> int:
        on_it = (cable for cable in self.open if board.id in {track.split(" ")[0] for track in cable.tracks})
        return min((self.phase[cable.id] for cable in on_it), default=1)

    def _inches(self, inches: float) -> str:
        return format_length(inches, metric=self.building.metric, feet=False)
