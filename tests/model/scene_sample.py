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

WIRED = """\
# the pump house, and what its boxes do
barnloom: 1
title: Pump house
storeys:
  G: {floor: 0}
answers: {lining: none}
walls:
  SOUTH: {start: [0, 0], heading: east, length: 30', height: 8', section: 2x4, studs: {every: 16"}}
  EAST: {start: [30', 0], heading: north, length: 10', height: 8', section: 2x4, studs: {every: 16"}}
floors:
  CEILING: {bottom: 8', corner: [0, 0], size: [30', 10'], joists: {section: 2x8, every: 16", run: depth}}
boxes:
  PANEL: {kind: panel, wall: EAST, along: 3' 4", height: 5',
    panel: {spaces: 8, used: [1], tandem: [7], sizes: [15, 20, 30, 50]}}
  S1: {circuit: LIGHTS, device: switch, wall: SOUTH, along: 2', height: 48"}
  S2: {circuit: LIGHTS, device: [switch, switch], box: square-4, wall: SOUTH, along: 3' 4", height: 48"}
  L1: {circuit: LIGHTS, device: light, ceiling: CEILING, at: [2', 5']}
  L2: {circuit: LIGHTS, device: {kind: light, watts: 60}, ceiling: CEILING, at: [4' 8", 5']}
  L4: {circuit: LIGHTS, device: light, ceiling: CEILING, at: [12' 8", 5']}
  L3: {circuit: LIGHTS, device: {kind: light, switched: no}, ceiling: CEILING, at: [7' 4", 5']}
  A1: {circuit: LIGHTS, device: {kind: alarm, detects: smoke}, ceiling: CEILING, at: [10', 5']}
  R1: {circuit: OUTLETS, device: {kind: receptacle, ground_fault: yes}, wall: SOUTH, along: 6', height: 48"}
  R2: {circuit: OUTLETS, device: [{kind: receptacle, half: yes}, switch], wall: SOUTH, along: 8' 8", height: 48"}
  R3: {circuit: OUTLETS, device: {kind: receptacle, watts: 40, linked: 4, linked_most: 6}, wall: SOUTH, along: 10',
    height: 80"}
  J1: {circuit: [OUTLETS, LIGHTS], shared: yes, device: receptacle, wall: SOUTH, along: 11' 4", height: 48"}
  SAW: {circuit: SAW, device: {kind: machine, volts: 240, hp: 3, protected: yes, with: [DUST]}, wall: SOUTH, along: 14',
    height: 18"}
  DUST: {circuit: plan it, device: {kind: receptacle, amps: 12}, wall: SOUTH, along: 15' 4", height: 48"}
  HEAT: {circuit: HEAT, device: {kind: heater, volts: 240, watts: 4000}, wall: SOUTH, along: 16' 8", height: 18"}
  M1: {circuit: PAIR, device: {kind: receptacle, leg: 1}, wall: SOUTH, along: 18', height: 48"}
  M2: {circuit: PAIR, device: {kind: receptacle, leg: 2}, wall: SOUTH, along: 19' 4", height: 48"}
  ONE: {circuit: ONE, device: {kind: receptacle, single: yes, rating: 20}, wall: SOUTH, along: 20' 8", height: 48"}
  END: {kind: stub, circuit: OUTLETS, wall: SOUTH, along: 22', height: 48"}
controls:
  DOOR: {lights: [L1], points: [S1]}
  ROW: {lights: [L2], points: [S2]}
  YARD: {lights: [L4], points: [S2]}
  LAMP: {lights: [R2], points: [R2]}
circuits:
  LIGHTS: {breaker: 15, awg: 14}
  OUTLETS: {breaker: 20, awg: 12}
  SAW: {breaker: 50, awg: 12, motor_breaker: yes, because: the electrician who set it}
  HEAT: {breaker: 30, cable: 10/2}
  PAIR: {multiwire: yes, cable: 12/3}
  ONE: {breaker: 20, ground_fault: breaker}
supply: {from: the house, breaker: 60, awg: 6, wires: 4, length: 85', method: buried, family: UF-B}
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
