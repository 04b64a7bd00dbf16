"""The electrical half of the check: joints, the wiring switched through, box fill, circuits."""

from __future__ import annotations

from collections.abc import Iterator

from barnloom.routing.check.circuits import circuit_findings, drop_findings
from barnloom.routing.check.fills import fill_findings
from barnloom.routing.check.finding import Finding, Site, wired
from barnloom.routing.check.joints import joint_findings
from barnloom.routing.check.metal import metal_of
from barnloom.routing.check.simulate import Simulation


def electrical_findings(site: Site) -> Iterator[Finding]:
    """Return what is wrong with the wiring of a plan; nothing of one that has neither devices nor boxes made up."""
    if not wired(site):
        return
    metal = metal_of(site)
    simulation = Simulation(site, metal)
    found = (*joint_findings(site, metal), *simulation.findings)
    yield from found
    yield from fill_findings(site)
    yield from circuit_findings(site, metal)
    if not found:  # currents mean something only where all is joined as it should be
        yield from drop_findings(site, simulation.amps)
