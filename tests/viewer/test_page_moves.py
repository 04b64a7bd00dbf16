"""Moved holes, judged by the page's script: against the plan's own check, which shares nothing with it but the plan."""

from __future__ import annotations

import random
from contextlib import ExitStack
from dataclasses import replace

import pytest
from hypothesis import strategies as st
from page_sample import SCENES, opened, scene_page, scene_plan

from barnloom.model.building import Notch
from barnloom.model.lengths import LengthError, format_length, read_length
from barnloom.model.limits import Limits
from barnloom.routing.check.bores import bore_findings
from barnloom.routing.check.finding import site_of
from barnloom.viewer.page import page_html
from barnloom.viewer.page.moves import _kept_band

FAULTS = {"bore.edge", "bore.end", "bore.size", "bore.spacing", "bore.notch", "bore.off"}
JUDGE = """(cases) => cases.map(([id, along, across]) => {
  const hole = barnloom.data.holes.find((one) => one.id === id);
  return barnloom.judge(hole, { along, across }, () => null, false);
})"""


@pytest.fixture(scope="module")
def page(chromium, tmp_path_factory):
    with ExitStack() as stack:
        yield {
            name: stack.enter_context(opened(chromium, tmp_path_factory.mktemp(name), scene_page(name)))
            for name in SCENES
        }


def places(plan, bore, member):
    """Places on the print grid: as planned, the ends of the band and one past them, others anywhere in the member."""
    grid, luck = plan.building.tools.grid_in, random.Random(bore.id)

    def snapped(value):
        return round(value / grid) * grid

    yield bore.along_in, bore.across_in
    for across in (bore.across_min_in, bore.across_max_in, bore.across_min_in - grid, bore.across_max_in + grid):
        yield bore.along_in, across
    for _ in range(6):
        yield snapped(bore.along_in + luck.uniform(-4, 4)), snapped(luck.uniform(0, member.depth_in))
    for _ in range(6):
        yield snapped(luck.uniform(-1, member.length_in + 1)), snapped(luck.uniform(0, member.depth_in))


def checked(site, bore, along, across):
    """What the check finds with one hole moved: codes of faults that are about it, and of all that it says of it."""
    moved = replace(bore, along_in=along, across_in=across, across_min_in=across, across_max_in=across)
    same = tuple(moved if one.id == bore.id else one for one in site.plan.bores if one.member == bore.member)
    found = [
        finding
        for finding in bore_findings(replace(site, plan=replace(site.plan, bores=same)))
        if finding.subject == bore.id or f"hole {bore.id} " in finding.words
    ]
    return {one.code for one in found if one.code in FAULTS}, {one.code for one in found if one.subject == bore.id}


def agree(page, plan):
    """Compare the page's verdict on many places with the check's; return the grades that came up."""
    site, grid = site_of(plan), plan.building.tools.grid_in
    limits = Limits(plan.building.limits)
    new = [bore for bore in plan.bores if not bore.existing]
    cases = [(bore, *place) for bore in new for place in places(plan, bore, site.members[bore.member])]
    said = page.evaluate(JUDGE, [[bore.id, along, across] for bore, along, across in cases])
    grades = set()
    for (bore, along, across), verdict in zip(cases, said, strict=True):
        others = [one for one in plan.bores if one.member == bore.member and one is not bore]
        kept = _kept_band(bore, site.members[bore.member], limits, others, grid_in=grid)
        faults, codes = checked(site, bore, along, across)
        where = (bore.id, along, across, verdict, faults, kept)
        if faults:
            assert verdict["grade"] == "no", where
        elif kept is None or kept[0] <= across <= kept[1]:
            assert verdict["grade"] != "no", where
        words = " ".join(verdict["words"])
        if verdict["grade"] != "no":
            assert ("rests on" in words) == ("bore.bearing" in codes), where
            if "the plan does not have" in words:
                assert "bore.nail_plates" in codes, where
            elif not bore.nail_plates:
                assert "bore.nail_plates" not in codes, where
        grades |= {verdict["grade"], *(faults and {"notch" if "a notch" in words else ""})}
    return grades


@pytest.mark.parametrize("name", SCENES)
def test_verdict_is_that_of_the_check(page, name):
    assert {"yes", "no"} <= agree(page[name], scene_plan(name))


