"""Many scenes planned in many ways, over all cores or a cluster: a row for each, whatever becomes of the others.

Dask does the work. Each scene is read and planned as it says once; its other ways begin from that plan.
"""

from __future__ import annotations

import json
import logging
import signal
import time
from collections.abc import Callable, Generator, Iterable, Iterator, Sequence
from contextlib import closing, contextmanager
from dataclasses import dataclass
from decimal import Decimal
from importlib import import_module
from pathlib import Path
from typing import Any

from barnloom.model.building import Building
from barnloom.model.errors import BarnloomError, InputError, SceneError
from barnloom.routing.whatif import Tried, WhatIf, applies, what_if_named, what_ifs
from barnloom.viewer.compare import CENT, Figures, aligned, figures_of, plain, tried
from barnloom.viewer.files import refuse_file, staging
from barnloom.viewer.rows import Row
from barnloom.viewer.tables import csv_text
from barnloom.viewer.text import clean, paragraph, width, wrapped

ANSWER_S = 10
"""Seconds that a scheduler has to answer."""
SCENE_WIDEST = 14
COLUMNS = ("scene", "what_if", "outcome", "feet", "holes", "overhead_holes", "nail_plates", "money", "drop_percent") + (
    "drop_circuit",
    "lower_bound",
    "gap_percent",
    "words",
)
_HEADS = ("SCENE", "WHAT IF", "CABLE", "HOLES", "OVERHEAD", "PLATES", "MONEY", "DROP", "GAP", "SEC")
_WIDEST = ("", "", "9999.9 ft", "", "", "", "99999.99", "99.9 %", "99.9 %", "999.9")
"""What the columns have room for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of one scene planned in one way."""

    scene: str
    what_if: str
    outcome: str
    """"planned", "not reached" (some box is not), "does not apply" or "failed"."""
    words: str = ""
    """Of one that is not planned: why, in one line."""
    figures: Figures | None = None
    lower_bound: float | None = None
    seconds: float = 0.0

    @property
    def well(self) -> bool:
        """Whether nothing went wrong."""
        return self.outcome in ("planned", "does not apply")

    @property
    def gap_percent(self) -> Decimal | None:
        """How far its cost is above the lower bound, in percent of that; None without a bound."""
        if self.figures is None or not self.lower_bound:
            return None
        bound = Decimal(f"{self.lower_bound:.6f}")
        return (100 * (self.figures.money - bound) / bound).quantize(CENT)


def run_sweep(
    scenes: Sequence[Path],
    *,
    names: Sequence[str],
    jobs: int | None,
    scheduler: str | None,
    out: Path | None,
    show: Callable[[str], None],
    say: Callable[[str], None],
) -> tuple[Outcome, ...]:
    """Sweep, show each row as it comes, and write sweep.csv and sweep.json; of an interrupted one what is done.

    Parameters
    ----------
    names : sequence of str
        Ids of what-ifs; none stand for all.
    jobs, scheduler
        As in `sweep`.
    out : Path, optional
        Folder for the files.
    show, say : callables
        Take lines of the table, and of talk.

    Returns
    -------
    tuple of Outcome
        In the order of the scenes and of the what-ifs.
    """
    if out is not None:
        refuse_file(out)
    files = list(dict.fromkeys(map(str, scenes)))
    wanted = {what_if_named(name).id for name in names}
    ways = [way for way in what_ifs() if way.id in wanted or not wanted]
    place = {(name, way.id): n for n, (name, way) in enumerate((name, way) for name in files for way in ways)}
    short = _short(files)
    columns = _columns(short.values(), ways)
    found: list[Outcome] = []
    try:
        with closing(sweep(files, ways, jobs=jobs, scheduler=scheduler)) as outcomes:
            for outcome in outcomes:
                if not found:
                    show(aligned(_HEADS, columns, words=(0, 1)))
                again = (outcome.scene, outcome.words) in {(one.scene, one.words) for one in found}
                found.append(outcome)
                show("\n".join(_lines(outcome, short[outcome.scene], columns, again=again)))
                say(f"{len(found)} of {len(place)}")
    finally:
        found.sort(key=lambda one: place[one.scene, one.what_if])
        if out is not None and found:
            with staging(out) as stage:
                (stage / "sweep.csv").write_bytes(csv_text(COLUMNS, [_row(one) for one in found]).encode("utf-8"))
                (stage / "sweep.json").write_bytes(sweep_json(found).encode("utf-8"))
            say(f"wrote sweep.csv, sweep.json into {out}")
    return tuple(found)


