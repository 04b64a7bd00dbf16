"""HTML that is safe by the way it is made: whatever is not markup already is escaped when it is put into an element."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from html import escape

from barnloom.viewer.text import clean

_EMPTY = frozenset({"meta", "link", "input", "br", "hr"})
Attribute = str | bool | int


class Markup(str):
    """Text that is HTML already, and goes into an element as it is."""

    __slots__ = ()


def element(name: str, attributes: Mapping[str, Attribute] | None = None, *content: str) -> Markup:
    """
    Write one element.

    Parameters
    ----------
    name : str
    attributes : mapping, optional
        True stands alone, False is left out, everything else is escaped.
    *content : str
        `Markup` goes in as it is; other text is cleaned of control signs and escaped.

    Examples
    --------
    >>> element("p", {"class": "x", "hidden": False}, "<script>", element("b", None, "&"))
    '<p class="x">&lt;script&gt;<b>&amp;</b></p>'
    """
    said = "".join(_attribute(key, value) for key, value in (attributes or {}).items())
    if name in _EMPTY:
        return Markup(f"<{name}{said}>")
    return Markup(f"<{name}{said}>{joined(content)}</{name}>")


def joined(content: Iterable[str], separator: str = "") -> Markup:
    """Pieces one after the other, those that are no markup escaped."""
    return Markup(separator.join(one if isinstance(one, Markup) else _text(one) for one in content))


def data_block(identity: str, data: object) -> Markup:
    """Write data for a script as a block that runs nothing: inside it no text can end the block or begin a comment."""
    text = json.dumps(data, ensure_ascii=True, allow_nan=False, separators=(",", ":"))
    for sign in "<>&":
        text = text.replace(sign, f"\\u{ord(sign):04x}")
    return element("script", {"type": "application/json", "id": identity}, Markup(text))


def _text(text: str) -> str:
    """Escape text; blanks at its ends stay, for what stands beside it."""
    first, last = (" " if text[at : at + 1].isspace() else "" for at in (0, len(text) - 1)) if text else ("", "")
    cleaned = clean(text)
    return escape(f"{first}{cleaned}{last if cleaned else ''}")


def _attribute(key: str, value: Attribute) -> str:
    if value is False:
        return ""
    return f" {key}" if value is True else f' {key}="{escape(clean(str(value)))}"'
