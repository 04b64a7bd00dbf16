"""What changed, in words, as tables under headings: one source for text and paper, what is to be done first."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from barnloom.model.building import Member, Role
from barnloom.model.lengths import format_length
from barnloom.routing.plan import Bore, Cable, CircuitSheet, Joint, Plan
from barnloom.routing.store import natural_key
from barnloom.viewer import totals
from barnloom.viewer.cards import Card, cards
from barnloom.viewer.changes.compare import Amount, Bought, BoxChange, Change, Changes, Fitted
from barnloom.viewer.changes.matching import members_of
from barnloom.viewer.joining import folding_order, joint_sentence
from barnloom.viewer.lists import hole_notes
from barnloom.viewer.paths import direction_word, framing, hole_place, path_words, run_words
from barnloom.viewer.schedule import breaker_words, longest_words, poles_words, space_words
from barnloom.viewer.takeoff import SEALED
from barnloom.viewer.wires import conductor_words, label, listed

NOTHING = "Nothing has changed that is bored, pulled, made up or bought."
NOT_KNOWN = (
    "What of the old plan is bored, pulled or made up already is not known here. Write holes that are bored into the "
    "scene as old holes, and plan again: then they are used where they can be, and new ones keep clear of them.",
    "Joints are opened dead: breaker off, and proven dead.",
)
_OTHER_PIECE = frozenset({"type", "longer"})
_OTHER_WAY = frozenset({"ends", "members", "way"})
_SWAPPED = frozenset({"size", "bought", "devices", "circuits"})
_WIDER = "its middle may lie in a wider band"
_STAYS = "Not bored yet: strike it off the list. Bored: it stays in the wood, and new ones have to keep clear of it."
_CLOSED = "One in a plate or rim that is bored is closed where the code asks for it (common practice, no source)."
_FACTS = {
    "place": "place", "length": "length", "section": "section", "role": "what it is", "bearing": "whether it bears",
    "rights": "what may be done to it", "holes": "holes in it already", "notches": "notches",
    "measured": "what of it is measured",
}  # fmt: skip


Row = tuple[str, ...] | str
"""Cells, or a note to the row above."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A table under a heading."""

    heading: str
    columns: tuple[tuple[str, int], ...]
    """Titles, and widths: signs in text, shares on paper."""
    rows: tuple[Row, ...]
    how: tuple[str, ...] = ()
    ticks: bool = False
    """Whether every row is something to do."""
    alike: bool = False
    """Whether rows that say the same of several ids may be told as one."""
    figures: int = 0
    """How many of the last columns are figures."""


def title_words(old: Plan, new: Plan) -> str:
    """Say which plan is told against which."""
    before, after = old.building.title, new.building.title
    return f"{after}: the new plan against the old one{'' if before == after else f', {before}'}"


def in_short(found: Changes, new: Plan) -> str:
    """All of it in one sentence, to see how much there is to do."""
    metric = new.building.metric
    words = []
    for name, changes in (
        ("hole", found.holes),
        ("cable", found.cables),
        ("box", found.boxes),
        ("circuit", found.circuits),
    ):
        kinds = [change.kind for change in changes]
        told = [f"{kinds.count(kind)} {kind_words}" for kind, kind_words in _KINDS if kind in kinds]
        if told:
            words.append(f"{'boxes' if name == 'box' else f'{name}s'}: {', '.join(told)}")
    total = next((amount for amount in found.feet if amount.name == "total"), None)
    if total:
        words.append(f"{totals.run_of(abs(total.more), metric=metric)} {_more(total.more)} of cable")
    if found.more_money:
        words.append(f"{abs(found.more_money):.2f} {_more(found.more_money)} to pay in the store")
    return "; ".join(words) + "." if words else "Only what the plan rests on has changed."


_KINDS = (("added", "new"), ("gone", "gone"), ("changed", "changed"))


def sections(found: Changes, old: Plan, new: Plan) -> Iterator[Section]:
    """Yield what there is to tell, what has to be done first, lengths in the units of the new plan."""
    told = _Told(found, old, new)
    for section in (
        *told.holes(),
        *told.cables(),
        *told.boxes(),
        told.circuits(),
        told.unreached(),
        told.bought(),
        told.sums(),
        told.framing(),
        told.said(),
    ):
        if section.rows:
            yield section