def sweep(
    files: Sequence[str], ways: Sequence[WhatIf], *, jobs: int | None, scheduler: str | None
) -> Generator[Outcome, None, None]:
    """Plan every scene in every way, and give each outcome as it comes.

    Parameters
    ----------
    files : sequence of str
        Scene files, each once.
    jobs : int, optional
        Processes on this machine; as many as it has cores if not said.
    scheduler : str, optional
        Address of a Dask scheduler that gets the work instead; its workers need barnloom.

    Raises
    ------
    BarnloomError
        If Dask is not installed.
    InputError
        If no scheduler answers, or both jobs and a scheduler are said.
    """
    from barnloom.model.scene.read import scene_bytes

    raws: dict[str, bytes] = {}
    for name in files:
        try:
            raws[name] = scene_bytes(Path(name))
        except SceneError as error:
            yield from (_failed(name, way, _first_line(name, error)) for way in ways)
    if not raws:
        return
    with _client(jobs, scheduler, most=len(raws) * len(ways)) as client:
        asked: dict[Any, tuple[str, WhatIf]] = {}
        for name, raw in raws.items():
            begun = client.submit(_begun, name, raw, pure=False)
            for way in ways:
                asked[client.submit(_outcome, begun, name, way.id, pure=False)] = (name, way)
        for future in _distributed().as_completed(list(asked), loop=client.loop):
            died = future.exception()  # of the process: what goes wrong in planning is an outcome already
            yield future.result() if died is None else _failed(*asked[future], _one_line(died))


def sweep_json(outcomes: Sequence[Outcome]) -> str:
    """Return outcomes for a program: the rows of the CSV file."""
    rows = [{key: plain(value) for key, value in _row(outcome).items()} for outcome in outcomes]
    return json.dumps(rows, ensure_ascii=False, indent=1) + "\n"


# --- in the processes that plan --------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class _Begun:
    """A scene that is read, and planned as it says."""

    building: Building | None
    plan: Tried | None
    words: str
    """Why there is no building, or no plan."""
    seconds: float


def _begun(name: str, raw: bytes) -> _Begun:
    """Read a scene and plan it as it says; what goes wrong is put in words."""
    from barnloom.model.framing import build
    from barnloom.model.scene.read import read_text
    from barnloom.model.scene.text import decoded

    building, own, words, start = None, None, "", time.perf_counter()
    try:
        file = read_text(decoded(raw), Path(name))
        try:
            building = build(file.scene)
            own = tried(building, what_ifs()[0])
        except SceneError as error:
            raise SceneError(file.placed(error.faults)) from error
    except Exception as error:  # whatever it is, the other scenes go on
        words = _first_line(name, error) if isinstance(error, SceneError) else _one_line(error)
    return _Begun(building=building, plan=own, words=words, seconds=time.perf_counter() - start)


def _outcome(begun: _Begun, name: str, way_id: str) -> Outcome:
    """Plan a scene that is begun in one way; what goes wrong is put in words."""
    way, building = what_if_named(way_id), begun.building
    if building is None:
        return _failed(name, way, begun.words)
    if not applies(way, building):
        words = "no light of this building follows a switch"
        return Outcome(scene=name, what_if=way.id, outcome="does not apply", words=words)
    if way is what_ifs()[0]:
        return _told(name, way, begun.plan, begun.seconds) if begun.plan else _failed(name, way, begun.words)
    start = time.perf_counter()
    try:
        found = tried(building, way, begin=begun.plan.plan if begun.plan else None)
    except Exception as error:  # whatever it is, the other ways go on
        return _failed(name, way, _first_line(name, error) if isinstance(error, SceneError) else _one_line(error))
    return _told(name, way, found, time.perf_counter() - start)


def _told(name: str, way: WhatIf, found: Tried, seconds: float) -> Outcome:
    plan = found.plan
    if plan is None:
        return _failed(name, way, found.why)
    return Outcome(
        scene=name,
        what_if=way.id,
        outcome="not reached" if plan.unreached else "planned",
        words=" ".join(plan.unreached),
        figures=figures_of(plan),
        lower_bound=plan.lower_bound,
        seconds=seconds,
    )


def _failed(name: str, way: WhatIf, words: str) -> Outcome:
    return Outcome(scene=name, what_if=way.id, outcome="failed", words=words)


