"""Wiring done wrong on purpose, and which dead test notices: a meter held to the joints of a plan.

It shares no code with what writes the rows, knows nothing of nets and reads the rows' words. Joints and conductors are
edges of a graph, contacts of devices further ones in each position; "joined" is read where scipy finds one piece.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, product

import numpy as np
import numpy.typing as npt
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components

from barnloom.routing.plan import Plan
from barnloom.routing.wiring.deadtest import DeadTest, dead_tests

Node = tuple[str, ...]
"""A conductor's end (box, cable, colour), or a terminal (device, name)."""
Edge = tuple[int, int]
State = Mapping[str, int]

CONTACTS: tuple[tuple[tuple[tuple[str, str], ...], tuple[tuple[str, str], ...]], ...] = (
    # Terminals joined in the two positions of a device, as any trade book draws it (common practice, no source).
    ((), (("line", "load"),)),
    ((("common", "traveler 1"),), (("common", "traveler 2"),)),
    ((("in 1", "out 1"), ("in 2", "out 2")), (("in 1", "out 2"), ("in 2", "out 1"))),
    ((("line hot", "load hot"), ("line neutral", "load neutral")), ()),
)
POSITIONS = {"down": 0, "up": 1, "position 1": 0, "position 2": 1, "reset": 0, "tripped": 1}


@dataclass(frozen=True)
class Mistake:
    """Metal that should be apart joined, or what should be joined taken apart."""

    what: str
    """"touch", "exchange" or "loose", the box, and which places."""
    added: tuple[Edge, ...] = ()
    without: tuple[Edge, ...] = ()


