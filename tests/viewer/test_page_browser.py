"""The page in a browser, as a thumb, a keyboard, a printer and somebody with bad intentions use it."""

from __future__ import annotations

import json
import re
from dataclasses import replace

import pytest
from page_sample import SCENES, drawn, go, hole_anchor, opened, scene_page, scene_plan

from barnloom.model.lengths import format_length
from barnloom.routing.asbuilt import as_built, read_moves
from barnloom.routing.plan import Plan
from barnloom.routing.store import plan_from_json, plan_to_json
from barnloom.viewer.page import page_html

PLACE = """(id) => {
  const hole = barnloom.data.holes.find((one) => one.id === id);
  const middle = hole.ends[0].map((x, k) => (x + hole.ends[1][k]) / 2);
  const frame = document.querySelector("#stage canvas").getBoundingClientRect();
  const [x, y] = barnloom.picture().screen(middle);
  return { x: frame.x + x, y: frame.y + y };
}"""
SMALL_TARGETS = """() => [...document.querySelectorAll(
    "button, summary, #screens a, .chips a, #find a, dialog a, input:not([type=checkbox]), textarea, .tick, .choice")]
  .map((one) => [one.outerHTML.slice(0, 80), one.getBoundingClientRect()])
  .filter(([, at]) => at.width > 0 && (at.height < 44 || at.width < 44))
  .map(([html]) => html)"""
"""WCAG 2.2, 2.5.5 target size (enhanced): 44 by 44 CSS pixels; links in a sentence are exempt there."""
LOW_CONTRAST = """() => {
  const parts = (colour) => colour.match(/[0-9.]+/g).map(Number);
  const light = (colour) => {
    const linear = (x) => (x <= 0.04045 ? x / 12.92 : ((x + 0.055) / 1.055) ** 2.4);
    const [r, g, b] = parts(colour).map((x) => linear(x / 255));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const behind = (one) => {
    for (; one; one = one.parentElement) {
      const colour = getComputedStyle(one).backgroundColor;
      const [, , , alpha] = parts(colour);
      if (alpha === undefined || alpha > 0) return colour;
    }
    return matchMedia("(prefers-color-scheme: dark)").matches ? "rgb(0, 0, 0)" : "rgb(255, 255, 255)";
  };
  const bad = new Set();
  const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
  while (walk.nextNode()) {
    const one = walk.currentNode.parentElement;
    if (!walk.currentNode.textContent.trim() || !one.getClientRects().length || one.closest("svg")) continue;
    const [a, b] = [light(getComputedStyle(one).color), light(behind(one))].sort((x, y) => y - x);
    if ((a + 0.05) / (b + 0.05) < 7) bad.add(`${one.tagName}.${one.className} ${one.textContent.slice(0, 40)}`);
  }
  return [...bad];
}"""
"""WCAG 2.2, 1.4.6 contrast (enhanced): 7 to 1, by its formula of relative luminance."""


@pytest.fixture
def studio(chromium, tmp_path):
    with opened(chromium, tmp_path, scene_page("garden-studio")) as page:
        drawn(page)
        yield page
        assert page.seen["faults"] == []
        assert page.seen["violations"] == []
        assert page.seen["requests"] == [f"file://{tmp_path}/index.html"]


def tap_hole(page, name):
    """Tap where a hole is seen; where several things are under the finger, choose it. Say whether one had to."""
    at = page.evaluate(PLACE, name)
    page.touchscreen.tap(at["x"], at["y"])
    page.wait_for_function("location.hash.length > 2 || document.getElementById('chooser').open")
    asked = page.evaluate("document.getElementById('chooser').open")
    if asked:
        page.get_by_role("button", name=f"Hole {name}", exact=True).tap()
    return asked


def shown_card(page):
    return page.locator(".card.on")


# --- 3D ---------------------------------------------------------------------------------------------------------------


def test_tap_on_a_hole_in_the_picture_opens_its_card(studio):
    asked = {}
    for bore in scene_plan("garden-studio").bores:
        go(studio, "picture")
        asked[bore.id] = tap_hole(studio, bore.id)
        card = shown_card(studio)
        assert card.locator("h2").inner_text() == bore.member
        hole = card.locator(".hole.picked")
        assert hole.locator("h3").inner_text().startswith(f"Hole {bore.id}")
        assert format_length(bore.along_in) in hole.inner_text()
        assert hole.evaluate("(one) => one === document.activeElement")
        frame = hole.locator("h3").bounding_box()
        assert 0 <= frame["y"] < 740 / 2
    assert not all(asked.values())


