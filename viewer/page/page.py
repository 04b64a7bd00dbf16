"""The page for a phone: one HTML file that asks the network for nothing, reads without a script, and is of one plan."""

from __future__ import annotations

from base64 import b64encode
from hashlib import sha256
from pathlib import Path

from barnloom.routing.plan import Plan
from barnloom.viewer.cautions import CAUTIONS
from barnloom.viewer.page.boxes import box_cards
from barnloom.viewer.page.cards import cable_cards, member_cards
from barnloom.viewer.page.data import page_data
from barnloom.viewer.page.index import Index, index
from barnloom.viewer.page.lists import figure, find_lists, first_read, shown_choices
from barnloom.viewer.page.markup import Markup, data_block, element

_FOLDER = Path(__file__).parent
SCRIPTS = ("lengths", "judge", "kept", "screens", "picking", "picture", "done", "start")
"""The page's own script, in the order in which its pieces stand in it."""
_SCREENS = (("picture", "3D"), ("find", "Find"), ("cards", "Cards"), ("done", "Done"), ("read", "Read"))
_EARLY = 'document.documentElement.className = "js";'
"""Run before anything is drawn: with a script, one screen is shown at a time."""


def page_html(plan: Plan) -> str:
    """
    Write a plan as a page for a phone.

    Parameters
    ----------
    plan : Plan

    Returns
    -------
    str
        One HTML document, the same for the same plan. Its content-security policy allows its own scripts and styles by
        their hash, and nothing else.
    """
    found = index(plan)
    style = _read("page.css")
    three = _read("three/three.js")
    own = "\n".join(_read(f"scripts/{name}.js") for name in SCRIPTS)
    script = f'"use strict";\n(() => {{\n{own}}})();\n'
    head = element(
        "head",
        None,
        element("meta", {"charset": "utf-8"}),
        element("meta", {"http-equiv": "Content-Security-Policy", "content": _policy([_EARLY, three, script], style)}),
        element("meta", {"name": "viewport", "content": "width=device-width, initial-scale=1"}),
        element("meta", {"name": "referrer", "content": "no-referrer"}),
        element("meta", {"name": "color-scheme", "content": "light dark"}),
        element("title", None, plan.building.title),
        element("link", {"rel": "icon", "href": "data:,"}),
        element("style", None, Markup(style)),
        element("script", None, Markup(_EARLY)),
    )
    body = element(
        "body",
        None,
        *_body(found),
        data_block("data", page_data(found)),
        element("script", None, Markup(three)),
        element("script", None, Markup(script)),
    )
    return f"<!DOCTYPE html>\n{element('html', {'lang': 'en'}, head, body)}\n"


def _read(name: str) -> str:
    return (_FOLDER / name).read_text(encoding="utf-8")


def _policy(scripts: list[str], style: str) -> str:
    """Nothing from anywhere; scripts and styles by the hash of what is written here."""

    def hashed(text: str) -> str:
        return f"'sha256-{b64encode(sha256(text.encode()).digest()).decode()}'"

    allowed = " ".join(map(hashed, scripts))
    return (
        f"default-src 'none'; script-src {allowed}; style-src {hashed(style)}; img-src data:; "
        "base-uri 'none'; form-action 'none'"
    )


def _body(found: Index) -> list[Markup]:
    plan = found.plan
    return [
        element("a", {"class": "skip", "href": "#find"}, "Skip to the lists"),
        element(
            "header",
            {"id": "top"},
            element("h1", None, plan.building.title),
            element(
                "details",
                {"id": "cautions"},
                element("summary", None, CAUTIONS[0]),
                element("ul", None, *(element("li", None, caution) for caution in CAUTIONS[1:])),
            ),
            element("p", {"id": "kept-not", "class": "note", "hidden": True}, "Ticks are not kept here."),
        ),
        element(
            "main",
            None,
            _screen("picture", "The building", *_picture(plan)),
            _screen("find", "Find", _search(), *find_lists(found)),
            _screen("cards", "Cards", *_cards(found)),
            _screen("done", "Done so far", *_done()),
            _screen("read", "Read first", *first_read(plan)),
        ),
        element(
            "nav",
            {"id": "screens", "aria-label": "Screens"},
            *(element("a", {"href": f"#{name}"}, words) for name, words in _SCREENS),
        ),
        element(
            "dialog",
            {"id": "chooser", "aria-labelledby": "chooser-name"},
            element("h2", {"id": "chooser-name"}, "Which one?"),
            element("ul", None),
            element("button", {"type": "button", "id": "chooser-none"}, "None of these"),
        ),
    ]


