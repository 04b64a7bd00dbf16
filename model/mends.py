"""What would mend a hole that breaks a limit, as data: the wood cannot be un-drilled."""

from __future__ import annotations

import tomllib
from functools import cache
from pathlib import Path

_FILE = Path(__file__).with_name("mends.toml")


def mend(broken: str, kind: str) -> str:
    """
    Say what would mend a hole.

    Parameters
    ----------
    broken : {"edge", "size", "spacing", "notch", "end", "right"}
        What it breaks.
    kind : {"joist", "stud", "plate", ""}
        The rule that bounds its member; empty for one that may not be bored at all.
    """
    data = _data()
    return data.get(kind, {}).get(broken) or data["any"]["right"]


@cache
def _data() -> dict[str, dict[str, str]]:
    return tomllib.loads(_FILE.read_text(encoding="utf-8"))