def test_verdict_on_notched_wood_is_that_of_the_check(chromium, tmp_path):
    # Studs and joists, notched beside their holes from either edge.
    plan = scene_plan("sail-loft")
    first = {bore.member: bore.along_in for bore in reversed(plan.bores)}
    members = tuple(
        replace(
            member,
            notches=(
                Notch(along=(first[member.id] + 5, first[member.id] + 9), edge=("low", "high")[n % 2], depth_in=0.5),
            ),
        )
        if member.id in first
        else member
        for n, member in enumerate(plan.building.members)
    )
    plan = replace(plan, building=replace(plan.building, members=members))
    with opened(chromium, tmp_path, page_html(plan)) as page:
        assert {"yes", "no", "notch"} <= agree(page, plan)


@pytest.mark.parametrize("name", SCENES)
def test_planned_place_and_the_ends_of_its_band_are_good(page, name):
    new = [bore for bore in scene_plan(name).bores if not bore.existing]
    cases = [
        [bore.id, bore.along_in, across]
        for bore in new
        for across in (bore.across_min_in, bore.across_in, bore.across_max_in)
    ]
    for case, verdict in zip(cases, page[name].evaluate(JUDGE, cases), strict=True):
        assert verdict["grade"] == "yes" or verdict["words"] == [w for w in verdict["words"] if "rests on" in w], case


NUMBERS = st.from_regex(
    r"[0-9]{1,3}([ -]{1,2}[0-9]{1,2}/[0-9]{1,2}|\.[0-9]{0,3})?|[0-9]/[0-9]{1,2}|\.[0-9]{1,2}", fullmatch=True
)
UNITS = st.sampled_from(
    ["'", '"', "''", "′", "″", "”", " ft", "ft.", " feet", "in", " inches", "in.", "mm", " cm", "m", " metres", ""]
)
LENGTHS = st.one_of(
    st.builds(str.__add__, NUMBERS, UNITS),
    st.builds("{}{}{}{}{}".format, NUMBERS, UNITS, st.sampled_from(["", " ", "-", " - "]), NUMBERS, UNITS),
    st.text(alphabet="0123456789/.-−– '\"½¾⅛′″⁄ftinmc,x", max_size=14),
)
READ = """([texts, bare]) => texts.map((text) => {
  const inches = barnloom.readLength(text, bare);
  return Number.isNaN(inches) ? null : inches;
})"""
BY_HAND = [
    "8' 3", "8'3\"", "8' 3-1/2\"", "8’ 3½”", "8' 3 1/2\"", "98 1/4", "98-1/4\"", "12ft 6 1/2in", "3.81 m", "3810 mm",
    "3810", "381cm", "-3' 2\"", "- 4", "0", "", " ", "six", "1/0", "5 3/2", "5 1/0\"", "2' 14\"", "2' 11-15/16\"",
    "1,5", "10001'", "10000'", "4''", "4' 6''", "½", "3½", "3 ½\"", "1e3", "٣", "0x10", "1/2/3", "7'.5\"", "7' .5\"",
    "7'-6\"", "7' - 6\"", "1" * 70, "4.\"", "4 . 5", "5 FT", "5 Metres", "5 meter", "5 in.", "5ft.6in.",
]  # fmt: skip


def typed():
    """Strings to read: some by hand, many by hypothesis's own luck, the same each time."""
    from hypothesis import HealthCheck, Phase, given, seed, settings

    found = list(BY_HAND)

    @seed(4)
    @settings(
        max_examples=600, database=None, deadline=None, phases=[Phase.generate], suppress_health_check=list(HealthCheck)
    )
    @given(LENGTHS)
    def gather(text):
        found.append(text)

    gather()
    return found


def read(text, bare):
    try:
        return read_length(text, bare=bare)
    except LengthError:
        return None


def test_lengths_are_read_as_the_scene_reads_them(page):
    texts = typed()
    for bare in ("in", "mm"):
        expected = [read(text, bare) for text in texts]
        assert sum(value is not None for value in expected) > 100
        for text, ours, theirs in zip(
            texts, expected, page["garden-studio"].evaluate(READ, [texts, bare]), strict=True
        ):
            assert theirs == (ours if ours is None else pytest.approx(ours, abs=1e-9)), (text, bare)


def test_lengths_are_printed_as_the_lists_print_them(page):
    luck = random.Random(4)
    values = [0, 0.03, 0.75, 11.99, 12, 96, 98.25, -38, *(luck.uniform(-50, 700) for _ in range(300))]
    for metric in (False, True):
        for feet in (False, True):
            ask = "([all, metric, feet]) => all.map((x) => barnloom.formatLength(x, metric, feet))"
            said = page["garden-studio"].evaluate(ask, [values, metric, feet])
            assert said == [format_length(value, metric=metric, feet=feet) for value in values]
