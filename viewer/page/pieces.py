"""Pieces that the cards are made of: a card with its head, large values, facts, a tick."""

from __future__ import annotations

from collections.abc import Iterable

from barnloom.viewer.page.markup import Markup, element


def card(anchor: str, kind: str, name: str, about: Iterable[str], *content: str, plain: bool = False) -> Markup:
    """
    One card, one screen.

    Parameters
    ----------
    anchor : str
    kind : str
        "member", "box" or "cable".
    name : str
        Its id, the card's heading.
    about : iterable of str
        Lines under the heading.
    *content : str
    plain : bool
        Nothing is to be done to it.
    """
    head = element(
        "header",
        None,
        element("p", {"class": "kind"}, kind),
        element("h2", {"id": f"{anchor}-name"}, name),
        *(element("p", None, line) for line in about if line),
    )
    said = {"class": "card", "id": anchor, "data-kind": kind, "tabindex": "-1", "aria-labelledby": f"{anchor}-name"}
    return element("article", {**said, "data-plain": plain}, head, *content)


def values(pairs: Iterable[tuple[str, str]], *, look: str = "values") -> Markup:
    """Values under their headings: large ones under small headings, or (``look="named"``) text under large headings."""
    rows = (element("div", None, element("dt", None, name), element("dd", None, value)) for name, value in pairs)
    return element("dl", {"class": look}, *rows)


def facts(lines: Iterable[str]) -> Markup:
    """Short lines, one below the other."""
    return element("ul", {"class": "facts"}, *(element("li", None, line) for line in lines if line))


def steps(lines: Iterable[str]) -> Markup:
    """Numbered lines."""
    return element("ol", {"class": "steps"}, *(element("li", None, line) for line in lines))


def warning(text: str) -> Markup:
    """Text that must not be overlooked."""
    return element("p", {"class": "warning"}, element("strong", None, "Caution: "), text)


def tick(kind: str, name: str, word: str, *, done: bool) -> Markup:
    """
    A box to tick.

    Parameters
    ----------
    kind : str
        "hole", "cable" or "box": what is ticked.
    name : str
        Its id.
    word : str
        What is true once it is ticked.
    done : bool
        It is done already, by the plan: ticked, and not to be changed.
    """
    box = element(
        "input", {"type": "checkbox", "data-tick": kind, "data-name": name, "checked": done, "disabled": done}
    )
    label = f"{word} already" if done else word
    return element("label", {"class": "tick"}, box, element("span", None, label, element("i", None, f" {name}")))


def chips(links: Iterable[str], label: str) -> Markup:
    """Links side by side, large enough for a thumb."""
    items = [element("li", None, link) for link in links]
    if not items:
        return Markup("")
    return element(
        "nav", {"class": "chips", "aria-label": label}, element("p", None, label), element("ul", None, *items)
    )
