"""Pages to test, and how they are opened and walked through in a browser."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from barnloom.routing.plan import Plan
from barnloom.viewer.page import page_html

SCENES = ("sail-loft", "sheep-shed", "cider-mill", "garden-studio")
PHONE = {"viewport": {"width": 360, "height": 740}, "has_touch": True, "is_mobile": True, "device_scale_factor": 2}

WATCH = """document.addEventListener("securitypolicyviolation", (event) =>
  tellViolation(`${event.violatedDirective} ${event.blockedURI}`));"""


@cache
def scene_plan(name: str) -> Plan:
    from barnloom.model import read_building
    from barnloom.routing.planner import plan_building

    return plan_building(read_building(Path(__file__).parents[2] / "scenes" / f"{name}.yaml"), effort="quick")


@cache
def scene_page(name: str) -> str:
    return page_html(scene_plan(name))


@contextmanager
def opened(chromium: Any, folder: Path, text: str, **more: Any) -> Iterator[Any]:
    """A page on a phone, from a file; ``page.seen`` gathers its requests, faults and violations of its policy."""
    path = folder / "index.html"
    path.write_text(text, encoding="utf-8")
    context = chromium.new_context(**PHONE | more)
    page = context.new_page()
    page.seen = {"requests": [], "faults": [], "violations": []}
    context.on("request", lambda request: page.seen["requests"].append(request.url))
    page.on("pageerror", lambda fault: page.seen["faults"].append(str(fault)))
    page.on("console", lambda said: page.seen["faults"].append(said.text) if said.type == "error" else None)
    page.expose_function("tellViolation", lambda text: page.seen["violations"].append(text))
    page.add_init_script(WATCH)
    page.goto(path.as_uri())
    if more.get("java_script_enabled", True):
        page.wait_for_selector("html.ready", state="attached")
    yield page
    context.close()


def drawn(page: Any) -> None:
    """Wait until the picture stands."""
    page.wait_for_function("barnloom.picture() !== null")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")


def go(page: Any, anchor: str) -> None:
    page.evaluate("(to) => { location.hash = to; }", anchor)
    page.wait_for_function("(to) => document.getElementById(to).getClientRects().length > 0", arg=anchor)


def hole_anchor(page: Any, name: str) -> str:
    return page.evaluate("(name) => barnloom.data.holes.find((hole) => hole.id === name).anchor", name)
