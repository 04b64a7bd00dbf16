"""As built: what has been drilled, pulled and made up becomes fixed, and the rest is planned anew around it."""

from barnloom.routing.asbuilt.moves import Moves, read_moves
from barnloom.routing.asbuilt.record import as_built

__all__ = ["Moves", "as_built", "read_moves"]
