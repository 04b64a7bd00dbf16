"""Timbers for tests: single ones and packs, with holes."""

from __future__ import annotations

from typing import Any

from barnloom.model.building import Hole, Member, Ply, Role


def member(
    role: Role = Role.JOIST, depth: float = 9.25, length: float = 144.0, breadth: float = 1.5, **said: Any
) -> Member:
    """A single timber; ``plies`` as (start, end, low, high) make a pack."""
    spans = said.pop("plies", [(0.0, length, 0.0, depth)])
    plies = tuple(
        Ply(along=(a, b), bit=(breadth * n, breadth * (n + 1)), across=(low, high))
        for n, (a, b, low, high) in enumerate(spans)
    )
    upright = role in {Role.STUD, Role.KING, Role.JACK, Role.CRIPPLE, Role.POST}
    axes = {"along": (0.0, 0.0, 1.0), "bit": (1.0, 0.0, 0.0), "across": (0.0, 1.0, 0.0)}
    lying = {"along": (0.0, 1.0, 0.0), "bit": (1.0, 0.0, 0.0), "across": (0.0, 0.0, 1.0)}
    return Member(
        **{
            **{"id": "M1", "role": role, "assembly": "A", "storey": "ground", "origin": (0.0, 0.0, 0.0)},
            **(axes if upright else lying),
            **{"length_in": length, "thickness_in": breadth * len(plies), "depth_in": depth, "plies": plies},
            **{"section": "", "along_from": "south end", "across_from": "bottom edge"},
            **said,
        }
    )


def drilled(*holes: tuple[float, float, float | None]) -> tuple[Hole, ...]:
    return tuple(Hole(id=f"h{n}", along_in=a, across_in=c, diameter_in=d) for n, (a, c, d) in enumerate(holes))
