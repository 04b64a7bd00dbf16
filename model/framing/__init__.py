"""From what a scene says to solid framing: walls, floors, roofs, timbers, boards, and the boxes that hang on them."""

from barnloom.model.framing.house import build

__all__ = ["build"]
