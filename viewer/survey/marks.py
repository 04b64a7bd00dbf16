"""How a sheet says that something is known, missing, assumed, or does not close: by signs, never by colour."""

from __future__ import annotations

from collections.abc import Sequence

from barnloom.model.scene.text import Where
from barnloom.model.survey.finding import Finding
from barnloom.model.survey.survey import Survey

FILL_IN, OPEN, ASSUMED = "\N{BLACK RIGHT-POINTING POINTER}", "\N{BLACK UP-POINTING TRIANGLE}", "*"
LEGEND = f"{FILL_IN} fill in · {OPEN} does not close, see its number · {ASSUMED} assumed, measure"


class Marks:
    """Marks of one survey; on blank sheets there are none, for all of it is to be filled in."""

    def __init__(self, survey: Survey, *, blank: bool) -> None:
        self.blank = blank
        self._findings = survey.findings
        self._number = {id(finding): number for number, finding in enumerate(survey.findings, start=1)}

    def number(self, finding: Finding) -> int:
        """Number of a finding, as on the list of all."""
        return self._number[id(finding)]

    def sign(self, finding: Finding) -> str:
        """Sign and number: "▲ 3"."""
        sign = {"missing": FILL_IN, "unsaid": FILL_IN, "assumed": ASSUMED}.get(finding.kind, OPEN)
        return f"{sign} {self.number(finding)}"

    def cell(self, where: Where, words: str, *, assumed: bool = False) -> str:
        """What a cell shows: the value, or a sign to fill it in, with a sign for what does not close."""
        if self.blank:
            return words
        signs = [self.sign(one) for one in self._findings if one.where == where and one.kind != "assumed"]
        if not words:
            return " ".join(signs) or FILL_IN
        return " ".join([words + (f" {ASSUMED}" if assumed else ""), *signs])

    def of(self, findings: Sequence[Finding]) -> str:
        """Signs of some findings."""
        return "" if self.blank else " ".join(self.sign(finding) for finding in findings if finding.kind != "assumed")
