"""Panels and the supply of the building, from a scene."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from barnloom.model.building import Box
from barnloom.model.scene.schema import PanelSaid, Scene, SupplySaid
from barnloom.model.wiring import Breakers, Supply


def breakers(scene: Scene, boxes: Sequence[Box]) -> tuple[Breakers, ...]:
    """Return what is known of each panel among the boxes, in their order."""
    return tuple(_breakers(box.id, scene.boxes[box.id].panel) for box in boxes if box.kind == "panel")


def _breakers(panel: str, said: PanelSaid | None) -> Breakers:
    usual = Breakers(panel=panel)
    if said is None:
        return usual
    return replace(
        usual,
        spaces=said.spaces,
        used=tuple(sorted(set(said.used))),
        main_a=said.main or 0.0,
        sizes_a=tuple(sorted(set(said.sizes))) if said.sizes is not None else usual.sizes_a,
        tandem=tuple(sorted(set(said.tandem))),
        neutral_bonded=said.bonded,
        said=True,
    )


def supply(said: SupplySaid) -> Supply:
    """Return how the building is supplied; a branch circuit has 3 wires where nothing else is said."""
    usual = Supply()
    wires = 3 if said.kind == "branch circuit" else usual.wires
    return Supply(
        from_where=said.from_,
        separate=said.separate,
        kind=said.kind,
        breaker_a=said.breaker or 0.0,
        awg=said.awg or "",
        wires=wires if said.wires is None else said.wires,
        length_in=said.length or 0.0,
        method=said.method or "",
        family=said.family or "",
        electrodes=said.electrodes,
        disconnect_a=said.disconnect or 0.0,
        said=bool(said.model_fields_set),
    )
