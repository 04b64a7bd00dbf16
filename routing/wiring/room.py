"""Room in boxes: which box as bought holds the cables that enter one, and what that costs."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from barnloom.model.building import Box, Building
from barnloom.model.electrical.boxes import Offer, choose, offers
from barnloom.model.electrical.fill import FillLine, fill_lines
from barnloom.model.electrical.tables import cable_ground, conductor_volume
from barnloom.model.limits import Limits
from barnloom.model.wiring import BoxType, Device

Inside = tuple[str, int, int]
"""A cable in a box: its circuit, the size of its conductors (AWG), how many insulated ones it has."""
Cables = Mapping[str, Sequence[Inside]]


@dataclass(frozen=True, slots=True)
class Room:
    """A box as bought with its ring and volume, the fill line by line, and whether that is easy (own caution)."""

    offer: Offer
    fill: tuple[FillLine, ...]
    easy: bool


UNKNOWN = Offer(box=None, ring=None, volume_in3=0.0, clamps_inside=True, stud=False)
"""A box of which nothing is known: its fill is told, and not judged."""


class Rooms:
    """Boxes of a building with the types they may be; the same cables in the same box are worked out once."""

    def __init__(self, building: Building, limits: Limits) -> None:
        self.limits = limits
        self.tight = building.prices["minute"] * building.prices["tight_box"]
        self.devices: dict[str, list[Device]] = {}
        for device in building.devices:
            self.devices.setdefault(device.box, []).append(device)
        deep = {assembly.id: assembly.depth_in for assembly in building.assemblies}
        lined = {assembly.id for assembly in building.assemblies if assembly.lining != "none"}
        self.offers: dict[str, tuple[Offer, ...]] = {}
        for box in building.boxes:
            if box.kind != "box":
                continue
            gangs = sum(device.yokes for device in self.devices.get(box.id, ()))
            found = offers(
                building.box_types,
                box.series,
                gangs=gangs,
                deepest_in=deep.get(box.host),
                pinned_box=box.box_type,
                pinned_ring=box.ring,
                marked_in3=box.volume_in3,
            )
            if gangs and box.host in lined and not box.ring:
                # The cover on an extension ring would stand on the lining.
                flat = (offer for offer in found if offer.ring is None or not offer.ring.volume_in3)
                found = tuple(_through_lining(offer, gangs, building.box_types) for offer in flat)
            self.offers[box.id] = found
        self.unknown = {box.id for box in building.boxes if not (box.series or box.box_type or box.volume_in3)}
        self._known: dict[tuple[str, tuple[Inside, ...]], Room | None] = {}

    def price(self, box: Box, cables: Sequence[Inside]) -> float | None:
        """Price of the box that holds these cables, and of folding them in; None if none holds them."""
        room = self.room(box, cables)
        return None if room is None else room.offer.price + (0.0 if room.easy else self.tight)

    def room(self, box: Box, cables: Sequence[Inside]) -> Room | None:
        """The box that holds these cables; None if none does."""
        key = (box.id, tuple(sorted(cables)))
        if key not in self._known:
            self._known[key] = self._room(box.id, key[1])
        return self._known[key]

    def fill(self, box: str, cables: Sequence[Inside], offer: Offer | None) -> tuple[FillLine, ...]:
        """What takes room in a box; without an offer only what would in any."""
        conductors: Counter[int] = Counter()
        largest: dict[str, int] = {}
        for circuit, awg, count in cables:
            conductors[awg] += count
            largest[circuit] = min(largest.get(circuit, awg), awg)
        return fill_lines(
            conductors=conductors,
            grounds=[cable_ground(awg) for _, awg, _ in cables],
            devices=[
                (device.id, device.yokes, largest[device.circuit])
                for device in self.devices.get(box, ())
                if device.yokes and device.circuit in largest
            ],
            clamps_inside=offer is not None and offer.clamps_inside,
            stud=offer is not None and offer.stud,
            limits=self.limits,
        )

    def _room(self, box: str, cables: Sequence[Inside]) -> Room | None:
        known = [inside for inside in cables if inside[1]]
        if box in self.unknown or len(known) < len(cables):
            # A body that is no box we know, or a cable of the scene's own that says nothing of its inside.
            return Room(UNKNOWN, self.fill(box, known, UNKNOWN), easy=True)
        if not known:
            offer = next(iter(self.offers[box]), UNKNOWN)
            return Room(offer, (), easy=True)
        bare = sum(line.total_in3 for line in self.fill(box, known, None))
        largest = max(conductor_volume(awg) for _, awg, _ in known)
        chosen = choose(self.offers[box], bare, largest, self.limits)
        return None if chosen is None else Room(chosen.offer, self.fill(box, known, chosen.offer), easy=chosen.easy)


def _through_lining(offer: Offer, gangs: int, types: Sequence[BoxType]) -> Offer:
    """Return an offer with the ring that brings devices to the face of a lining, where its series has such rings."""
    if offer.box is None or offer.ring is not None:
        return offer
    rings = [t for t in types if t.what == "ring" and t.series == offer.box.series and not t.volume_in3]
    fit = [ring for ring in rings if ring.gangs >= gangs]
    return replace(offer, ring=min(fit, key=lambda ring: (ring.gangs, ring.depth_in), default=None))
