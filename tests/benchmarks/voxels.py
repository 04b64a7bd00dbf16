"""The plain way to do it: a grid of cubes near the framing and a general graph library's shortest path.

A cube is wood, barred, or free. Cable runs from free cube to free cube beside it; through a member only the way its bit
goes, where the cube's middle lies in the legal zone (or half a cube off it), at the price of that hole. A cube does not
know where the cable came from, so turns cannot be priced.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import rustworkx as rx
from numpy.typing import NDArray

from barnloom.model.boring import bands
from barnloom.model.building import Assembly, Building, Member, Right, Role
from barnloom.model.limits import Limits
from barnloom.routing.bores import pose_of
from barnloom.routing.cost import bore_price, pass_key

NEAR_IN = 6.0
"""How far off the framing cubes are kept."""
FREE, BARRED = -1, -2
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Grid:
    """Cubes with a graph node each: ``number`` (x, y, z) gives the node or -1."""

    low: Floats
    cube_in: float
    number: NDArray[np.int32]
    graph: rx.PyGraph

    def node(self, place: tuple[float, float, float]) -> int:
        """Nearest node to a place."""
        at = np.floor((np.array(place) - self.low) / self.cube_in).astype(int)
        for reach in range(12):
            low, high = np.maximum(at - reach, 0), at + reach + 1
            block = self.number[low[0] : high[0], low[1] : high[1], low[2] : high[2]]
            if block.size and block.max() >= 0:
                return int(block[block >= 0][0])
        msg = f"no cube near {place}"
        raise ValueError(msg)


def _span(low: float, high: float, origin: float, cube: float) -> slice:
    """Cubes whose middles lie between two places."""
    return slice(int(np.ceil((low - origin) / cube - 0.5)), int(np.ceil((high - origin) / cube - 0.5)))


def _cubes(a: Floats, b: Floats, low: Floats, cube: float) -> tuple[slice, ...]:
    """Cubes whose middles lie in a box."""
    return tuple(_span(max(a[k], low[k]), b[k], low[k], cube) for k in range(3))


def _in_slab(slab: Assembly, u: tuple[float, float], v: tuple[float, float]) -> tuple[Floats, Floats]:
    """World box of a part of a slab, as deep as its members."""
    grid = np.array(np.meshgrid(u, v, (0.0, slab.depth_in), indexing="ij")).reshape(3, -1).T
    ends = np.array(slab.origin) + grid @ np.array([slab.u, slab.v, slab.w])
    return ends.min(axis=0), ends.max(axis=0)


def grid_of(building: Building, limits: Limits, cube_in: float, cable_ft: float) -> Grid:
    """Cubes and graph of a building square to the world; ``cable_ft`` is the price of a foot of cable, pulled."""
    corners = [_world(member, building) for member in building.members]
    low = np.min([a for a, _ in corners], axis=0) - NEAR_IN
    high = np.max([b for _, b in corners], axis=0) + NEAR_IN
    count = np.ceil((high - low) / cube_in).astype(int)
    what = np.full(count, BARRED, dtype=np.int32)
    near = np.zeros(count, dtype=bool)
    for a, b in corners:
        near[_cubes(a - NEAR_IN, b + NEAR_IN, low, cube_in)] = True
    # Beside a wall is near it as well, but no cable may hang there: only the space between a slab's members is free.
    for slab in building.assemblies:
        what[_cubes(*_in_slab(slab, slab.extent_u, slab.extent_v), low, cube_in)] = FREE
    what[~near] = BARRED
    for slab in building.assemblies:
        for void in slab.voids:
            what[_cubes(*_in_slab(slab, void.u, void.v), low, cube_in)] = BARRED
    for n, (a, b) in enumerate(corners):
        what[_cubes(a, b, low, cube_in)] = n
    number = np.where(what != BARRED, np.cumsum((what != BARRED).ravel()).reshape(what.shape) - 1, -1).astype(np.int32)
    graph = rx.PyGraph(multigraph=False)
    graph.add_nodes_from(range(int(number.max()) + 1))
    step = cube_in / 12 * cable_ft
    entry, way = _legal(building, limits, what, low, cube_in)
    for axis in range(3):
        a = tuple(slice(None, -1) if k == axis else slice(None) for k in range(3))
        b = tuple(slice(1, None) if k == axis else slice(None) for k in range(3))
        one, other = what[a], what[b]
        both_free = (one == FREE) & (other == FREE)
        # In and through wood: only along its bit and in its legal zone; half of the hole's price on each side.
        in_wood = np.zeros_like(both_free)
        for wood in (one, other):
            in_wood |= wood >= 0
        ok_one = (one == FREE) | ((one >= 0) & (way[a] == axis))
        ok_other = (other == FREE) | ((other >= 0) & (way[b] == axis))
        passed = in_wood & ok_one & ok_other & ((one == other) | (one == FREE) | (other == FREE))
        price = np.full(one.shape, step)
        price += np.where((one == FREE) & (other >= 0), entry[b] / 2, 0)
        price += np.where((other == FREE) & (one >= 0), entry[a] / 2, 0)
        chosen = both_free | passed
        tails, heads, prices = number[a][chosen], number[b][chosen], price[chosen]
        for start in range(0, len(tails), 2_000_000):
            part = slice(start, start + 2_000_000)
            edges = zip(tails[part].tolist(), heads[part].tolist(), prices[part].tolist(), strict=True)
            graph.add_edges_from(list(edges))
    return Grid(low, cube_in, number, graph)


def _world(member: Member, building: Building) -> tuple[Floats, Floats]:
    """World box of a member; a sole plate's goes down through the subfloor, which is bored with it."""
    axes = np.array([member.along, member.bit, member.across])
    size = np.array([member.length_in, member.thickness_in, member.depth_in])
    ends = np.array(member.origin) + np.array([np.zeros(3), size]) @ axes
    low, high = ends.min(axis=0), ends.max(axis=0)
    for slab in building.assemblies:
        on_it = abs(slab.origin[2] + slab.depth_in + slab.skin_in - low[2]) < 0.01
        if member.role is Role.SOLE_PLATE and slab.kind == "floor" and on_it:
            low[2] -= slab.skin_in
    return low, high


