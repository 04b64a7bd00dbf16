"""What changed between two plans: for programs, as text, and as sheets to print."""

from barnloom.viewer.changes.compare import Changes, compare
from barnloom.viewer.changes.data import changes_json
from barnloom.viewer.changes.sheet import changes_pdf
from barnloom.viewer.changes.words import changes_text

__all__ = ["Changes", "changes_json", "changes_pdf", "changes_text", "compare"]
