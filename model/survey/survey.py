"""A survey of a scene, half filled in or whole: everything there is to settle, what stops planning first."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from barnloom.model.building import Building
from barnloom.model.errors import Fault, SceneError
from barnloom.model.scene.half import HalfScene, read_half
from barnloom.model.survey.asking import missing_findings
from barnloom.model.survey.assumed import assumed_findings
from barnloom.model.survey.finding import KINDS, Finding, Kind
from barnloom.model.survey.levels import level_findings
from barnloom.model.survey.outline import outline_findings
from barnloom.model.survey.parts import Site
from barnloom.model.survey.rows import row_findings

_PARTS = ("storeys", "walls", "floors", "roofs", "timbers", "measured", "members", "boards", "keep_clear", "supply")


@dataclass(frozen=True, slots=True, kw_only=True)
class Survey:
    """What a scene says so far, and what is left to settle."""

    path: Path
    title: str
    metric: bool
    site: Site
    findings: tuple[Finding, ...]
    """What stops planning first."""
    building: Building | None
    """The building, if the scene is whole and one can be built of it."""

    def of(self, part: str, name: str) -> tuple[Finding, ...]:
        """Findings about one part."""
        return tuple(finding for finding in self.findings if (part, name) in finding.parts)


def survey(path: Path) -> Survey:
    """
    Survey a scene file that may have gaps.

    Parameters
    ----------
    path : Path
        A scene in which ``?``, an empty value or an absent key says that something is not known yet.

    Raises
    ------
    SceneError
        If the file cannot be read, or is no YAML.
    """
    return survey_of(read_half(path))


def survey_of(half: HalfScene) -> Survey:
    """Survey a half-filled scene that is in memory."""
    site = Site(half)
    told = [*outline_findings(site), *row_findings(site), *level_findings(site)]
    findings = [*missing_findings(site), *told, *assumed_findings(site)]
    building, kind, faults = _built(half)
    findings += [
        site.found(fault.where, fault.found, fault.expected, fault.do, kind=kind)
        for fault in faults
        if not any(fault.where == one.where[: len(fault.where)] for one in told if fault.where)
    ]
    title = half.value("title")
    return Survey(
        path=half.path,
        title=title if isinstance(title, str) else half.path.stem,
        metric=site.metric,
        site=site,
        findings=tuple(sorted(findings, key=_rank)),
        building=building,
    )


def _built(half: HalfScene) -> tuple[Building | None, Kind, tuple[Fault, ...]]:
    """The building, or what is wrong with the file, or with what it describes."""
    if half.scene is None:
        return None, "unsound", half.faults
    from barnloom.model.framing.house import build

    try:
        return build(half.scene.scene), "unbuilt", ()
    except SceneError as err:
        return None, "unbuilt", err.faults


def _rank(finding: Finding) -> tuple[int, int, float, int, str]:
    part = str(finding.where[0]) if finding.where else ""
    order = _PARTS.index(part) if part in _PARTS else len(_PARTS)
    return list(KINDS).index(finding.kind), order, -finding.off_in, finding.line, finding.place
