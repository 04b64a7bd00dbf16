"""The cable that carries so many nets: of a circuit's family and size, or what the scene pins."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from barnloom.model.building import Building, CableType, Circuit


@dataclass(frozen=True, slots=True, kw_only=True)
class Sizes:
    """Sizes of conductors (AWG) by circuit, and of single cables by id where they differ."""

    circuits: Mapping[str, int]
    cables: Mapping[str, int] = field(default_factory=dict)

    def thick(self) -> set[str]:
        """Circuits with such cables: they were made larger in a certain tree, which therefore stays."""
        return {name.partition(".")[0] for name in self.cables}

    def of(self, circuit: str, cable: str) -> int:
        """Size of one cable's conductors."""
        return self.cables.get(cable, self.circuits[circuit])


class Store:
    """Cables that can be had, looked up by what is wanted of them."""

    def __init__(self, building: Building) -> None:
        self.types = {kind.id: kind for kind in building.cable_types}
        self.family = building.wiring.family
        self.pins = {rule.cable: rule.type for rule in building.cable_rules if rule.type}

    def cable(self, circuit: Circuit, cable: str, count: int, sizes: Sizes) -> CableType | None:
        """Cable for so many insulated conductors; None if there is none.

        A cable pinned by its id (CIRCUIT.BOX) is that one or none. What a circuit says of its cable is family, size and
        the fewest conductors: where its nets want more, it is the next of that family and size.
        """
        pinned = self.types.get(self.pins.get(cable, ""))
        if pinned is not None:
            return pinned if pinned.conductors >= count or not pinned.conductors else None
        said = self.types.get(circuit.cable)
        if said is not None and (said.conductors >= count or not said.conductors):
            return said
        family = said.family if said is not None else self.family
        size = said.awg if said is not None else sizes.of(circuit.id, cable)
        fit = [k for k in self.types.values() if k.family == family and k.awg == size and k.conductors >= count]
        # One cable wherever one is sold; two side by side are only there where the scene allows them.
        return min(fit, key=lambda kind: (kind.sheaths, kind.conductors, kind.price_ft, kind.id), default=None)

    def single(self, circuit: Circuit, cable: str, count: int, sizes: Sizes) -> CableType | None:
        """The same, never two side by side."""
        kind = self.cable(circuit, cable, count, sizes)
        return None if kind is None or kind.parts else kind

    def pair(self, one: CableType, other: CableType) -> CableType | None:
        """Two cables side by side, if the scene allows that."""
        return next((k for k in self.types.values() if k.parts in ((one.id, other.id), (other.id, one.id))), None)

    def inside(self, kind: CableType) -> list[tuple[int, int]]:
        """Size and insulated conductors of each cable that a kind is."""
        return [(self.types[part].awg, self.types[part].conductors) for part in kind.parts or (kind.id,)]
