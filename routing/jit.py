"""Loops compiled by numba, kept on disk beside their source; where nothing can be kept, compiled in every run."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

from numba import njit

Function = TypeVar("Function", bound=Callable[..., Any])


def compiled(function: Function) -> Function:
    """Compile a function of numbers and arrays on first use."""
    try:
        return cast(Function, njit(cache=True)(function))
    except RuntimeError:  # neither beside the source nor in the person's own cache may a file be written
        return cast(Function, njit(function))