def _legal(
    building: Building, limits: Limits, what: NDArray[np.int32], low: Floats, cube: float
) -> tuple[NDArray[np.float32], NDArray[np.int8]]:
    """Price of a hole at each cube of wood, and the axis that a bit goes there; -1 where there may be none."""
    entry, way = np.zeros(what.shape, dtype=np.float32), np.full(what.shape, -1, dtype=np.int8)
    price = building.prices
    floors = {storey.id: storey.floor_in for storey in building.storeys}
    bit = building.tools.bits_in[0]
    for n, member in enumerate(building.members):
        if member.bore is not Right.FREE:
            continue
        a, b = _world(member, building)
        spans = _cubes(a, b, low, cube)
        block = what[spans]
        if block.size == 0:
            continue
        lines = [low[k] + (np.arange(spans[k].start, spans[k].stop) + 0.5) * cube for k in range(3)]
        middles = np.stack(np.meshgrid(*lines, indexing="ij"), axis=-1)
        own = (middles - np.array(member.origin)) @ np.array([member.along, member.bit, member.across]).T
        places = np.unique(np.round(own[..., 0], 6))
        zone = bands(member, limits, bit, places, aim_in=member.depth_in / 2)
        k = np.searchsorted(places, np.round(own[..., 0], 6))
        # A cube's middle is rarely in a narrow band: it may be half a cube off.
        legal = (own[..., 2] >= zone.low[k] - cube / 2) & (own[..., 2] <= zone.high[k] + cube / 2) & (block == n)
        axis = int(np.argmax(np.abs(member.bit)))
        pose = pose_of(building, member, float(a[2]) - floors.get(member.storey, 0.0)) if axis == 2 else ""
        way[spans] = np.where(legal, axis, way[spans])
        for level in range(block.shape[2]):
            height = float(middles[0, 0, level, 2]) - floors.get(member.storey, 0.0)
            key = pose or pose_of(building, member, height)
            cost = bore_price(price, member, key) + price["minute"] * price[pass_key(key)]
            entry[spans][:, :, level] = np.where(legal[:, :, level], cost, entry[spans][:, :, level])
    return entry, way
