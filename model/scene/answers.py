"""Questions to the inspector, the owner or oneself, and their answers, kept with who gave them and when.

``schema`` is where to import from.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Tag

from barnloom.model.scene.framing import Lining, Said
from barnloom.model.scene.values import KEYS, WORD, OfShape, OnWall, Words

Exposed = Literal["free", "drops", "covered", "never"]
Insulated = Literal["yes", "no", "later"]
PlainCable = Literal["yes", "concealed", "no"]
Surroundings = Literal["dry", "damp", "livestock"]
YesOrNo = Literal["yes", "no"]


class Kept(Said):
    """A question answered: by whom and when, so that it can be shown."""

    answer: str
    """The answer."""
    who: Words = ""
    """Who answered: the inspector's office, say."""
    when: Words = ""
    """When: 2026-05-04."""


class KeptAnswer(Kept):
    """What is accepted for cable in sight."""

    answer: Exposed
    """free; drops (vertical only); covered (vertical, and covered); never."""
    below: OnWall | None = None
    """Height over the floor below which the answer holds."""


class KeptLining(Kept):
    """Whether walls get a lining."""

    answer: Lining
    """now, later or none."""


class KeptInsulated(Kept):
    """Whether the building is or will be insulated."""

    answer: Insulated
    """yes, no or later."""


class KeptPlainCable(Kept):
    """Whether plain sheathed cable is allowed."""

    answer: PlainCable
    """yes; concealed (behind a lining); no."""


class KeptSurroundings(Kept):
    """What cables and boxes live in."""

    answer: Surroundings
    """dry, damp or livestock."""


class KeptYesNo(Kept):
    """A question of yes or no."""

    answer: YesOrNo
    """yes or no."""


AskedYesNo = Annotated[Annotated[KeptYesNo, Tag(KEYS)] | Annotated[YesOrNo, Tag(WORD)], OfShape]


class Answers(Said):
    """Questions whose answers change the plan. Leave one out and the stricter reading is planned and printed."""

    exposed: Annotated[Annotated[KeptAnswer, Tag(KEYS)] | Annotated[Exposed, Tag(WORD)], OfShape] | None = None
    """Cable in sight in an unlined wall below a height: free; drops (vertical but where cables fan out from a box);
    covered (the same, and covered); never."""
    lining: Annotated[Annotated[KeptLining, Tag(KEYS)] | Annotated[Lining, Tag(WORD)], OfShape] | None = None
    """Whether walls get a lining: now, later or none. A wall can say otherwise."""
    insulated: Annotated[Annotated[KeptInsulated, Tag(KEYS)] | Annotated[Insulated, Tag(WORD)], OfShape] | None = None
    """Whether the building is or will be insulated."""
    plain_cable: Annotated[Annotated[KeptPlainCable, Tag(KEYS)] | Annotated[PlainCable, Tag(WORD)], OfShape] | None = (
        None
    )
    """Whether plain sheathed cable (NM-B) is allowed in this kind of building: yes; concealed (behind a lining); no."""
    dwelling: AskedYesNo | None = None
    """Whether anybody sleeps or lives here."""
    surroundings: (
        Annotated[Annotated[KeptSurroundings, Tag(KEYS)] | Annotated[Surroundings, Tag(WORD)], OfShape] | None
    ) = None
    """What cables and boxes live in: dry, damp or livestock."""
    bundled: AskedYesNo | None = None
    """Whether cables that run beside each other for over 24 in, untied and without spacing, count as a bundle."""
    switch_neutral: AskedYesNo | None = None
    """Whether there must be a neutral at every switch."""
    hardwired_ground_fault: AskedYesNo | None = None
    """Whether what is wired up directly must be protected against ground faults."""

    def word(self, question: str) -> str | None:
        """Return the answer to a question in a word; None if there is none."""
        said = getattr(self, question)
        return said.answer if isinstance(said, Kept) else said