class Inspection:
    """Rows of dead tests, read on the wiring of a plan: at the panel the wires are off, but the bares on their bar."""

    def __init__(self, plan: Plan, rows: Sequence[DeadTest] | None = None) -> None:
        self.rows = dead_tests(plan) if rows is None else rows
        self._number: dict[Node, int] = {}
        self._cables = {cable.id for cable in plan.cables}
        self._panels = {box.id for box in plan.building.boxes if box.kind == "panel"}
        self._joints: dict[str, list[list[int]]] = {}
        self._edges: list[Edge] = []
        names: dict[str, set[str]] = {}
        for makeup in plan.makeups:
            for joint in makeup.joints:
                own = [self._of((makeup.box, *end)) for end in joint.ends]
                if makeup.box not in self._panels or joint.net == "ground":
                    own += [self._of(terminal) for terminal in joint.terminals]
                    for device, name in joint.terminals:
                        names.setdefault(device, set()).add(name)
                self._edges += pairwise(own)
                self._joints.setdefault(makeup.box, []).append(own)
        for cable in plan.cables:
            for one in cable.conductors:
                self._edges.append(
                    (self._of((cable.from_box, cable.id, one.colour)), self._of((cable.to_box, cable.id, one.colour)))
                )
        self._contacts: dict[str, tuple[list[Edge], list[Edge]]] = {}
        for device, own_names in names.items():
            for kind in CONTACTS:
                down, up = (
                    [(self._of((device, a)), self._of((device, b))) for a, b in side if {a, b} <= own_names]
                    for side in kind
                )
                if down or up:
                    self._contacts[device] = (down, up)
        self._name = {number: node for node, number in self._number.items()}
        self._asked = [
            (
                row,
                list(product(self._places(row.box_a, row.conductor_a), self._places(row.box_b, row.conductor_b))),
                [tuple(sorted(state.items())) for state in states(row)],
            )
            for row in self.rows
        ]

    def noticed_by(self, mistake: Mistake) -> DeadTest | None:
        """The first row that reads otherwise than it says; None: there is none."""
        gone = set(mistake.without)
        edges = [edge for edge in self._edges if edge not in gone] + list(mistake.added)
        known: dict[tuple[tuple[str, int], ...], npt.NDArray[np.int32]] = {}
        for row, pairs, tried in self._asked:
            for state in tried:
                if state not in known:
                    known[state] = self._pieces(dict(state), edges)
                at = known[state]
                joined = [bool(at[a] == at[b]) for a, b in pairs]
                if not (all(joined) if row.expected == "joined" else not any(joined)):
                    return row
        return None

    def missed(self, mistakes: Iterable[Mistake]) -> list[str]:
        """Those that no row notices, in words."""
        return [mistake.what for mistake in mistakes if self.noticed_by(mistake) is None]

    def touching(self) -> Iterator[Mistake]:
        """In every box, every two joints touch each other."""
        for box, joints in self._joints.items():
            for one, other in combinations(joints, 2):
                yield Mistake(f"touch {box}: {self._words(one[0])} | {self._words(other[0])}", ((one[0], other[0]),))

    def exchanged(self) -> Iterator[Mistake]:
        """In every box but the panel, every two conductors of different joints change places."""
        for box, joints in self._joints.items():
            for one, other in combinations(joints if box not in self._panels else [], 2):
                for a, b in product(one, other):
                    if len(self._name[a]) == len(self._name[b]) == 3:
                        turned = {a: b, b: a}
                        mixed = [[turned.get(place, place) for place in joint] for joint in (one, other)]
                        yield Mistake(
                            f"exchange {box}: {self._words(a)} | {self._words(b)}",
                            tuple(edge for joint in mixed for edge in pairwise(joint)),
                            (*pairwise(one), *pairwise(other)),
                        )

    def loose(self) -> Iterator[Mistake]:
        """In every box, every conductor and every terminal comes out of its joint."""
        for box, joints in self._joints.items():
            for joint in joints:
                for place in joint if len(joint) > 1 else ():
                    rest = [other for other in joint if other != place]
                    yield Mistake(f"loose {box}: {self._words(place)}", tuple(pairwise(rest)), tuple(pairwise(joint)))

    def _pieces(self, state: State, edges: Sequence[Edge]) -> npt.NDArray[np.int32]:
        closed = [edge for device, sides in self._contacts.items() for edge in sides[state.get(device, 0)]]
        rows, columns = np.array([*edges, *closed], dtype=int).T
        graph = coo_matrix((np.ones(len(rows)), (rows, columns)), shape=(len(self._number),) * 2)
        pieces: npt.NDArray[np.int32] = connected_components(graph, directed=False)[1]
        return pieces

    def _places(self, box: str, words: str) -> list[int]:
        found = []
        for one in words.removesuffix(", held together").split(" and "):
            name, _, owner = one.rpartition(" of ")
            node: Node = (one.removeprefix("box "), "box") if not owner or not name else (owner, name)
            found.append(self._number[(box, owner, name) if owner in self._cables else node])
        return found

    def _words(self, place: int) -> str:
        return " ".join(self._name[place][-2:])

    def _of(self, node: Node) -> int:
        return self._number.setdefault(node, len(self._number))


def states(row: DeadTest) -> list[State]:
    """
    Positions that a row's words ask for; what they do not name is at rest.

    Controls, apart by "; ", are turned one after the other, unless the row says each way of one with each of others.
    """
    ways = [list(_ways(part)) for part in row.positions.split("; ")]
    fixed = {name: at for own in ways if len(own) == 1 for name, at in own[0].items()}
    turned = [own for own in ways if len(own) > 1]
    if "each way of one control with each way of the others" in row.why:
        return [{**fixed, **{name: at for way in chosen for name, at in way.items()}} for chosen in product(*turned)]
    return [{**fixed, **way} for own in turned for way in own] or [fixed]


def _ways(part: str) -> Iterator[State]:
    if part == "any":
        yield {}
    elif match := re.fullmatch(r"(.+) in all (\d+) ways", part):
        names = re.split(r", | and ", match[1])
        assert int(match[2]) == 2 ** len(names)
        yield from (dict(zip(names, at, strict=True)) for at in product((0, 1), repeat=len(names)))
    elif match := re.fullmatch(r"(.+): all in position 1, then each alone in position 2", part):
        names = re.split(r", | and ", match[1])
        yield from (dict.fromkeys(names, 0) | ({one: 1} if one else {}) for one in ("", *names))
    elif match := re.fullmatch(r"(\S+) down and up", part):
        yield from ({match[1]: 0}, {match[1]: 1})
    else:
        said = (one.split(" ", 1) for one in part.split(", "))
        yield {name: POSITIONS[position] for name, position in said}