class _Told:
    """The changes with all that is looked up to say them."""

    def __init__(self, found: Changes, old: Plan, new: Plan) -> None:
        self.found, self.old, self.new = found, old, new
        self.metric = new.building.metric
        self.renamed = {change.old.id: change.new.id for change in found.cables if change.old and change.new}
        self.before, self.after = framing(old), framing(new)
        self.members = members_of(old), members_of(new)
        self.cards = {card.box: card for card in cards(old)}, {card.box: card for card in cards(new)}

    def holes(self) -> Iterator[Section]:
        """New ones, moved ones, others at the same place, those no longer used."""
        groups: dict[str, list[Change[Bore]]] = {"new": [], "moved": [], "larger": [], "rest": [], "gone": []}
        for change in self.found.holes:
            groups[_hole_group(change)].append(change)
        columns = (("hole", 15), ("bit", 7), ("along", 24), ("aim", 22), ("for", 18))
        rows: list[Row] = []
        for change in groups["new"]:
            rows += self._hole(change.new)
        yield Section(heading="Holes to bore new", columns=columns, rows=tuple(rows), ticks=True)
        rows = []
        for change in groups["moved"]:
            one, now = change.old, change.new
            if one is not None and now is not None:
                rows += self._hole(now)
                was = hole_place(one, self.members[0][one.member], metric=self.metric)
                moved_by = self._shift(change, self.members[1][now.member])
                rows.append("; ".join([f"moved {moved_by}: was {was}", *self._hole_notes(change)]))
        yield Section(
            heading="Holes that have moved",
            columns=columns,
            rows=tuple(rows),
            how=("One that is bored at the old place stays in the wood: see whether the new one keeps clear of it.",),
            ticks=True,
        )
        yield Section(
            heading="Holes to bore larger",
            columns=(("hole", 15), ("what", 78)),
            rows=tuple((change.new.id, self._in_place(change)) for change in groups["larger"] if change.new),
            ticks=True,
        )
        yield Section(
            heading="Holes at the same place, otherwise used or named",
            columns=(("hole", 15), ("what", 83)),
            rows=tuple((change.new.id, self._in_place(change)) for change in groups["rest"] if change.new),
            how=("A smaller bit: a hole that is bored already is larger than the new plan has checked.",),
            alike=True,
        )
        sealed = any(self._role(change.old) in SEALED for change in groups["gone"])
        yield Section(
            heading="Holes no longer used",
            columns=(("hole", 15), ("where it was planned, and what for", 83)),
            rows=tuple((change.old.id, self._gone(change.old)) for change in groups["gone"] if change.old),
            how=(_STAYS, *([_CLOSED] if sealed else [])),
            alike=True,
        )

    def _role(self, bore: Bore | None) -> Role | None:
        return self.members[0][bore.member].role if bore and not bore.existing else None

    def _gone(self, bore: Bore) -> str:
        place = hole_place(bore, self.members[0][bore.member], metric=self.metric)
        words = f"{place}; bit {self._inches(bore.diameter_in)}, for {_names(bore.cables)}"
        if bore.existing:
            return f"{words}; an old hole"
        return f"{words}; in a plate or rim" if self._role(bore) in SEALED else words

    def _hole(self, bore: Bore | None) -> Iterator[Row]:
        if bore is None:
            return
        member = self.members[1][bore.member]
        along = f"{format_length(bore.along_in, metric=self.metric)} from the {member.along_from}"
        aim = f"{self._inches(bore.across_in)} from the {member.across_from}"
        yield bore.id, self._inches(bore.diameter_in), along, aim, self._cables(bore)
        notes = hole_notes(self.new, self.after, [bore])
        if notes:
            yield "; ".join(notes)

    def _in_place(self, change: Change[Bore]) -> str:
        """What there is to say of a hole that is where it was, or that is there already."""
        if change.old is None and change.new is not None:
            place = hole_place(change.new, self.members[1][change.new.member], metric=self.metric)
            return f"an old hole, used now: {place}; for {_names(change.new.cables)}"
        return "; ".join(self._hole_notes(change)) or _WIDER

    def _hole_notes(self, change: Change[Bore]) -> list[str]:
        """What else is otherwise at a hole than its place."""
        one, now = change.old, change.new
        if one is None or now is None:
            return []
        notes = []
        if "bit" in change.differs:
            notes.append(f"bit {self._inches(now.diameter_in)}, was {self._inches(one.diameter_in)}")
        if "cables" in change.differs:
            was = {self.renamed.get(name, name) for name in one.cables}
            ways = (("no longer for", was - set(now.cables)), ("now for", set(now.cables) - was))
            notes += [f"{words} {_names(which)}" for words, which in ways if which]
        if "plates" in change.differs:
            notes.append(
                f"nail plate on: {', '.join(now.nail_plates) or 'no face'}; was: {', '.join(one.nail_plates) or 'none'}"
            )
        if "from" in change.differs:
            notes.append(f"measured anew: {hole_place(now, self.members[1][now.member], metric=self.metric)}")
        if "band" in change.differs and (
            now.across_min_in > one.across_min_in or now.across_max_in < one.across_max_in
        ):
            low = format_length(now.across_min_in, metric=self.metric, feet=False, rounding="up")
            high = format_length(now.across_max_in, metric=self.metric, feet=False, rounding="down")
            notes.append(f"band {low} to {high}: narrower than it was")
        if "there" in change.differs:
            notes.append("there already" if now.existing else "to bore: the new plan does not have it as there")
        if "id" in change.differs:
            notes.append(f"renamed {one.id} to {now.id}")
        return notes

    def _shift(self, change: Change[Bore], member: Member) -> str:
        words = []
        for step, end in zip(change.by_in, (member.along_from, member.across_from), strict=True):
            if self._inches(abs(step)) != self._inches(0):
                way = "farther from" if step > 0 else "nearer to"
                words.append(f"{format_length(abs(step), metric=self.metric)} {way} the {end}")
        return ", ".join(words)

    def cables(self) -> Iterator[Section]:
        """New ones, those that want another piece, those pulled otherwise, the rest, those that are gone."""
        groups: dict[str, list[Change[Cable]]] = {"new": [], "again": [], "otherwise": [], "rest": [], "gone": []}
        for change in self.found.cables:
            groups[_cable_group(change)].append(change)
        columns = (("cable", 26), ("label", 48), ("cut", 14))
        rows: list[Row] = []
        for change in groups["new"]:
            if change.new:
                rows += [self._cable(change.new), self._way(change.new)]
        yield Section(heading="Cables to cut and pull new", columns=columns, rows=tuple(rows), ticks=True)
        for heading, how, changes, ticks in (
            (
                "Cables to cut anew",
                "A piece cut by the old plan does not do: it is too short, or of another type.",
                groups["again"],
                True,
            ),
            ("Cables to pull otherwise", "A piece cut by the old plan is long enough.", groups["otherwise"], True),
            (
                "Cables that stay, otherwise labelled or connected",
                "A piece cut by the old plan is long enough.",
                groups["rest"],
                False,
            ),
        ):
            rows = []
            for change in changes:
                if change.new:
                    notes = "; ".join(self._cable_notes(change))
                    rows += [self._cable(change.new), *([notes] if notes else [])]
                    rows += [self._way(change.new, change.old)] if "way" in change.differs else []
            yield Section(heading=heading, columns=columns, rows=tuple(rows), how=(how,), ticks=ticks)
        yield Section(
            heading="Cables no longer in the plan",
            columns=columns,
            rows=tuple(self._cable(change.old) for change in groups["gone"] if change.old),
            how=("Pulled already: nothing of the new plan joins its ends; ask the inspector whether it may stay.",),
        )

    def _cable(self, cable: Cable) -> tuple[str, ...]:
        return cable.id, label(cable), format_length(cable.cut_in, metric=self.metric)

    def _way(self, cable: Cable, was: Cable | None = None) -> str:
        """The way step by step; against an old one, the steps that are new in it."""
        steps = path_words(self.after, cable, metric=self.metric)
        before = path_words(self.before, was, metric=self.metric) if was else []
        fresh = [f"{number} {step}" for number, step in enumerate(steps, 1) if step not in before]
        if not fresh:
            return "way: some steps less, or in another order"
        return f"{'way' if len(fresh) == len(steps) else 'way, where it is new'}: {'; '.join(fresh)}"

    def _cable_notes(self, change: Change[Cable]) -> Iterator[str]:
        one, now = change.old, change.new
        if one is None or now is None:
            return
        if "type" in change.differs:
            yield f"{now.type}, was {one.type}"
        if "longer" in change.differs or "shorter" in change.differs:
            yield self._length_words(one, now)
        if "ends" in change.differs:
            yield f"from {now.from_box} to {now.to_box}, was from {one.from_box} to {one.to_box}"
        if "direction" in change.differs:
            yield f"fed from {now.from_box} now, was from {one.from_box}"
        if one.id != now.id:
            yield f"renamed {one.id} to {now.id}"
        if label(one) != label(now):
            yield f"its label was {label(one)}"
        if "members" in change.differs:
            was, through = (
                list(dict.fromkeys(names.bored[hole] for hole in cable.bores if hole in names.bored))
                for names, cable in ((self.before, one), (self.after, now))
            )
            left = [name for name in was if name not in through]
            fresh = [name for name in through if name not in was]
            words = [f"no longer through {run_words(self.before, left)}"] if left else []
            words += [f"now through {run_words(self.after, fresh)}"] if fresh else []
            yield "; ".join(words) or "through the same members, in another order"
        if "conductors" in change.differs:
            controls = self.new.building.controls
            yield (
                "; ".join(conductor_words(each, controls) for each in now.conductors)
                or "its conductors are not planned"
            )
        if "pulled" in change.differs:
            yield "pulled already" if now.done else "to pull: the new plan does not have it as pulled"

    def _length_words(self, one: Cable, now: Cable) -> str:
        """How much longer or shorter, and whether the old piece would do at the cost of slack alone."""
        was, apart = (
            format_length(length, metric=self.metric) for length in (one.cut_in, abs(now.cut_in - one.cut_in))
        )
        if now.cut_in <= one.cut_in:
            return f"{apart} shorter: was {was}"
        words = f"{apart} longer: was {was}"
        left = one.cut_in - (now.cut_in - now.slack_in)
        if one.type == now.type and left >= 0:
            slack = (format_length(length, metric=self.metric) for length in (left, now.slack_in))
            words += "; the old piece would leave {} of slack instead of {}".format(*slack)
        return words

    def boxes(self) -> Iterator[Section]:
        """New ones, moved ones, other ones, joints alone, those that are gone."""
        groups: dict[str, list[BoxChange]] = {
            "new": [],
            "moved": [],
            "swapped": [],
            "joints": [],
            "phase": [],
            "gone": [],
        }
        for change in self.found.boxes:
            groups[_box_group(change)].append(change)
        columns = (("box", 15), ("what", 78))
        for group, heading, how in (
            ("new", "Boxes to put up new", ("How each is made up is on its card.",)),
            ("moved", "Boxes that have moved", ()),
            ("swapped", "Boxes to swap, or with other devices", ()),
            ("joints", "Joints to open and make again", ()),
            ("phase", "Boxes in another phase", ()),
            ("gone", "Boxes no longer in the plan", ()),
        ):
            rows: list[Row] = []
            for change in groups[group]:
                first, *more = self._box(change)
                rows += [(_name(change), first), *more]
            yield Section(heading=heading, columns=columns, rows=tuple(rows), how=how, ticks=group != "gone")

    def _box(self, change: BoxChange) -> list[str]:
        one, now = change.old, change.new
        if now is None:
            return [self.cards[0][_name(change)].place]
        card = self.cards[1][_name(change)]
        if one is None:
            return [card.place, *(words for words in (_devices(now, card), card.buy) if words)]
        was, words = self.cards[0][_name(change)], []
        if "place" in change.differs:
            words.append(f"{self._moved(change.by_in)}: {card.place}")
        elif "host" in change.differs:
            words.append(card.place)
        if "size" in change.differs:
            words.append(f"{self._size(now)}, was {self._size(one)}")
        if "bought" in change.differs:
            words.append(
                f"{card.buy or 'not known what to buy'}; it was {was.buy.removeprefix('to buy: ') or 'not known'}"
            )
        if "devices" in change.differs:
            words.append(f"in it: {_devices(now, card)}; was: {_devices(one, was)}")
        if "circuits" in change.differs:
            words.append(f"circuit {listed(now.box.circuits) or 'none'}, was {listed(one.box.circuits) or 'none'}")
        if "phase" in change.differs:
            words.append(f"phase {now.box.phase}, was {one.box.phase}")
        words += [f"was: {line}" for line in self._joints(self.old, one, change.opened)]
        words += [f"now: {line}" for line in self._joints(self.new, now, change.made)]
        return words

    def _joints(self, plan: Plan, fitted: Fitted, joints: Sequence[Joint]) -> list[str]:
        tape = {(cable.id, each.colour): each.marked for cable in plan.cables for each in cable.conductors}
        return [joint_sentence(joint, fitted.devices, tape) for joint in folding_order(joints)]

    def _moved(self, step: Sequence[float]) -> str:
        words = []
        for axis, length in enumerate(step):
            if self._inches(abs(length)) != self._inches(0):
                way = direction_word((length * (axis == 0), length * (axis == 1), length * (axis == 2)))
                words.append(f"{format_length(abs(length), metric=self.metric)} {way}")
        return "moved " + ", ".join(words)

    def _size(self, fitted: Fitted) -> str:
        return " x ".join(map(self._inches, fitted.box.size_in))

    def circuits(self) -> Section:
        """Breakers, conductors, spaces, load, drop."""
        rows: list[Row] = []
        for change in self.found.circuits:
            if change.new is None and change.old:
                rows.append((change.old.circuit, f"gone: {_circuit(_figures(self.old, self.new, change.old))}"))
            elif change.new and change.old is None:
                rows.append((change.new.circuit, f"new: {_circuit(_figures(self.new, self.new, change.new))}"))
            elif change.new and change.old:
                was, now = _figures(self.old, self.new, change.old), _figures(self.new, self.new, change.new)
                words = [f"{name} {now[name]}, was {was[name]}" for name in now if was[name] != now[name]]
                rows.append((change.new.circuit, "; ".join(words)))
        return Section(heading="Circuits in the panel", columns=(("circuit", 15), ("what", 78)), rows=tuple(rows))

    def unreached(self) -> Section:
        """Boxes that no cable reaches any more, and those that one reaches now."""
        why = {lost.box: lost.reason for lost in self.new.unreached_why}
        rows = []
        for change in self.found.unreached:
            if change.new:
                rows.append((change.new, f"no longer reached{f': {why[change.new]}' if change.new in why else ''}"))
            elif change.old:
                here = any(box.id == change.old for box in self.new.building.boxes)
                rows.append((change.old, "reached now" if here else "gone, and was not reached"))
        return Section(heading="Boxes without a route", columns=(("box", 15), ("what", 78)), rows=tuple(rows))

    def bought(self) -> Section:
        """What more and what less to buy."""
        rows: list[Row] = [
            (
                _signed(line.more, line.unit),
                _item(line),
                _money(line.old_price),
                _money(line.new_price),
                _money(line.more_money, "+"),
            )
            for line in self.found.bought
        ]
        if rows:
            rows.append(("", "sum of what is known", "", "", _money(self.found.more_money, "+")))
        return Section(
            heading="To buy: more (+) and less (-)",
            columns=(("how many", 12), ("what", 46), ("price was", 9), ("is", 9), ("more", 9)),
            rows=tuple(rows),
            how=("Of all phases together. Prices are placeholders unless the scene gives its own store's.",),
            figures=3,
        )

    def sums(self) -> Section:
        """Feet by type, holes by bit, cost."""
        rows: list[Row] = []
        for feet in self.found.feet:
            what = "all cables" if feet.name == "total" else f"cable {feet.name}"
            rows.append(
                (
                    what,
                    *(totals.run_of(value, metric=self.metric) for value in (feet.old, feet.new)),
                    self._more_run(feet),
                )
            )
        for bit in self.found.holes_by_bit:
            what = f"holes to bore, bit {self._inches(float(bit.name))}"
            rows.append((what, f"{bit.old}", f"{bit.new}", f"{bit.more:+}"))
        for part in self.found.cost:
            what = "cost of the plan" if part.name == "total" else f"cost: {part.name}"
            rows.append((what, f"{part.old:.2f}", f"{part.new:.2f}", f"{part.more:+.2f}"))
        return Section(
            heading="Sums", columns=(("of", 44), ("was", 14), ("is", 14), ("more", 14)), rows=tuple(rows), figures=3
        )

    def _more_run(self, amount: Amount) -> str:
        return f"{'+' if amount.more > 0 else '-'}{totals.run_of(abs(amount.more), metric=self.metric)}"

    def framing(self) -> Section:
        """Members that are otherwise: what the rest follows from."""
        rows: list[Row] = []
        for change in self.found.members:
            if change.new is None and change.old:
                rows.append((change.old.id, f"gone: {change.old.role.value}, {change.old.section}"))
            elif change.new and change.old is None:
                rows.append((change.new.id, f"new: {change.new.role.value}, {change.new.section}"))
            elif change.new and change.old:
                words = [self._member_words(change.old, change.new, change.by_in, name) for name in change.differs]
                rows.append((change.new.id, "; ".join(words)))
        return Section(heading="Framing that has changed", columns=(("member", 15), ("what", 78)), rows=tuple(rows))

    def _member_words(self, one: Member, now: Member, step: Sequence[float], name: str) -> str:
        if name == "place":
            moved = self._moved(step)
            return moved if moved != "moved " else "lies another way"
        if name == "length":
            return "{} long, was {}".format(*(format_length(each.length_in, metric=self.metric) for each in (now, one)))
        if name == "section":
            return f"{now.section}, was {one.section}" if now.section != one.section else "its section, or its plies"
        return f"otherwise: {_FACTS[name]}"

    def said(self) -> Section:
        """Warnings, assumptions and answers that only one of the plans has."""
        rows = tuple((f"{said.about} {'gone' if said.gone else 'new'}", said.text) for said in self.found.said)
        return Section(heading="Warnings, assumptions, answers", columns=(("which", 15), ("words", 83)), rows=rows)

    def _cables(self, bore: Bore) -> str:
        return " ".join(sorted(bore.cables, key=natural_key))

    def _inches(self, inches: float) -> str:
        return format_length(inches, metric=self.metric, feet=False)