def test_several_things_under_a_finger_are_a_question(studio):
    names = [bore.id for bore in scene_plan("garden-studio").bores]
    for _ in range(3):
        studio.locator("[data-view=farther]").tap()
    assert any(tap_hole(studio, name) or go(studio, "picture") for name in names)


def test_boxes_cables_and_members_are_tapped_too(studio):
    middle = """([list, id]) => {
      const longest = (points) => {
        const legs = points.slice(1).map((to, i) => [points[i], to]);
        const long = ([a, b]) => Math.hypot(...a.map((x, k) => x - b[k]));
        const [a, b] = legs.sort((one, other) => long(other) - long(one))[0];
        return a.map((x, k) => (x + b[k]) / 2);
      };
      const one = barnloom.data[list].find((thing) => thing.id === id);
      const at = list === "cables" ? longest(one.points) : one.solids[0].slice(0, 3);
      const frame = document.querySelector("#stage canvas").getBoundingClientRect();
      const [x, y] = barnloom.picture().screen(at);
      return [frame.x + x, frame.y + y];
    }"""
    plan = scene_plan("garden-studio")
    bare = next(m.id for m in plan.building.members if not any(bore.member == m.id for bore in plan.bores))
    for kind, name in (("box", plan.building.boxes[0].id), ("cable", plan.cables[-1].id), ("member", bare)):
        go(studio, "picture")
        studio.touchscreen.tap(*studio.evaluate(middle, [{"box": "boxes"}.get(kind, f"{kind}s"), name]))
        studio.wait_for_function("location.hash.length > 2 || document.getElementById('chooser').open")
        if studio.evaluate("document.getElementById('chooser').open"):
            studio.get_by_role("button", name=f"{kind.capitalize()} {name}", exact=True).tap()
        assert shown_card(studio).get_attribute("data-kind") == kind
        if kind != "member":  # in front of the middle of a member another may stand
            assert shown_card(studio).locator("h2").inner_text() == name


def pixels(page):
    page.evaluate("scrollTo(0, 0)")
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return page.locator("#stage").screenshot()


def test_turning_hiding_and_looking_from_below_change_what_is_seen_and_whole_brings_it_back(studio):
    first = pixels(studio)
    frame = studio.locator("#stage").bounding_box()
    x, y = frame["x"] + 150, frame["y"] + 150
    touch = studio.context.new_cdp_session(studio)

    def fingers(kind, *points):
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": [{"x": x, "y": y} for x, y in points]})

    fingers("touchStart", (x, y))
    fingers("touchMove", (x + 60, y + 10))
    fingers("touchEnd")
    turned = pixels(studio)
    assert turned != first
    assert studio.evaluate("location.hash") in ("", "#picture")
    fingers("touchStart", (x - 20, y), (x + 20, y))
    fingers("touchMove", (x - 80, y), (x + 80, y))
    fingers("touchEnd")
    pinched = pixels(studio)
    assert pinched != turned
    studio.locator("[data-view=whole]").tap()
    assert pixels(studio) == first
    studio.locator("[data-view=below]").tap()
    assert pixels(studio) != first
    studio.locator("[data-view=whole]").tap()
    studio.locator("#show summary").tap()
    for choice in studio.locator("[data-show]").all():
        if choice.is_checked():
            choice.uncheck()
            assert pixels(studio) != first
            choice.check()
            assert pixels(studio) == first


def test_a_bay_is_looked_at_alone(studio):
    whole = pixels(studio)
    go(studio, "m0")
    shown_card(studio).locator(".look").tap()
    studio.wait_for_function("location.hash === '#picture'")
    alone = pixels(studio)
    assert alone != whole
    assert studio.locator("#tag").inner_text() == scene_plan("garden-studio").bores[0].member


# --- ticks and moves --------------------------------------------------------------------------------------------------


def moved(page, name, along="", across=""):
    anchor = hole_anchor(page, name)
    go(page, anchor)
    page.locator(f"#{anchor}-along").fill(along)
    page.locator(f"#{anchor}-across").fill(across)
    return page.locator(f"#{anchor}-verdict")


