"""A row of a list for programs and spreadsheets: plain values by the name of their column."""

from __future__ import annotations

from decimal import Decimal

Value = str | int | float | Decimal | None
Row = dict[str, Value]
