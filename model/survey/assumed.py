"""What a scene takes for granted where somebody could measure: regular spacings, sizes by name, defaults."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Any

from barnloom.model.framing.floors import PLATE_IN
from barnloom.model.scene.schema import Opening, Section
from barnloom.model.scene.text import Where
from barnloom.model.survey.asking import asked
from barnloom.model.survey.finding import Finding
from barnloom.model.survey.parts import FloorPart, Row, Said, Site, WallPart


def assumed_findings(site: Site) -> Iterator[Finding]:
    """Yield what is assumed; the same assumption of several parts is one finding."""
    yield from _spacings(site)
    yield from _sections(site)
    yield from _walls(site)
    yield from _floors(site)


def _spacings(site: Site) -> Iterator[Finding]:
    by_spacing: dict[tuple[str, float], list[Row]] = defaultdict(list)
    for row in site.rows:
        if row.key == "every" and row.every is not None:
            by_spacing[row.one, row.every].append(row)
    for (one, every), same in by_spacing.items():
        yield _one(
            site,
            [(*row.where, "every") for row in same],
            f"{one}s every {site.text(every)}, the first flush at the hooked end and the last at the other",
            f"hook at {same[0].hook} and read off the near side of every {one}, the tape left alone"
            + ("; then the same at the others" if len(same) > 1 else ""),
        )


def _sections(site: Site) -> Iterator[Finding]:
    by_name: dict[str, list[Where]] = defaultdict(list)
    for where, section in _all_sections(site.half.values, ()):
        if "dressed" in section.said:
            by_name[section.said].append(where)
    for said, places in by_name.items():
        yield _one(site, places, f"{said}, by its name", asked(site, places[0], "its breadth and depth"))


def _all_sections(values: Any, where: Where) -> Iterator[tuple[Where, Section]]:
    if isinstance(values, Section):
        yield where, values
    elif isinstance(values, Mapping):
        for key, inner in values.items():
            yield from _all_sections(inner, (*where, key))
    elif isinstance(values, (list, tuple)):
        for number, inner in enumerate(values):
            yield from _all_sections(inner, (*where, number))


def _walls(site: Site) -> Iterator[Finding]:
    walls = site.walls.values()
    told: tuple[tuple[str, str, Callable[[WallPart], bool], str], ...] = (
        ("top_plates", "2 top plates", lambda wall: True, "look at wall {id} and count the plates over its studs"),
        ("sole_plates", "1 sole plate", lambda wall: True, "look at wall {id} and count the plates under its studs"),
        ("bearing", "it carries a floor or roof", lambda wall: wall.bearing != "yes", "look what stands on wall {id}"),
    )
    for key, words, asks, measure in told:
        silent = [wall.id for wall in walls if not Said(site.half.value("walls", wall.id)).says(key) and asks(wall)]
        if silent:
            yield _one(site, [("walls", name, key) for name in silent], words, measure.format(id=silent[0]))
    openings = [(wall.id, name, Said(keys)) for wall in walls for name, keys in wall.openings.items()]
    for key, one in (("kings", "stud of full height"), ("jacks", "short stud under the header")):
        sides = [("walls", wall, "openings", name, key) for wall, name, said in openings if not said.says(key)]
        if sides:
            words = f"{Opening.model_fields[key].default} {one} on each side of the opening"
            yield _one(site, sides, words, f"at {sides[0][3]} of wall {sides[0][1]}, count each {one}")
    heads = [("walls", wall, "openings", name, "header") for wall, name, said in openings if not said.says("header")]
    if heads:
        words = "a header of the largest size that fits, never bored"
        yield _one(
            site, heads, words, f"measure the header over {heads[0][3]} of wall {heads[0][1]}: plies, breadth, depth"
        )


def _floors(site: Site) -> Iterator[Finding]:
    floors = site.floors.values()

    def silent(key: str, only: Callable[[FloorPart], bool] = lambda floor: True) -> list[Where]:
        return [
            ("floors", floor.id, key)
            for floor in floors
            if not Said(site.half.value("floors", floor.id)).says(key) and only(floor)
        ]

    if places := silent("bearings"):
        words = f"joists bear on {site.text(PLATE_IN)} of plate at both ends"
        yield _one(site, places, words, f"at {_of(places[0])}, measure what each end of joist 1 bears on, and how much")
    if places := silent("rims"):
        yield _one(site, places, "a rim joist across both ends", f"look at the ends of the joists of {_of(places[0])}")
    if places := silent("subfloor", lambda floor: bool(floor.carries)):
        yield _one(
            site, places, "no boards on the joists", f"measure how thick the boards on {_of(places[0])} are, at a gap"
        )


def _one(site: Site, places: Iterable[Where], words: str, measure: str) -> Finding:
    where, *others = places
    return site.found(
        where, words, "", measure, kind="assumed", also=[(str(one[0]), str(one[1])) for one in others if len(one) > 1]
    )


def _of(where: Where) -> str:
    return str(where[1]) if len(where) > 1 else str(where[0])
