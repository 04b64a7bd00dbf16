"""A small sound scene for tests, and edits of it that carry their own place."""

from __future__ import annotations

from pathlib import Path

from barnloom.model.errors import Fault, SceneError
from barnloom.model.scene.read import SceneFile, read_text

SHED = """\
# a pump house
barnloom: 1
title: Pump house
about: {use: pumps, owner: nobody yet}
storeys:
  G: {floor: 0}
  UP: {floor: 8' 10"}
walls:
  SOUTH:
    start: [0, 0]
    heading: east
    length: 12'      # outside
    height: 8'
    section: 2x4
    studs: {every: 16"}
    openings:
      D1: {at: 3', width: 38", top: 6' 10", door: {hinge: start}}
  EAST:
    start: [12', 0]
    heading: north
    length: 10'
    height: 8'
    section: 2x4
    studs: {at: [0, 17", 2' 9-1/4", 4', 5' 2", 9' 10-1/2"]}
floors:
  LOFT:
    carries: UP
    corner: [0, 0]
    size: [12', 10']
    joists: {section: 2x8, every: 16", run: depth}
timbers:
  POST: {role: post, from: [6', 5', 0], to: [6', 5', 8'], section: 6" x 6"}
boxes:
  PANEL: {kind: panel, wall: EAST, along: 3' 6", height: 5'}
  S1: {circuit: LIGHTS, wall: SOUTH, along: 8', height: 48"}
  L1: {circuit: LIGHTS, ceiling: LOFT, at: [4', 5']}
  R1: {circuit: OUTLETS, wall: EAST, along: 7', height: 52"}
  R2: {circuit: OUTLETS, on: POST, along: 4', side: east, fed_from: R1}
circuits:
  LIGHTS: {cable: 14/2}
  OUTLETS: {order: [R1, R2]}
"""

MARK = "§"


def shed(path: str = "shed.yaml") -> SceneFile:
    return read_text(SHED, Path(path))


def faults_of(text: str) -> tuple[Fault, ...]:
    """Faults of a scene's text; none if it is sound."""
    try:
        read_text(text, Path("shed.yaml"))
    except SceneError as err:
        return err.faults
    return ()


def marked(text: str) -> tuple[str, int, int]:
    """Text without its mark, and the line and column at which the mark stood."""
    before, _, after = text.partition(MARK)
    return before + after, before.count("\n") + 1, len(before) - before.rfind("\n")


def edited(old: str, new: str, text: str = SHED) -> str:
    """The sample with one piece of it changed; the piece must be there once."""
    assert text.count(old) == 1, (old, text.count(old))
    return text.replace(old, new)