def _screen(name: str, title: str, *content: str) -> Markup:
    heading = element("h2", {"id": f"{name}-title"}, title)
    return element("section", {"class": "screen", "id": name, "aria-labelledby": f"{name}-title"}, heading, *content)


def _picture(plan: Plan) -> list[Markup]:
    def button(what: str, words: str, name: str = "") -> Markup:
        return element("button", {"type": "button", "data-view": what, "aria-label": name or words}, words)

    return [
        element(
            "p",
            {"class": "note browser"},
            "Does nothing here turn or tick? This is a preview: open the file in the browser.",
        ),
        element("div", {"id": "stage"}, figure(plan)),
        element("p", {"id": "flat", "class": "note", "hidden": True}),
        element(
            "div",
            {"id": "views", "class": "live", "role": "group", "aria-label": "How the picture is seen"},
            button("whole", "Whole"),
            button("below", "Below"),
            button("closer", "+", "Closer"),
            button("farther", "\u2212", "Farther"),
        ),
        element("details", {"id": "show"}, element("summary", None, "What is shown"), shown_choices(plan)),
    ]


def _search() -> Markup:
    field = {"id": "search", "type": "search", "autocomplete": "off", "autocapitalize": "off", "spellcheck": "false"}
    return element(
        "div",
        {"class": "live", "role": "search"},
        element("label", {"for": "search"}, "Id, or part of it"),
        element("input", field),
        element("p", {"id": "found", "role": "status"}),
    )


def _cards(found: Index) -> list[Markup]:
    def step(way: str, words: str) -> Markup:
        return element("button", {"type": "button", "data-step": way}, words)

    kinds = element(
        "div",
        {"id": "kinds", "class": "live", "role": "group", "aria-label": "Kind of card"},
        *(
            element("button", {"type": "button", "data-kind-of": kind, "aria-pressed": "false"}, words)
            for kind, words in (("member", "Members"), ("box", "Boxes"), ("cable", "Cables"))
        ),
    )
    steps = element(
        "div",
        {"id": "steps", "class": "live", "role": "group", "aria-label": "Next in walking order"},
        step("-1", "Previous"),
        element("p", {"id": "where", "role": "status"}),
        step("1", "Next"),
    )
    return [kinds, *member_cards(found), *box_cards(found), *cable_cards(found), steps]


def _done() -> list[Markup]:
    def bar(kind: str, words: str) -> Markup:
        return element(
            "p",
            {"class": "bar"},
            element("label", {"for": f"bar-{kind}"}, words),
            element("progress", {"id": f"bar-{kind}", "data-bar": kind, "max": 1, "value": 0}),
            element("span", {"id": f"count-{kind}"}),
        )

    return [
        element(
            "div",
            {"class": "live"},
            bar("hole", "Holes drilled"),
            bar("cable", "Cables pulled"),
            bar("box", "Boxes made up"),
            element("h3", None, "Moved holes"),
            element("ul", {"id": "moves", "class": "facts"}),
            element("h3", None, "Send it back"),
            element("p", None, "A small file with every tick and every moved hole. Or copy the text into a message."),
            element("button", {"type": "button", "id": "save"}, "Save the file"),
            element("button", {"type": "button", "id": "copy"}, "Copy the text"),
            element("label", {"for": "as-built"}, "The same as text; paste here what another phone has sent"),
            element("textarea", {"id": "as-built", "rows": 8, "spellcheck": "false"}),
            element("button", {"type": "button", "id": "take"}, "Take over this text"),
            element("p", {"id": "sent", "role": "status"}),
        ),
        element(
            "noscript",
            None,
            element("p", None, "Ticks, moves and counts need the page's script. Open the file in the browser."),
        ),
    ]