def _hole_group(change: Change[Bore]) -> str:
    """Where a hole is told: once, by the most work that it makes."""
    if change.new is None:
        return "gone"
    if change.old is None:
        return "rest" if change.new.existing else "new"
    if "place" in change.differs:
        return "moved"
    return "larger" if "bit" in change.differs and change.new.diameter_in > change.old.diameter_in else "rest"


def _cable_group(change: Change[Cable]) -> str:
    """Where a cable is told: once, by the most work that it makes."""
    if change.kind != "changed":
        return "new" if change.old is None else "gone"
    if _OTHER_PIECE.intersection(change.differs):
        return "again"
    return "otherwise" if _OTHER_WAY.intersection(change.differs) else "rest"


def _box_group(change: BoxChange) -> str:
    """Where a box is told: once, by the most work that it makes."""
    if change.kind != "changed":
        return "new" if change.old is None else "gone"
    if {"place", "host"}.intersection(change.differs):
        return "moved"
    if _SWAPPED.intersection(change.differs):
        return "swapped"
    return "joints" if "joints" in change.differs else "phase"


def _name(change: BoxChange) -> str:
    fitted = change.new or change.old
    return fitted.box.id if fitted else ""


def _devices(fitted: Fitted, card: Card) -> str:
    """What is in a box, in words; of one that is not made up, kinds and ids alone."""
    return card.devices or listed([f"{device.kind.value} {device.id}" for device in fitted.devices]) or "no device"


