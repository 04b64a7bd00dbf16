"""The usual slips of the pen in YAML, in plain words: what a parser stumbles over is rarely where the slip is."""

from __future__ import annotations

import re

from ruamel.yaml.error import MarkedYAMLError

from barnloom.model.errors import Fault

INCH_MARK = (
    'write lengths without quotes round them (at: 12\' 6"): an inch mark inside "..." ends the quote, '
    "a foot mark inside '...' does too"
)
SPACE = "put a space after the colon, as in at: 3'"
_RESERVED = re.compile(r"found character '(.+)' that cannot start any token")


def slip(error: MarkedYAMLError, text: str) -> Fault:
    """
    Return the fault behind a parser's complaint.

    Parameters
    ----------
    error : MarkedYAMLError
        What the parser says, with the place it gave up at and perhaps the place it began.
    text : str
        The whole file.
    """
    lines = text.splitlines() or [""]
    mark = error.problem_mark or error.context_mark
    row, column = (mark.line, mark.column) if mark else (0, 0)
    began = error.context_mark.line if error.context_mark else row
    problem, context = error.problem or "", error.context or ""

    def line(number: int) -> str:
        return lines[number] if 0 <= number < len(lines) else ""

    def fault(found: str, expected: str, do: str, *, row: int = row, column: int = column) -> Fault:
        return Fault((), found, expected, do, row + 1, column + 1)

    if reserved := _RESERVED.match(problem):
        if "t" in reserved[1]:
            found, do = "a tab", "put spaces in place of the tab; most editors can do so in the whole file"
            return fault(found, "spaces before keys and after colons", do)
        return fault(f"{reserved[1]} at the start of a value", "a value", f"put quotes round it: '{reserved[1]}...'")
    if "quoted scalar" in context:
        quote = error.context_mark.column if error.context_mark else column
        if "escape" in problem:
            do = "leave the backslash out, or use '...' quotes"
            return fault('a backslash in "..."', "plain text", do, column=max(column - 1, 0))
        return fault("a quote that is never closed", "a second quote mark", INCH_MARK, row=began, column=quote)
    if "'<scalar>'" in problem and re.search(r"""['"]\s*[^\s#'"]*['"]""", line(row)[: column + 1]):
        return fault("more text after a closing quote", "the end of the value", INCH_MARK)
    if "anchor" in context or "alias" in context:
        return fault(f"{line(row)[column - 1 : column]} at the start of a value", "a value", "put quotes round it")
    if "flow" in context:
        for number in range(began, row + 1):
            eaten = re.search(r"\s#", line(number))
            if eaten and number < row:
                do = "end the line before the #, or move the remark to a line of its own; a value with # needs quotes"
                found = "a remark (# and what follows) inside brackets"
                return fault(found, "the closing bracket first", do, row=number, column=eaten.start() + 1)
        if began == row:
            return fault("no comma before this", "a comma between values", "write them like {x: 1, y: 2} or [1, 2]")
        start = error.context_mark.column if error.context_mark else column
        opening = line(began)[start : start + 1]
        closing = "}" if opening == "{" else "]"
        do = f"write the {closing}, or the comma, at the latest on line {row + 1}"
        found = f"a {opening} that is not closed, or a comma missing after it"
        return fault(found, f"commas between the values, and {closing} at the end", do, row=began, column=start)
    for number in (row, row - 1):
        close = re.match(r"(\s*(?:- )?(?:[\w.-]+:\s+\{)?)([A-Za-z_][\w.-]*):(?=[^\s])", line(number))
        if close:
            found = f"no space after {close[2]}:"
            return fault(found, "key: value", SPACE, row=number, column=close.start(2))
        blank = re.search(":[\u00a0\u2007\u202f\u3000]", line(number))
        if blank:
            found = "a blank after the colon that is no ordinary space"
            return fault(found, "key: value", "delete it and type a space", row=number, column=blank.start() + 1)
    if "could not find expected ':'" in problem:
        words = line(began).strip()[:40]
        start = len(line(began)) - len(line(began).lstrip())
        return fault(
            f"{words} without a colon", "key: value", "write a colon and a space after the key", row=began, column=start
        )
    if "mapping values are not allowed" in problem:
        if len(re.findall(r":\s", line(row)[: column + 2])) > 1:
            return fault(
                "a second colon in one line", "one key and its value", "put quotes round a value that has a colon"
            )
        do = "begin it in the same column as the keys beside it; a value with a colon needs quotes"
        return fault("a key that stands too far to the right", "keys of one part in one column", do)
    if "sequence entries are not allowed" in problem:
        return fault("a dash behind a key", "a list", "put the list on the lines below, or write [one, two]")
    if re.search(r"found '[}\]]'", problem):
        return fault("a closing bracket too many", "the next key", "delete it")
    if "but found '-'" in problem:
        do = "a list stands under a key of its own: write the key before it"
        return fault("a dash where a key was expected", "key: value", do)
    if "block" in context and "expected" in problem:
        do = "begin it in the same column as the keys beside it"
        return fault("a line that stands out of its column", "keys of one part in one column", do)
    return fault(
        "text that does not fit here", "key: value lines", "compare with the lines above; quotes round a text help"
    )
