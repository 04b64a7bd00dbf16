"""Which box feeds which: one tree a circuit from its panel, with what the scene has fixed; ids for one thing each."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator

from barnloom.model.building import CableType, Circuit
from barnloom.model.wiring import DeviceKind
from barnloom.routing.check.finding import Finding, Site
from barnloom.routing.plan import Cable

TWIN = "/2"
"""How the id ends of the second of two cables in place of a larger one, which the scene has to allow."""


def tree_findings(site: Site) -> Iterator[Finding]:
    """Return what is wrong with the circuits' trees, with pins and rules, with ids and the boxes left out."""
    yield from _ids(site)
    by_circuit: dict[str, list[Cable]] = defaultdict(list)
    for cable in site.plan.cables:
        for name in cable.circuit.split():
            by_circuit[name].append(cable)
        yield from _cable(cable, site)
    for circuit in site.plan.building.circuits:
        yield from _tree(circuit, by_circuit[circuit.id], site)
        yield from _fed_first(circuit, by_circuit[circuit.id], site)
    yield from _crowded_boxes(site)
    yield from _unreached(by_circuit, site)
    yield from _rules(site)


def _ids(site: Site) -> Iterator[Finding]:
    plan = site.plan
    for what, names in (("cables", [c.id for c in plan.cables]), ("bores", [b.id for b in plan.bores])):
        for name, count in Counter(names).items():
            if count > 1:
                yield Finding("id.twice", name, f"{count} {what} have this id")
    for bore in plan.bores:
        if not bore.existing and not bore.id.startswith(f"{bore.member}."):
            yield Finding("id.bore", bore.id, f"a new hole's id begins with its member's, {bore.member}.")


def _cable(cable: Cable, site: Site) -> Iterator[Finding]:
    names = cable.circuit.split()
    if not names or any(name not in site.circuits for name in names):
        yield Finding("cable.circuit", cable.id, f"its circuit {cable.circuit!r} is not there")
        return
    if cable.id.removesuffix(TWIN if site.plan.building.wiring.two_cables else "") not in {
        f"{name}.{cable.to_box}" for name in names
    }:
        yield Finding(
            "id.cable", cable.id, f"the id of a cable is its circuit's and its far box's, {names[0]}.{cable.to_box}"
        )
    kind = site.types.get(cable.type)
    if kind is None:
        yield Finding("cable.type", cable.id, f"there is no cable {cable.type!r}")
        return
    rules = {rule.cable: rule.type for rule in site.plan.building.cable_rules if rule.type}
    said = [rules.get(cable.id) or site.circuits[name].cable for name in names]
    if not any(_is_said(kind, site.types.get(name), pinned=cable.id in rules) for name in said):
        words = f"{cable.type}, but {cable.circuit} is pulled in {' or '.join(sorted(filter(None, said)))}"
        yield Finding("cable.type", cable.id, words)


def _is_said(kind: CableType, said: CableType | None, *, pinned: bool) -> bool:
    """Whether a cable is what the scene says: just that one where it is pinned by its id, else one like it or more."""
    if said is None or kind.id == said.id:
        return True
    alike = (kind.family, kind.awg) == (said.family, said.awg) and kind.awg > 0
    return alike and kind.conductors > said.conductors and not pinned


def _tree(circuit: Circuit, cables: list[Cable], site: Site) -> Iterator[Finding]:
    boxes = set(circuit.boxes)
    fixed = {rule.cable: rule.from_box for rule in site.plan.building.cable_rules}
    feeds: dict[str, list[str]] = defaultdict(list)
    fed: Counter[str] = Counter()
    for cable in cables:
        if not cable.id.endswith(TWIN):  # the second of two cables side by side
            feeds[cable.from_box].append(cable.to_box)
            fed[cable.to_box] += 1
        for end in (cable.from_box, cable.to_box):
            if end not in boxes and end != circuit.panel:
                yield Finding("tree.stranger", cable.id, f"{end} is no box of circuit {circuit.id}")
        if cable.to_box == circuit.panel:
            yield Finding("tree.root", cable.id, f"it feeds the panel {circuit.panel}; from is the panel's side")
        said = site.boxes[cable.to_box].fed_from if cable.to_box in site.boxes else ""
        pin = fixed.get(cable.id.removesuffix(TWIN), "") or said
        if pin and pin != cable.from_box and (pin in boxes or pin == circuit.panel):
            words = f"the scene feeds {cable.to_box} from {pin}, not from {cable.from_box}"
            lost = pin in site.plan.unreached  # what no cable reaches can feed nothing
            yield Finding("tree.pin", cable.id, words, "warning" if lost else "fault")
    for name, count in sorted(fed.items()):
        if count > 1:
            yield Finding("tree.twice", circuit.id, f"{name} is fed by {count} cables")
    reached, at = {circuit.panel}, [circuit.panel]
    while at:
        at = [far for near in at for far in feeds[near] if far not in reached]
        reached.update(at)
    for name in sorted((set(fed) | (boxes - set(site.plan.unreached))) - reached):
        yield Finding("tree.apart", circuit.id, f"{name} is not joined to the panel {circuit.panel}")
    yield from _home_runs(circuit, len(feeds[circuit.panel]), len(boxes & reached), site)