def test_a_tick_and_a_moved_position_survive_a_reload(studio):
    bore = scene_plan("garden-studio").bores[2]
    anchor = hole_anchor(studio, bore.id)
    across = format_length(bore.across_in + 1 / 16)
    verdict = moved(studio, bore.id, across=across)
    said = verdict.inner_text()
    studio.locator(f"#{anchor} .tick").tap()
    studio.reload()
    studio.wait_for_selector("html.ready", state="attached")
    go(studio, anchor)
    assert studio.locator(f"#{anchor} .tick input").is_checked()
    assert studio.locator(f"#{anchor}-across").input_value() == across
    assert studio.locator(f"#{anchor}-verdict").inner_text() == said
    go(studio, "done")
    assert studio.locator("#count-hole").inner_text() == f"1 of {len(scene_plan('garden-studio').bores)}"
    assert studio.locator("#moves a").inner_text() == bore.id
    studio.seen["requests"].pop()  # the reload


def test_ticks_of_one_plan_are_not_those_of_another(chromium, tmp_path):
    with opened(chromium, tmp_path, scene_page("garden-studio")) as page:
        go(page, "h0")
        page.locator("#h0 .tick").tap()
        plan = scene_plan("garden-studio")
        (tmp_path / "index.html").write_text(page_html(replace(plan, cost=plan.cost + 1)), encoding="utf-8")
        page.reload()
        page.wait_for_selector("html.ready", state="attached")
        go(page, "h0")
        assert not page.locator("#h0 .tick input").is_checked()


def test_a_moved_hole_is_judged_at_once(studio):
    bore = next(one for one in scene_plan("garden-studio").bores if not one.nail_plates)
    low, high = bore.across_min_in, bore.across_max_in
    assert moved(studio, bore.id, across=format_length(low)).inner_text().startswith("Yes: it keeps the limits.")
    assert moved(studio, bore.id, across=format_length(high)).inner_text().startswith("Yes: it keeps the limits.")
    past = moved(studio, bore.id, across=format_length(high + 1 / 16)).inner_text()
    assert past.startswith(("No.", "Yes, but:"))
    assert "nail plate" in past or "Across" in past
    far = moved(studio, bore.id, across="40'").inner_text()
    assert far.startswith("No.")
    assert "Across: only" in far
    frame = studio.locator(f"#{hole_anchor(studio, bore.id)}-verdict").bounding_box()
    assert frame["y"] > 60
    assert frame["y"] + frame["height"] < 740 - 60, "the verdict is seen while one types"
    off = moved(studio, bore.id, along='1"').inner_text()
    assert off.startswith("No.")
    assert "Along: only" in off
    assert moved(studio, bore.id, along="half a foot").inner_text().startswith("Not understood.")
    assert moved(studio, bore.id).inner_text() == ""
    assert studio.locator(f"#{hole_anchor(studio, bore.id)}-verdict").get_attribute("aria-live") == "polite"


def test_too_near_a_neighbour_is_told_also_when_the_neighbour_has_been_moved(chromium, tmp_path):
    plan = scene_plan("sail-loft")
    by_member: dict[str, list] = {}
    for bore in plan.bores:
        by_member.setdefault(bore.member, []).append(bore)
    # In a joist or a stud; plates have their holes between the bays.
    one, other = next(own[:2] for name, own in by_member.items() if len(own) > 1 and re.search(r"-[JS]\d+$", name))
    near = format_length(other.along_in)
    with opened(chromium, tmp_path, scene_page("sail-loft")) as page:
        verdict = moved(page, one.id, along=near).inner_text()
        assert verdict.startswith("No.")
        assert "Too near its neighbour: " in verdict
        assert other.id in verdict
        away = format_length(other.along_in + (9 if other.along_in > one.along_in else -9))
        moved(page, other.id, along=away)
        assert "Too near its neighbour" not in page.locator(f"#{hole_anchor(page, one.id)}-verdict").text_content()


def test_where_nothing_can_be_kept_the_page_says_so_and_works(chromium, tmp_path):
    # A sandboxed frame has an opaque origin, where localStorage throws (HTML, 12.2.3).
    (tmp_path / "inner.html").write_text(scene_page("garden-studio"), encoding="utf-8")
    frame = '<iframe sandbox="allow-scripts" src="inner.html" width="360" height="700"></iframe>'
    (tmp_path / "outer.html").write_text(frame, encoding="utf-8")
    page = chromium.new_page()
    page.goto((tmp_path / "outer.html").as_uri())
    inner = page.frame_locator("iframe")
    inner.locator("html.ready").wait_for(state="attached")
    assert inner.locator("#kept-not").is_visible()
    inner.locator("#screens a", has_text="Cards").click()
    inner.locator(".card.on .tick").first.click()
    inner.locator("#screens a", has_text="Done").click()
    assert inner.locator("#count-hole").inner_text().startswith("1 of ")
    page.close()


