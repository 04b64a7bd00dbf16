"""The bound, worked out beside the search: its loops are compiled, and leave the interpreter to others meanwhile."""

from __future__ import annotations

import math
from threading import Event, Thread
from typing import Self

from barnloom.routing.job import Effort, Job
from barnloom.routing.wiring.kinds import Sizes

LEAST_SAID = 0.5
"""Percent by which the gap has to have fallen before it is told again."""


class Proof:
    """What no plan of a building can cost less than, in the making until its block is left.

    A quick effort proves nothing.
    ``cost`` is that of the cheapest plan there is so far: how far that can be above the best is told.
    """

    def __init__(self, job: Job, sizes: Sizes, cost: float, effort: Effort) -> None:
        """Have it worked out with conductors of these sizes, no larger than loads ask for; ``cost``: of some plan."""
        self.cost = cost
        self._job, self._said = job, math.inf
        self._given_up = Event()
        self._value: float | None = None
        self._error: BaseException | None = None
        self._thread = Thread(target=self._run, args=(sizes, cost, effort), daemon=True)
        self._quick = effort == "quick"

    def __enter__(self) -> Self:
        if not self._quick:
            self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._given_up.set()

    def value(self) -> float | None:
        """Wait for what is proven; None where nothing is, or no tree of some circuit can be as it is asked for."""
        if self._quick:
            return None
        self._thread.join()
        if self._error is not None:
            raise self._error
        return self._value

    def _run(self, sizes: Sizes, upper: float, effort: Effort) -> None:
        from barnloom.routing.bound import lower_bound

        try:
            value = lower_bound(self._job, sizes, upper=upper, effort=effort, progress=self._told).value
        except _GivenUpError:
            return
        except BaseException as error:  # noqa: BLE001 - raised again where the value is asked for
            self._error = error
            return
        self._value = value if math.isfinite(value) else None

    def _told(self, _: int, value: float) -> None:
        if self._given_up.is_set():
            raise _GivenUpError
        gap = 100 * (self.cost / value - 1) if 0 < value < math.inf else math.inf
        if gap < self._said - LEAST_SAID:
            self._said = gap
            self._job.talk(
                f"no plan costs less than {value:.2f}: the cheapest so far is at most {gap:.1f} % above the best"
            )


class _GivenUpError(Exception):
    """Nobody waits any more."""
