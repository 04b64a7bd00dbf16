"""Questions with their answers, kept or assumed, and what they come to for the wiring."""

from __future__ import annotations

from barnloom.model.building import EXPOSED_BELOW_IN, Answer
from barnloom.model.lengths import format_length
from barnloom.model.scene.schema import Kept, KeptAnswer, Scene
from barnloom.model.wiring import WiringRules

QUESTIONS = {
    "exposed": "is cable in sight accepted in unlined walls within reach?",
    "lining": "do walls get a lining (where a wall does not say)?",
    "insulated": "is the building insulated, or will it be?",
    "plain_cable": "is plain sheathed cable (NM-B) allowed in this kind of building?",
    "dwelling": "does anybody sleep or live here?",
    "surroundings": "what do cables and boxes live in?",
    "bundled": "do cables that run beside each other for over 24 in, untied and without spacing, count as a bundle?",
    "switch_neutral": "must there be a neutral at every switch?",
    "hardwired_ground_fault": "must what is wired up directly be protected against ground faults?",
}
STRICTER = {
    "exposed": "covered",
    "lining": "none",
    "insulated": "yes",
    "plain_cable": "no",
    "dwelling": "yes",
    "surroundings": "damp",
    "bundled": "yes",
    "switch_neutral": "yes",
    "hardwired_ground_fault": "yes",
}
"""Answer that is planned where none is kept."""


def answered(scene: Scene, question: str) -> str:
    """Return the answer kept to a question, else the stricter reading (dry where plain cable is allowed)."""
    word = scene.answers.word(question)
    if word is None and question == "surroundings" and scene.answers.word("plain_cable") in ("yes", "concealed"):
        return "dry"
    return word or STRICTER[question]


def exposed_below(scene: Scene) -> float:
    """Return the height over the floor (inches) below which the answer about cable in sight holds."""
    said = scene.answers.exposed
    return said.below if isinstance(said, KeptAnswer) and said.below is not None else EXPOSED_BELOW_IN


def answers(scene: Scene) -> tuple[Answer, ...]:
    """Return every question that changes the plan, answered or assumed."""
    height = format_length(exposed_below(scene), metric=scene.units == "metric")
    kept = {question: getattr(scene.answers, question) for question in QUESTIONS}
    return tuple(
        Answer(
            question=f"{question}: {words}",
            answer=answered(scene, question),
            assumed=kept[question] is None,
            detail=f"below {height} over the floor" if question == "exposed" else "",
            who=kept[question].who if isinstance(kept[question], Kept) else "",
            when=kept[question].when if isinstance(kept[question], Kept) else "",
        )
        for question, words in QUESTIONS.items()
    )


def wiring_rules(scene: Scene) -> WiringRules:
    """Return what answers come to: plain cable only where it is allowed and dry; and what the scene allows."""
    plain, around = answered(scene, "plain_cable"), answered(scene, "surroundings")
    phases = [said.phase for said in scene.circuits.values()]
    phases += [box.phase for box in scene.boxes.values() if box.phase is not None]
    return WiringRules(
        family="NM-B" if plain != "no" and around == "dry" else "UF-B",
        plain_cable=plain,
        dwelling=answered(scene, "dwelling") == "yes",
        surroundings=around,
        bundled=answered(scene, "bundled") == "yes",
        switch_neutral=answered(scene, "switch_neutral") == "yes",
        hardwired_ground_fault=answered(scene, "hardwired_ground_fault") == "yes",
        two_cables=scene.wiring.two_cables,
        drop_share=scene.wiring.drop or 0.0,
        phases=any(phase > 1 for phase in phases),
        feed_at=scene.wiring.feed_at or "",
    )