# --- sending back -----------------------------------------------------------------------------------------------------


def test_file_that_is_sent_back_says_what_was_ticked_and_moved(studio, chromium, tmp_path):
    plan = scene_plan("garden-studio")
    bore, cable, box = plan.bores[1], plan.cables[0].id, plan.makeups[0].box
    moved(studio, bore.id, along=format_length(bore.along_in + 2), across="")
    studio.locator(f"#{hole_anchor(studio, bore.id)} .tick").tap()
    for list_, name in (("cables", cable), ("boxes", box)):
        go(
            studio,
            studio.evaluate("([list, id]) => barnloom.data[list].find((x) => x.id === id).anchor", [list_, name]),
        )
        shown_card(studio).locator(".tick").tap()
    go(studio, "done")
    with studio.expect_download() as waiting:
        studio.locator("#save").tap()
    saved = waiting.value.path().read_text(encoding="utf-8")
    assert waiting.value.suggested_filename == "as-built.json"
    sent = json.loads(saved)
    assert json.loads(studio.locator("#as-built").input_value()) == sent
    assert sent["what"] == "barnloom as built"
    assert sent["version"] == 1
    assert sent["plan"]["title"] == plan.building.title
    said = sent["holes"].pop(bore.id)
    assert said["drilled"] is True
    assert said["along_in"] == pytest.approx(bore.along_in + 2, abs=1e-6)
    assert said["across_in"] == pytest.approx(bore.across_in, abs=1e-6)
    assert sent["holes"] == {}
    assert sent["cables"] == {cable: {"pulled": True}}
    assert sent["boxes"] == {box: {"made_up": True}}
    studio.seen["requests"] = [url for url in studio.seen["requests"] if not url.startswith("blob:")]
    # It is a report on the plan, as it stands.
    (tmp_path / "as-built.json").write_text(saved, encoding="utf-8")
    built = as_built(plan, read_moves(tmp_path / "as-built.json", plan))
    (there,) = [hole for member in built.building.members for hole in member.holes if hole.id == bore.id]
    assert (there.along_in, there.across_in) == pytest.approx((bore.along_in + 2, bore.across_in), abs=1e-6)
    assert [one.id for one in built.cables if one.done] == [cable]
    assert built.as_built.made_up == (box,)
    # Another phone takes it over.
    folder = tmp_path / "other"
    folder.mkdir()
    with opened(chromium, folder, scene_page("garden-studio")) as other:
        go(other, "done")
        other.locator("#as-built").fill(saved)
        other.locator("#take").tap()
        assert other.locator("#sent").inner_text() == "3 taken over."
        assert json.loads(other.locator("#as-built").input_value()) == json.loads(saved)
        other.locator("#as-built").fill('{"what": 3}')
        other.locator("#take").tap()
        assert other.locator("#sent").inner_text() == "That is no text of this kind."


# --- hostile text -----------------------------------------------------------------------------------------------------

HOSTILE = '</script></style><script>window.broken=1</script><img src=x onerror="window.broken=1">\'"&lt;{{1}}'


def renamed(more: str, title: str) -> Plan:
    """Every id of members, holes, boxes and cables has something at its end, and every title is another."""
    plan = scene_plan("garden-studio")
    text = plan_to_json(plan)
    names = {member.id for member in plan.building.members} | {box.id for box in plan.building.boxes}
    for name in sorted(names | {bore.id for bore in plan.bores} | {cable.id for cable in plan.cables}):
        text = text.replace(f'"{name}"', json.dumps(f"{name}{more}"))
        text = text.replace(f'"bore {name}"', json.dumps(f"bore {name}{more}"))
    plan = plan_from_json(text)
    building = replace(
        plan.building,
        title=title,
        about={title: title},
        storeys=tuple(replace(one, title=title) for one in plan.building.storeys),
        assemblies=tuple(replace(one, title=title) for one in plan.building.assemblies),
        circuits=tuple(replace(one, title=title) for one in plan.building.circuits),
        boxes=tuple(replace(one, title=title) for one in plan.building.boxes),
        warnings=(title,),
    )
    return replace(plan, building=building, assumptions=(title,))


