"""Limits as data: values with clause, edition and confidence, what a scene changes of them, and the one comparison.

``us.toml`` beside this file is the profile of the United States.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from difflib import get_close_matches
from fractions import Fraction
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, overload

from barnloom.model.building import Limit
from barnloom.model.errors import InputError
from barnloom.model.lengths import TOLERANCE_IN

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Numbers = NDArray[np.float64]
    Truths = NDArray[np.bool_]


class LimitError(InputError):
    """A limit that does not exist, or a value it cannot have."""


class Limits(Mapping[str, float]):
    """Limits by name: ``limits["joist.edge"]`` is the value, ``limits.limit("joist.edge")`` all of it."""

    def __init__(self, limits: Iterable[Limit]) -> None:
        self._limits = {limit.name: limit for limit in limits}
        self._values = {name: limit.value for name, limit in self._limits.items()}

    def __getitem__(self, name: str) -> float:
        return self._values[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def limit(self, name: str) -> Limit:
        """All of one limit; KeyError if there is none of that name."""
        return self._limits[name]


@overload
def at_most(value: float, limit: float) -> bool: ...
@overload
def at_most(value: Numbers, limit: float | Numbers) -> Truths: ...
@overload
def at_most(value: float, limit: Numbers) -> Truths: ...
def at_most(value: float | Numbers, limit: float | Numbers) -> bool | Truths:
    """Whether a value keeps an upper limit: equality passes, to 1e-6 in; element by element; NaN never does.

    Examples
    --------
    >>> at_most(1.1 + 2.2, 3.3), at_most(3.3001, 3.3)
    (True, False)
    """
    return value <= limit + TOLERANCE_IN


@overload
def at_least(value: float, limit: float) -> bool: ...
@overload
def at_least(value: Numbers, limit: float | Numbers) -> Truths: ...
@overload
def at_least(value: float, limit: Numbers) -> Truths: ...
def at_least(value: float | Numbers, limit: float | Numbers) -> bool | Truths:
    """Whether a value keeps a lower limit: equality passes, to 1e-6 in; element by element; NaN never does."""
    return value >= limit - TOLERANCE_IN


def profiles() -> tuple[str, ...]:
    """Names of the profiles there are."""
    return tuple(sorted(path.stem for path in Path(__file__).parent.glob("*.toml")))


@cache
def _profile(name: str) -> tuple[tuple[Limit, ...], Mapping[str, str]]:
    """Limits of a profile, and for each whether it is kept "at least" or "at most"."""
    groups = tomllib.loads((Path(__file__).parent / f"{name}.toml").read_text(encoding="utf-8"))
    limits, keep = [], {}
    for group, members in groups.items():
        for key, said in members.items():
            full = f"{group}.{key}"
            keep[full] = said.pop("keep")
            value = said.pop("value")
            limits.append(Limit(name=full, value=float(sum(map(Fraction, str(value).split()))), **said))
    return tuple(limits), keep


def load_limits(profile: str = "us", changes: Mapping[str, tuple[float, str]] | None = None) -> tuple[Limit, ...]:
    """
    Limits of a profile, with a scene's changes.

    Parameters
    ----------
    profile : str
        Name of a profile.
    changes : mapping of str to (float, str), optional
        New value and the reason, by name. Each is recorded in ``amended`` with the direction it goes.

    Raises
    ------
    LimitError
        If the profile or a name is unknown, a value is not a number from 0 up, or a share is above 1.

    Examples
    --------
    >>> Limits(load_limits())["joist.edge"]
    2.0
    >>> Limits(load_limits(changes={"joist.edge": (2.5, "county amendment")})).limit("joist.edge").amended
    'tightened from 2: county amendment'
    """
    if profile not in profiles():
        found = f"the profile {profile!r}"
        raise LimitError(found, f"one of {', '.join(profiles())}")
    limits, keep = _profile(profile)
    changes = changes or {}
    for name in changes:
        if name not in keep:
            near = get_close_matches(name, keep, n=1, cutoff=0.4)
            found = f"the limit {name!r}"
            raise LimitError(found, "the name of a limit", f"did you mean {near[0]}?" if near else "")
    return tuple(
        _changed(limit, *changes[limit.name], keep=keep[limit.name]) if limit.name in changes else limit
        for limit in limits
    )


def _changed(limit: Limit, value: float, reason: str, *, keep: str) -> Limit:
    """Limit with the scene's value and, in words, what that does to it."""
    if not (math.isfinite(value) and value >= 0) or (limit.unit == "share" and value > 1):
        expected = "a share from 0 to 1" if limit.unit == "share" else "a number from 0 up"
        found = f"{value} for the limit {limit.name}"
        raise LimitError(found, expected)
    if not reason.strip():
        found = f"the limit {limit.name} changed without a reason"
        raise LimitError(found, "who asks for it", "write because: ...")
    tighter = value > limit.value if keep == "at least" else value < limit.value
    way = "kept at" if value == limit.value else "tightened from" if tighter else "loosened from"
    return replace(limit, value=float(value), amended=f"{way} {limit.value:.4g}: {reason}")


def cited(limit: Limit) -> str:
    """
    Words for where a limit comes from and what a reader must know of it.

    Examples
    --------
    >>> cited(Limits(load_limits()).limit("cable.deck_below")), cited(Limits(load_limits()).limit("member.end"))
    ('NEC 2023 300.4(E), from memory', 'own caution')
    """
    words = f"{limit.edition} {limit.clause}".strip()
    if limit.confidence != "confirmed":
        words = f"{words}, {limit.confidence}" if words else limit.confidence
    return f"{words}, changed by the scene" if limit.amended else words