def _home_runs(circuit: Circuit, runs: int, reached: int, site: Site) -> Iterator[Finding]:
    if circuit.home_runs is None:
        return
    wanted = min(circuit.home_runs, reached)
    if runs != wanted:
        words = f"{runs} cables leave the panel {circuit.panel}, {wanted} wanted"
        # Fewer may be all that there is a way for, if the plan says so.
        told = runs < wanted and any(text.startswith(f"{circuit.id}: ") for text in site.plan.warnings)
        yield Finding("tree.home_runs", circuit.id, words, "warning" if told else "fault")


def _fed_first(circuit: Circuit, cables: list[Cable], site: Site) -> Iterator[Finding]:
    """Return the controls of lights where power does not come first to what the scene says: switches, or lights."""
    feed_at = site.plan.building.wiring.feed_at
    if not feed_at:
        return
    feeder = {cable.to_box: cable.from_box for cable in cables}
    for control in site.controls.values():
        if control.circuit != circuit.id:
            continue
        switches = {site.devices[name].box for name in control.points}
        lights = {site.devices[name].box for name in control.lights if site.devices[name].kind is DeviceKind.LIGHT}
        first, others = (switches, lights) if feed_at == "switch" else (lights, switches)
        for box in sorted(others) if first else []:
            way = [box]
            while way[-1] in feeder and feeder[way[-1]] not in way:
                way.append(feeder[way[-1]])
            if not first & set(way):
                by = ", ".join(way[1:])
                words = f"{box} of {control.id} is fed by way of {by}; the scene brings power to its {feed_at} first"
                # It may be that nothing else can be, if the plan says so.
                told = any(text.startswith(f"{control.id}: ") for text in site.plan.warnings)
                yield Finding("tree.feed_at", box, words, "warning" if told else "fault")


def _crowded_boxes(site: Site) -> Iterator[Finding]:
    ends = Counter(end for cable in site.plan.cables for end in (cable.from_box, cable.to_box))
    for name, count in sorted(ends.items()):
        box = site.boxes.get(name)
        if box is not None and count > box.cables_max:
            yield Finding("box.cables", name, f"{count} cables enter it, at most {box.cables_max}")


def _unreached(by_circuit: dict[str, list[Cable]], site: Site) -> Iterator[Finding]:
    missing = {
        name
        for circuit in site.plan.building.circuits
        for name in circuit.boxes
        if name not in {cable.to_box for cable in by_circuit[circuit.id]}
    }
    yield from _differ("unreached", missing, site.plan.unreached, "no cable reaches it")
    yield from _differ(
        "unreached_why", set(site.plan.unreached), [why.box for why in site.plan.unreached_why], "no reason"
    )


def _differ(what: str, found: set[str], said: Iterable[str], words: str) -> Iterator[Finding]:
    for name in sorted(found - set(said)):
        yield Finding("plan.unreached", name, f"{words}, yet it is not in {what}")
    for name in sorted(set(said) - found):
        yield Finding("plan.unreached", name, f"it is in {what}, but need not be")


def _rules(site: Site) -> Iterator[Finding]:
    """Return which cables do not keep what the scene fixes about them."""
    cables = {cable.id: cable for cable in site.plan.cables}
    rules = {rule.cable: rule for rule in site.plan.building.cable_rules}
    for name, rule in rules.items():
        cable = cables.get(name)
        if cable is None:
            far = name.partition(".")[2]
            if far not in site.plan.unreached:
                yield Finding("rule.cable", name, "the scene fixes this cable, and the plan does not have it")
            continue
        uses = _members(cable, site)
        at = iter(uses)
        missed = [member for member in rule.through if member not in at]
        if missed:
            yield Finding(
                "rule.through", name, f"the scene sends it through {' '.join(rule.through)}; it uses {' '.join(uses)}"
            )
        if rule.holes is not None and rule.holes != cable.bores:
            words = (
                f"it is pulled through {' '.join(rule.holes) or 'no hole'}; it uses {' '.join(cable.bores) or 'none'}"
            )
            yield Finding("rule.holes", name, words)
        for member in sorted(set(rule.avoid) & set(uses)):
            yield Finding("rule.avoid", name, f"the scene keeps it out of {member}")
    for cable in site.plan.cables:
        fixed = rules.get(cable.id.removesuffix(TWIN))
        done = fixed is not None and fixed.done
        if done != cable.done:
            said, wanted = ("done", "not done") if cable.done else ("not done", "done")
            yield Finding("rule.done", cable.id, f"marked {said}, the scene says {wanted}")


def _members(cable: Cable, site: Site) -> list[str]:
    """Return the members a cable goes through or along, from the panel's side."""
    uses = []
    for track in cable.tracks:
        word, _, rest = track.rpartition(" ")
        if word == "bore" and rest in site.bores:
            uses.append(site.bores[rest].member)
        elif (word or track) in site.members and track not in site.assemblies:
            uses.append(word or track)
    return uses