def test_hostile_text_stays_text(chromium, tmp_path):
    with opened(chromium, tmp_path, page_html(renamed(HOSTILE, HOSTILE))) as page:
        drawn(page)
        assert page.title() == HOSTILE
        assert page.locator("h1").inner_text() == HOSTILE
        go(page, "h1")
        page.locator("#h1-across").fill(HOSTILE)
        page.locator("#h1 .tick").tap()
        for anchor in ("b0", "c0", "m3", "find", "done", "read"):
            go(page, anchor)
        page.locator("[href='#picture']").tap()
        tap = page.evaluate(PLACE, page.evaluate("barnloom.data.holes[1].id"))
        page.touchscreen.tap(tap["x"], tap["y"])
        page.wait_for_timeout(200)
        assert page.evaluate("window.broken") is None
        assert page.locator("img, iframe, object, embed").count() == 0
        assert page.locator("script").count() == 4
        assert page.seen["faults"] == []
        assert page.seen["violations"] == []
        assert len(page.seen["requests"]) == 1


@pytest.mark.parametrize(
    "title", ["Schiffsausrüstungswerkstattnebengebäude" * 3, "倉庫の電気配線" * 12, "בית מלאכה " * 9]
)
def test_long_names_in_any_script_are_neither_too_wide_nor_lost(chromium, tmp_path, title):
    with opened(chromium, tmp_path, page_html(renamed("X" * 40, title))) as page:
        drawn(page)
        assert page.locator("h1").inner_text() == title.strip()
        for anchor in ("picture", "find", "done", "read", "m0", "b0", "c0"):
            go(page, anchor)
            assert page.evaluate("document.documentElement.scrollWidth") <= 360, anchor
        assert shown_card(page).locator("h2").inner_text().endswith("X" * 40)


def test_policy_stops_what_is_not_its_own(chromium, tmp_path):
    with opened(chromium, tmp_path, scene_page("garden-studio")) as page:
        page.evaluate(
            """() => {
              const script = document.createElement("script");
              script.textContent = "window.broken = 1";
              document.body.append(script);
              document.body.insertAdjacentHTML("beforeend", "<p style='color:red' onclick='1'>x</p>");
              return fetch("https://example.invalid/").catch(() => 0);
            }"""
        )
        page.wait_for_timeout(100)
        assert page.evaluate("window.broken") is None
        stopped = {said.split()[0] for said in page.seen["violations"]}
        assert {"script-src-elem", "style-src-attr", "connect-src"} <= stopped


# --- without script, without 3D, without a mouse, on paper -----------------------------------------------------------


