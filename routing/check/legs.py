"""The legs of all cables as arrays: each between two points of a cable, in the axes of what it says it runs in."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from barnloom.model.building import Assembly, Member, Role
from barnloom.routing.check.finding import SAME_IN, Finding, Site
from barnloom.routing.check.shapes import Floats, Frames, Ints, assembly_axes, member_axes
from barnloom.routing.plan import Bore

FACES = ("+across", "+bit", "-across", "-bit")


@dataclass(frozen=True, slots=True)
class Track:
    """What one leg says it runs in: a bay of an assembly, a face of a member, a board, or a bore through a member."""

    assembly: Assembly | None = None
    member: Member | None = None
    face: str = ""
    bore: Bore | None = None

    @property
    def host(self) -> Assembly | Member:
        """What its axes are those of."""
        host = self.assembly or self.member
        assert host is not None
        return host

    @property
    def wall(self) -> str:
        """Id of the assembly that it is in, or that its member is framed into."""
        return self.assembly.id if self.assembly else self.member.assembly if self.member else ""


@dataclass(frozen=True, eq=False, slots=True)
class Legs:
    """All legs, cable after cable.

    ``cable`` (n,) is the cable's place in the plan, ``number`` (n,) the leg's in its cable; ``start``, ``end`` (n, 3)
    are in the world, ``local_start``, ``local_end`` in the axes of the leg's host, ``frames`` (of all n legs) those
    axes.
    """

    cable: Ints
    number: Ints
    tracks: tuple[Track, ...]
    start: Floats
    end: Floats
    local_start: Floats
    local_end: Floats
    frames: Frames
    length: Floats

    def __len__(self) -> int:
        return len(self.tracks)

    @property
    def steps(self) -> Floats:
        """How far each goes along each axis of its host, (n, 3)."""
        result: Floats = self.local_end - self.local_start
        return result

    def low(self) -> Floats:
        """Lower end of each leg along each axis of its host, (n, 3)."""
        result: Floats = np.minimum(self.local_start, self.local_end)
        return result

    def high(self) -> Floats:
        """Upper end of each leg along each axis of its host, (n, 3)."""
        result: Floats = np.maximum(self.local_start, self.local_end)
        return result


def track_of(said: str, site: Site) -> Track | None:
    """Read a track's name; None if there is no such thing."""
    word, _, rest = said.rpartition(" ")
    if word == "bore":
        bore = site.bores.get(rest)
        member = site.members.get(bore.member) if bore else None
        return Track(member=member, bore=bore) if bore and member else None
    if said in site.assemblies:
        return Track(assembly=site.assemblies[said])
    member = site.members.get(word or said)
    if member is None or (rest not in FACES if word else member.role is not Role.BOARD):
        return None
    return Track(member=member, face=rest if word else "")


def legs_of(site: Site) -> tuple[Legs, list[Finding]]:
    """Return the legs of every cable whose points and tracks can be read, and what is wrong with the others."""
    findings: list[Finding] = []
    points: list[tuple[tuple[float, float, float], tuple[float, float, float]]] = []
    cables: list[int] = []
    numbers: list[int] = []
    tracks: list[Track] = []
    for index, cable in enumerate(site.plan.cables):
        if len(cable.points) < 2 or len(cable.tracks) != len(cable.points) - 1:
            words = f"{len(cable.points)} points and {len(cable.tracks)} tracks; each leg between two points needs one"
            findings.append(Finding("run.track", cable.id, words))
            continue
        read = [track_of(said, site) for said in cable.tracks]
        unknown = [said for said, track in zip(cable.tracks, read, strict=True) if track is None]
        if unknown:
            findings.append(Finding("run.track", cable.id, f"it runs in {', '.join(unknown)}, which is not there"))
            continue
        for number, (track, start, end) in enumerate(zip(read, cable.points[:-1], cable.points[1:], strict=True)):
            assert track is not None
            points.append((start, end))
            cables.append(index)
            numbers.append(number)
            tracks.append(track)
    return _arrays(points, cables, numbers, tracks), findings


def _arrays(
    points: list[tuple[tuple[float, float, float], tuple[float, float, float]]],
    cables: list[int],
    numbers: list[int],
    tracks: list[Track],
) -> Legs:
    ends = np.array(points, dtype=np.float64).reshape(-1, 2, 3)
    hosts = [track.host for track in tracks]
    axes = [assembly_axes(host) if isinstance(host, Assembly) else member_axes(host) for host in hosts]
    frames = Frames(
        np.array([host.origin for host in hosts], dtype=np.float64).reshape(-1, 3),
        np.array(axes, dtype=np.float64).reshape(-1, 3, 3),
    )
    every = np.arange(len(tracks))
    return Legs(
        cable=np.array(cables, dtype=np.int64),
        number=np.array(numbers, dtype=np.int64),
        tracks=tuple(tracks),
        start=ends[:, 0],
        end=ends[:, 1],
        local_start=frames.local(every, ends[:, 0]),
        local_end=frames.local(every, ends[:, 1]),
        frames=frames,
        length=np.sqrt(np.sum((ends[:, 1] - ends[:, 0]) ** 2, axis=1)),
    )


def skew(legs: Legs) -> Ints:
    """Return the legs that go along more than one axis of their host at once."""
    result: Ints = np.flatnonzero(np.sum(np.abs(legs.steps) > SAME_IN, axis=1) > 1)
    return result
