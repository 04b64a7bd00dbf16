"""Cables of all circuits over the same tracks: one by one at the prices the others leave, sharing holes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from barnloom.model.building import Building, CableType
from barnloom.routing.layout import Layout, Leg
from barnloom.routing.search import QUANTUM, TIE, Step
from barnloom.routing.slab import Floats

ROUNDS = 3
"""Most times that every cable is routed anew at the prices the others leave."""
LIKELY = 5.0
"""A cable rarely costs more than so many times its feet as the crow flies; where it does, it is looked for farther."""
NEARLY_IN = 24.0
"""Added when it is asked whether a change is too far off to matter: holes beside it, stretches between its nodes."""


def reach(kind: CableType, building: Building, inches: float) -> float:
    """Whole-number price that a cable over such a distance, as the crow flies, is likely to stay below."""
    per_foot = kind.price_ft + building.prices["minute"] * building.prices["pull_ft"]
    return LIKELY * inches / 12 * per_foot / QUANTUM * TIE


def route(layout: Layout, legs: Sequence[Leg]) -> None:
    """Lay every leg, then each anew as long as one gets cheaper (at most ``ROUNDS`` times)."""
    laid(layout, legs).rounds()


def laid(layout: Layout, legs: Sequence[Leg]) -> Watch:
    """Lay every leg once, and watch what that leads to."""
    for leg in legs:
        layout.lay(leg, [])
    # Cables that are in already, or must go a certain way, have the first choice; then the rest as fed.
    return Watch(layout, [leg.id for leg in sorted(legs, key=lambda leg: (not leg.rule.done, not leg.rule.through))])


def again(layout: Layout, order: Sequence[str]) -> None:
    """Look for cheaper ways of legs that are laid, as long as one is found (at most ``ROUNDS`` times more)."""
    Watch(layout, order).rounds()


class Watch:
    """Who has to be routed anew: only a cable near which another has moved since it was last looked for.

    A way over a place costs at least its feet to there and on; if that is more than the cable costs now, what happened
    at the place does not matter to it.
    """

    def __init__(self, layout: Layout, order: Sequence[str]) -> None:
        """Look at some legs that are laid, one after the other."""
        self.layout, self.tracks, self.order = layout, layout.tracks, order
        self.places = {name: np.array(box.at) for name, box in layout.boxes.items()}
        self.moves: list[tuple[str, Floats]] = []
        self.corners = np.empty((0, 2, 3))
        self.since: dict[str, int] = {}
        self.reach_in: dict[str, float] = {}
        for name in order:
            self.look_again(name)

    def rounds(self) -> None:
        """Look at them again, as long as one gets cheaper (at most ``ROUNDS`` times)."""
        for _ in range(ROUNDS):
            if not any([self.look_again(name) for name in self.order if self.news_for(self.layout.legs[name])]):
                break

    def look_again(self, name: str) -> bool:
        """Look for a cheaper way for a leg, and take it; returns whether there was one."""
        leg, known = self.layout.lift(name)
        limit = self.layout.worth(leg, known) if known else np.inf
        total, steps = self.layout.find(leg, limit)
        gains = bool(steps) and total < limit - TIE
        if gains:
            self._moved(leg.id, [*known, *steps])
        self.since[leg.id] = len(self.moves)
        per_foot = reach(leg.kind, self.tracks.building, 12.0) / LIKELY
        self.reach_in[leg.id] = min(total, limit) / per_foot * 12 if per_foot > 0 else np.inf
        self.layout.lay(leg, steps if gains else known)
        return gains

    def news_for(self, leg: Leg) -> bool:
        """Whether something has changed where it may want to go."""
        ends = self.places[leg.from_box], self.places[leg.to_box]
        far, since = self.reach_in[leg.id] + NEARLY_IN, self.since[leg.id]
        low, high = self.corners[since:, 0], self.corners[since:, 1]
        # No place of a move is nearer than the box around all of them.
        least = sum(np.linalg.norm(np.maximum(low - end, end - high).clip(min=0.0), axis=1) for end in ends)
        for number in (since + np.flatnonzero(least < far)).tolist():
            who, spots = self.moves[number]
            way = sum(np.linalg.norm(spots - end, axis=1) for end in ends)
            if who != leg.id and way.min() < far:
                return True
        return False

    def _moved(self, name: str, steps: Sequence[Step]) -> None:
        """Keep in mind where a cable has moved from and to."""
        spots = self.tracks.points(np.unique(np.array(steps)[:, :2]))
        if len(spots):
            self.moves.append((name, spots))
            corners = np.stack([spots.min(axis=0), spots.max(axis=0)])
            self.corners = np.concatenate([self.corners, corners[None]])


def rescue(layout: Layout, lost: Leg, feeders: Sequence[str]) -> None:
    """Try to feed what found no way from another of some boxes: the cheapest one that has."""
    leg, _ = layout.lift(lost.id)
    found: list[tuple[float, str, Leg, list[Step]]] = []
    for box in feeders:
        other = replace(leg, from_box=box)
        total, steps = layout.find(other)
        if steps:
            found.append((total, box, other, steps))
    _, _, leg, steps = min(found, key=lambda one: one[:2], default=(0.0, "", leg, []))
    layout.lay(leg, steps)


def root(layout: Layout, panels: Mapping[str, str]) -> None:
    """Take out the cables that hang on nothing because one nearer to the panel has no path; they count as lost."""
    for circuit, panel in panels.items():
        there = set(layout.feeds(circuit, panel))
        for leg in [leg for leg in layout.legs.values() if leg.circuit == circuit and leg.id in layout.paths]:
            if (leg.from_box, leg.to_box) not in there:
                layout.lift(leg.id)
                layout.lay(leg, [])