@pytest.mark.parametrize("name", SCENES)
def test_everything_reads_without_a_script(chromium, tmp_path, name):
    with opened(chromium, tmp_path, scene_page(name), java_script_enabled=False) as page:
        assert page.locator("#drawing svg").is_visible()
        assert page.locator(".browser").is_visible()
        cards = page.locator(".card")
        assert cards.count() > 4
        for n in (0, cards.count() // 2, cards.count() - 1):
            assert cards.nth(n).is_visible()
        for needs_script in ("#search", "#views", "#kinds", "#steps", "#done .bar", ".moved", ".look"):
            assert not page.locator(needs_script).first.is_visible()
        page.locator("#find li a").first.tap()
        at = page.locator(f"#{page.url.partition('#')[2]}").bounding_box()
        assert -5 <= at["y"] <= 200


def test_without_3d_the_drawing_stays_and_the_rest_works(launch, tmp_path):
    flat = launch("--disable-3d-apis")
    with opened(flat, tmp_path, scene_page("garden-studio")) as page:
        page.wait_for_selector("html.flat", state="attached")
        assert page.locator("#drawing svg").is_visible()
        assert "no 3D" in page.locator("#flat").inner_text()
        assert page.locator("canvas").count() == 0
        go(page, "h0")
        page.locator("#h0 .tick").tap()
        assert moved(page, scene_plan("garden-studio").bores[0].id, across="40'").inner_text().startswith("No.")
        go(page, "done")
        assert page.locator("#count-hole").inner_text().startswith("1 of ")
    flat.close()


def test_search_and_cards_by_keyboard_alone(studio):
    bore = scene_plan("garden-studio").bores[5]
    studio.keyboard.press("Tab")
    assert studio.evaluate("document.activeElement.textContent") == "Skip to the lists"
    studio.keyboard.press("Enter")
    studio.wait_for_function("location.hash === '#find'")
    for _ in range(12):
        studio.keyboard.press("Tab")
        if studio.evaluate("document.activeElement.id") == "search":
            break
    studio.keyboard.type(bore.id)
    assert studio.locator("#found").inner_text() == "1 found"
    studio.keyboard.press("Enter")
    studio.wait_for_function("document.querySelector('.picked') !== null")
    assert studio.evaluate("document.activeElement.id") == hole_anchor(studio, bore.id)
    studio.keyboard.press("Tab")
    assert studio.evaluate("document.activeElement.dataset.tick") == "hole"
    outline = studio.evaluate("getComputedStyle(document.activeElement).outlineStyle")
    assert outline == "solid"
    studio.keyboard.press("Space")
    assert studio.locator(".picked .tick input").is_checked()
    for _ in range(40):
        studio.keyboard.press("Tab")
        if studio.evaluate("document.activeElement.dataset.step") == "1":
            break
    studio.keyboard.press("Enter")
    studio.wait_for_function("(name) => document.querySelector('.card.on h2').textContent !== name", arg=bore.member)
    go(studio, "picture")
    before = pixels(studio)
    studio.locator("canvas").focus()
    studio.keyboard.press("ArrowLeft")
    assert pixels(studio) != before


def test_previous_and_next_go_through_the_members_in_walking_order(studio):
    plan = scene_plan("garden-studio")
    walked = list(dict.fromkeys(bore.member for bore in plan.bores))
    go(studio, "m0")
    seen = [shown_card(studio).locator("h2").inner_text()]
    while studio.locator("[data-step='1']").is_enabled():
        studio.locator("[data-step='1']").tap()
        studio.wait_for_function("(was) => document.querySelector('.card.on h2').textContent !== was", arg=seen[-1])
        seen.append(shown_card(studio).locator("h2").inner_text())
    assert seen == walked
    assert studio.locator("#where").inner_text() == f"{len(walked)} of {len(walked)}"
    assert studio.locator(".card.on").count() == 1


@pytest.mark.parametrize("name", SCENES)
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_nothing_is_too_wide_too_small_or_too_faint(chromium, tmp_path, name, scheme):
    with opened(chromium, tmp_path, scene_page(name), color_scheme=scheme) as page:
        drawn(page)
        kinds = {kind: page.locator(f".card[data-kind={kind}]").count() for kind in ("member", "box", "cable")}
        cards = [f"{kind[0]}{n}" for kind, count in kinds.items() for n in range(0, count, max(1, count // 12))]
        for anchor in ("picture", "find", "done", "read", *cards):
            go(page, anchor)
            assert page.evaluate("document.documentElement.scrollWidth") <= 360, anchor
            assert page.evaluate(SMALL_TARGETS) == [], anchor
            assert page.evaluate(LOW_CONTRAST) == [], anchor
        page.evaluate("document.getElementById('cautions').open = true")
        assert page.evaluate(LOW_CONTRAST) == []


def test_landmarks_headings_and_labels(studio):
    for role in ("banner", "main", "navigation"):
        assert studio.get_by_role(role).first.is_visible()
    unnamed = """() => [...document.querySelectorAll("input, textarea, button, progress")]
      .filter((one) => !(one.labels?.length || one.textContent.trim() || one.getAttribute("aria-label")))
      .map((one) => one.outerHTML)"""
    assert studio.evaluate(unnamed) == []
    levels = studio.evaluate("[...document.querySelectorAll('h1, h2, h3')].map((one) => Number(one.tagName[1]))")
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in zip(levels, levels[1:], strict=False))


def test_paper_has_the_cards_that_are_shown_and_no_picture(studio):
    plan = scene_plan("garden-studio")
    studio.emulate_media(media="print")
    assert not studio.locator("canvas").is_visible()
    assert not studio.locator("#screens").is_visible()
    shown = [name for name in studio.locator(".card h2").all() if name.is_visible()]
    assert len(shown) == len({bore.member for bore in plan.bores}) + len(plan.building.boxes) + len(plan.cables)
    assert all(hole.is_visible() for hole in studio.locator(".hole").all())
    studio.emulate_media(media="screen")
    go(studio, "find")
    studio.locator("#search").fill(plan.bores[0].id)
    studio.emulate_media(media="print")
    assert [name.inner_text() for name in studio.locator(".card h2").all() if name.is_visible()] == [
        plan.bores[0].member
    ]