def _circuit(figures: Mapping[str, str]) -> str:
    return "; ".join(f"{name} {value}" for name, value in figures.items())


def _figures(own: Plan, units: Plan, sheet: CircuitSheet) -> dict[str, str]:
    """What the schedule says of a circuit, by the name of the figure."""
    return {
        "panel": sheet.panel,
        "breaker": breaker_words(sheet) + poles_words(sheet),
        "volts": f"{sheet.volts}",
        "conductors": f"{sheet.awg} AWG",
        "space": space_words(own)[sheet.circuit] or "?",
        "leg": sheet.legs,
        "load": f"{sheet.load_va:,.0f} VA",
        "sized for": f"{sheet.load_a:.1f} A",
        "longest run": longest_words(units, sheet),
        "drop": f"{sheet.drop_percent:.1f} %",
        "phase": f"{next((one.phase for one in own.building.circuits if one.id == sheet.circuit), 1)}",
    }


def _item(line: Bought) -> str:
    return f"{line.item}, {line.size}" if line.size else line.item


def _signed(more: Decimal, unit: str) -> str:
    """A quantity with its sign: whole, or to a tenth; an unchanged one where its price alone is otherwise."""
    if not more:
        return "same"
    return f"{more:+.1f} {unit}" if more % 1 else f"{more:+.0f} {unit}"


def _money(value: Decimal | None, sign: str = "") -> str:
    return "?" if value is None else f"{value:{sign}.2f}"


def _more(value: Decimal) -> str:
    return "more" if value > 0 else "less"


def _names(names: Iterable[str]) -> str:
    return listed(sorted(names, key=natural_key))
