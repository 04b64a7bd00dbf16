"""Output files: all of them whole, or none touched.

Everything is written into a staging folder inside the target, and only then renamed into place; whatever goes wrong
before that leaves the target as it was. Only what was made here is ever removed.
"""

from __future__ import annotations

import os
import shutil
import signal
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from types import FrameType

from barnloom.model.errors import BarnloomError


class OutputError(BarnloomError):
    """A place that cannot be written to."""


@contextmanager
def staging(folder: Path) -> Iterator[Path]:
    """
    Give a new folder to write into; its files are renamed into ``folder`` when the block ends well.

    Raises
    ------
    OutputError
        If ``folder`` is a file or cannot be written to.
    """
    made: list[Path] = []
    stage: Path | None = None
    try:
        refuse_file(folder)
        made = [path for path in (folder, *folder.parents) if not path.exists()]
        folder.mkdir(parents=True, exist_ok=True)
        stage = Path(tempfile.mkdtemp(prefix=".barnloom-", dir=folder))
        yield stage
        _rename_all(stage, folder)
    except OSError as error:
        msg = f"{folder}: cannot be written to ({error.strerror}); name another place"
        raise OutputError(msg) from error
    finally:
        if stage is not None:
            shutil.rmtree(stage, ignore_errors=True)
        for path in made:
            if path.is_dir() and not any(path.iterdir()):
                path.rmdir()


def refuse_file(folder: Path) -> None:
    """
    Raise OutputError if a file stands where an output folder is wanted.

    Parameters
    ----------
    folder : Path
        May exist as a folder, or not at all.
    """
    for path in (folder, *folder.parents):
        if path.exists():
            if not path.is_dir():
                msg = f"{path}: found a file; expected a folder to write into; name another place"
                raise OutputError(msg)
            return


def write_file(path: Path, data: bytes, *, replace: bool) -> None:
    """
    Write one file whole.

    Raises
    ------
    OutputError
        If it cannot be written, or is there already and ``replace`` is False.
    """
    if path.exists() and not replace:
        msg = f"{path}: is there already and is not overwritten; name another file"
        raise OutputError(msg)
    with staging(path.parent) as stage:
        (stage / path.name).write_bytes(data)


def _rename_all(stage: Path, folder: Path) -> None:
    """Rename everything into place; an interrupt waits until the last of them is done."""
    names = sorted(path.name for path in stage.iterdir() if path.is_file())
    blocked = [name for name in names if (folder / name).is_dir()]
    if blocked:
        msg = f"{folder / blocked[0]}: found a folder where a file has to go; move it away or name another place"
        raise OutputError(msg)
    with _interrupt_later():
        for name in names:
            os.replace(stage / name, folder / name)


@contextmanager
def _interrupt_later() -> Iterator[None]:
    """Hold an interrupt from the keyboard back for the few milliseconds of the block."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    held: list[int] = []

    def hold(number: int, _frame: FrameType | None) -> None:
        held.append(number)

    before = signal.signal(signal.SIGINT, hold)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)
    if held:
        raise KeyboardInterrupt