def _first_line(name: str, error: SceneError) -> str:
    from barnloom.model.scene.read import format_faults

    more = f" (and {len(error.faults) - 1} more)" if len(error.faults) > 1 else ""
    return clean(format_faults(name, error.faults[:1]) + more)


def _one_line(error: BaseException) -> str:
    return clean(f"{type(error).__name__}: {error}")


# --- where the work goes ---------------------------------------------------------------------------------------------


def _distributed() -> Any:
    """Return the package that spreads the work."""
    try:
        return import_module("distributed")
    except ImportError as error:
        msg = f"a sweep needs Dask, and {error.name} is not installed; install it with: pip install distributed"
        raise BarnloomError(msg) from error


@contextmanager
def _client(jobs: int | None, scheduler: str | None, *, most: int) -> Iterator[Any]:
    """Give a Dask client of a scheduler, or of processes on this machine that end with the block."""
    distributed = _distributed()
    if scheduler is not None:
        if jobs is not None:
            found = "--jobs with --scheduler"
            raise InputError(found, "one of them: a scheduler has as many workers as it has")
        try:
            distributed.comm.get_address_host_port(
                scheduler
            )  # a client of an address that cannot be would still try for long
            remote = distributed.Client(scheduler, timeout=ANSWER_S, set_as_default=False)
        except (OSError, ValueError, TypeError) as error:
            found = f"no scheduler at {scheduler}"
            do = "begin one with: dask scheduler; and where barnloom is installed: dask worker ADDRESS"
            raise InputError(found, "the address of a Dask scheduler, like tcp://10.0.0.5:8786", do) from error
        with remote:
            yield remote
        return
    with _interrupt_here_alone():
        cluster = distributed.LocalCluster(
            n_workers=min(jobs or import_module("dask.system").CPU_COUNT, most),
            threads_per_worker=1,
            memory_limit=0,  # the machine's own; a process that it ends is a row that failed
            dashboard_address=None,
            silence_logs=logging.CRITICAL,
        )
    with cluster, distributed.Client(cluster, set_as_default=False) as local:
        yield local


@contextmanager
def _interrupt_here_alone() -> Iterator[None]:
    """Keep Ctrl-C, which a terminal sends to all, from the processes and threads begun in the block: we end them."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


# --- the table -------------------------------------------------------------------------------------------------------


def _row(outcome: Outcome) -> Row:
    cells: Row = dict.fromkeys(COLUMNS)
    if outcome.figures is not None:
        cells |= zip(COLUMNS[3:9], outcome.figures.numbers(), strict=True)
        cells["drop_circuit"] = outcome.figures.drop_circuit
    told: Row = {
        "scene": outcome.scene,
        "what_if": outcome.what_if,
        "outcome": outcome.outcome,
        "lower_bound": outcome.lower_bound,
        "gap_percent": outcome.gap_percent,
        "words": outcome.words,
    }
    return cells | told


def _short(files: Sequence[str]) -> dict[str, str]:
    """What each scene is called in the table: its file's name alone, where no two have the same."""
    stems = {name: clean(Path(name).stem) for name in files}
    return stems if len(set(stems.values())) == len(stems) else {name: clean(name) for name in files}


def _columns(names: Iterable[str], ways: Sequence[WhatIf]) -> list[int]:
    """Width of each column, before anything is known of what will stand in it."""
    widest = [max(width(head), width(most)) for head, most in zip(_HEADS, _WIDEST, strict=True)]
    scene = min(max(map(width, names)), SCENE_WIDEST)
    return [max(widest[0], scene), max(widest[1], *(width(way.id) for way in ways)), *widest[2:]]


def _lines(outcome: Outcome, name: str, columns: Sequence[int], *, again: bool) -> list[str]:
    """Lines of one row; what was said of its scene before is not said once more."""
    first, *more = wrapped(name, columns[0])
    cells: tuple[str, ...] = ()
    if outcome.figures is not None:
        gap = outcome.gap_percent
        drop = f"{outcome.figures.drop_percent:.1f} %"
        last = ("" if gap is None else f"{gap:.1f} %", f"{outcome.seconds:.1f}")
        cells = (*outcome.figures.cells()[:5], drop, *last)
    lines = [aligned((first, outcome.what_if, *cells), columns, words=(0, 1)), *more]
    if outcome.outcome != "planned":
        words = "the same" if again else outcome.words
        lines += paragraph(f"{outcome.outcome}: {words}", first="    ")
    return lines
