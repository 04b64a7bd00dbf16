"""What stands on the page, under which anchor and in which order: members, holes, boxes and cables, as one walks."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from barnloom.model.building import Box, Member
from barnloom.routing.plan import Bore, Cable, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer.drawings.members import stick_numbers
from barnloom.viewer.page.markup import Markup, element
from barnloom.viewer.paths import Framing, framing
from barnloom.viewer.pulling import pull_order


@dataclass(frozen=True, slots=True, kw_only=True)
class Index:
    """A plan in the order of the page's cards, with an anchor for each thing by its id."""

    plan: Plan
    names: Framing
    bored: tuple[Member, ...]
    """Members with holes of the plan, in the order in which they are met."""
    unbored: tuple[Member, ...]
    """The others, in order of id."""
    bores: Mapping[str, tuple[Bore, ...]]
    """By member, in the order in which they stand along it."""
    boxes: tuple[Box, ...]
    """Panels first, then by storey, wall or ceiling, and along each."""
    cables: tuple[Cable, ...]
    """In pulling order; those that are pulled already last."""
    sticks: Mapping[str, int]
    """By hole to bore, the number of its drill stick."""
    anchors: Mapping[tuple[str, str], str]
    """By kind ("member", "hole", "box", "cable") and id. They are numbers, so that no id has to be one in HTML."""

    def link(self, kind: str, name: str) -> Markup:
        """A link to a thing's card; its name alone where the plan has no such thing."""
        anchor = self.anchors.get((kind, name))
        return element("a", {"href": f"#{anchor}"}, name) if anchor else element("span", None, name)


def index(plan: Plan) -> Index:
    """Put a plan in the order of the page."""
    building = plan.building
    members = {member.id: member for member in building.members}
    bores: dict[str, list[Bore]] = {}
    for bore in plan.bores:
        bores.setdefault(bore.member, []).append(bore)
    bored = tuple(members[name] for name in bores if name in members)
    unbored = sorted((m for m in building.members if m.id not in bores), key=lambda member: natural_key(member.id))
    levels = {storey.id: storey.floor_in for storey in building.storeys}
    boxes = sorted(
        building.boxes,
        key=lambda box: (
            box.kind != "panel",
            levels.get(box.storey, 0.0),
            natural_key(box.host),
            box.u_in,
            natural_key(box.id),
        ),
    )
    order = pull_order(plan)
    pulled = [cable for cable in plan.cables if cable.done]
    cables = (*order, *sorted(pulled, key=lambda cable: natural_key(cable.id)))
    holes = [bore for member in bored for bore in bores[member.id]]
    anchors = {
        (kind, name): f"{kind[0]}{number}"
        for kind, names in (
            ("member", _ids((*bored, *unbored))),
            ("hole", _ids(holes)),
            ("box", _ids(boxes)),
            ("cable", _ids(cables)),
        )
        for number, name in enumerate(names)
    }
    return Index(
        plan=plan,
        names=framing(plan),
        bored=bored,
        unbored=tuple(unbored),
        bores={name: tuple(sorted(own, key=lambda bore: bore.along_in)) for name, own in bores.items()},
        boxes=tuple(boxes),
        cables=cables,
        sticks=stick_numbers(plan),
        anchors=anchors,
    )


def _ids(things: Iterable[Member | Bore | Box | Cable]) -> list[str]:
    return [thing.id for thing in things]
