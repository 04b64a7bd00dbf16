"""The lit picture, what happens where it cannot be drawn, and the window."""

from __future__ import annotations

import os
import subprocess
import sys
from io import BytesIO

import numpy as np
import pytest
from picture_sample import sample_plan
from PIL import Image

from barnloom.routing.store import plan_to_json
from barnloom.viewer import pictures
from barnloom.viewer.isometric import isometric
from barnloom.viewer.layout import layout
from barnloom.viewer.palette import styles
from barnloom.viewer.pictures import make_pictures, picture
from barnloom.viewer.png import to_image, to_png
from barnloom.viewer.scene3d import dashes
from barnloom.viewer.window import NoScreenError, show

PLAN = sample_plan()
LINE_DRAWING = to_png(to_image(isometric(PLAN)))


@pytest.fixture(scope="module")
def lit() -> Image.Image:
    png, talk = picture(PLAN)
    if talk:
        assert "CI" not in os.environ, talk
        pytest.skip(talk[0])
    assert (png[24], png[25]) == (8, 2)
    return Image.open(BytesIO(png))


def near(image: Image.Image, colour: str) -> np.ndarray:
    """Which pixels have about a colour's hue; light and shade change how bright it is."""
    wanted = np.array([int(colour[i : i + 2], 16) for i in (1, 3, 5)], dtype=float)
    pixels = np.asarray(image, dtype=float)
    size = np.linalg.norm(pixels, axis=-1) * np.linalg.norm(wanted)
    return (pixels @ wanted > 0.985 * size) & (np.ptp(pixels, axis=-1) > 60)


def test_lit_picture_is_rgb_and_1600_wide(lit):
    assert (lit.mode, lit.width) == ("RGB", 1600)


def test_lit_picture_shows_every_circuit_where_its_cables_are(lit):
    laid = layout(PLAN)
    for cable, line in zip(laid.plan.cables, laid.lines(), strict=True):
        hits = near(lit, styles(PLAN)[cable.circuit].colour)
        dense = np.concatenate([np.linspace(a, b, 30) for a, b in zip(line, line[1:], strict=False)])
        at = (dense - [laid.bounds.left, laid.bounds.top]) / laid.px * [1, -1]
        x, y = at.astype(int).T
        on = [hits[b - 2 : b + 3, a - 2 : a + 3].any() for a, b in zip(x, y, strict=True)]
        # Dashes, rings and labels lie over some of it; it is hit far more often than not all the same.
        assert np.mean(on) > 0.4, cable.id


def test_framing_is_seen_but_hides_little(lit):
    grey = np.asarray(lit.convert("L"))[100:-80, :1150]
    assert 0.1 < (grey < 250).mean() < 0.6
    assert (grey < 190).mean() < 0.1


@pytest.mark.parametrize(
    ("stub", "reason"),
    [
        ("kill -SEGV $$", "signal 11"),
        ("echo no GL here >&2; exit 1", "no GL here"),
        ("exit 0", "drew nothing"),
    ],
)
def test_a_crash_of_the_renderer_gives_the_line_drawing_and_one_line(stub, reason, monkeypatch):
    monkeypatch.setattr(pictures, "_environments", lambda: [dict(os.environ)])
    png, talk = picture(PLAN, render=("sh", "-c", stub))
    assert png == LINE_DRAWING
    (line,) = talk
    assert reason in line
    assert "libosmesa6" in line
    assert "\n" not in line


def test_a_renderer_that_hangs_is_given_up(monkeypatch):
    monkeypatch.setattr(pictures, "TIMEOUT_S", 0.2)
    monkeypatch.setattr(pictures, "_environments", lambda: [dict(os.environ)])
    png, talk = picture(PLAN, render=("sh", "-c", "exec sleep 30"))
    assert png == LINE_DRAWING
    assert "0 s" in talk[0]


def test_without_any_gl_library_nothing_is_tried(monkeypatch):
    monkeypatch.setattr(pictures.ctypes.util, "find_library", lambda name: None)
    monkeypatch.delenv("VTK_DEFAULT_OPENGL_WINDOW", raising=False)
    monkeypatch.setattr(sys, "platform", "linux")
    png, talk = picture(PLAN, render=("sh", "-c", "exit 7"))
    assert png == LINE_DRAWING
    assert "neither EGL nor OSMesa" in talk[0]


def test_pictures_are_written_whole_and_leave_nothing_else(tmp_path, monkeypatch):
    monkeypatch.setattr(pictures, "picture", lambda plan: (LINE_DRAWING, ["a line"]))
    (tmp_path / "picture.png").write_bytes(b"older")
    assert make_pictures(PLAN, tmp_path) == ["a line"]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["building.glb", "picture.png"]
    assert (tmp_path / "picture.png").read_bytes() == LINE_DRAWING
    assert (tmp_path / "building.glb").read_bytes()[:4] == b"glTF"


def test_renderer_names_a_plan_that_it_cannot_read(tmp_path):
    (tmp_path / "plan.json").write_text(plan_to_json(PLAN)[:-20])
    command = [sys.executable, "-m", "barnloom.viewer.render", str(tmp_path / "plan.json"), str(tmp_path / "out.png")]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    assert done.returncode > 0
    assert not (tmp_path / "out.png").exists()


def test_dashes_cut_a_line_on_and_off_round_its_bends():
    path = np.array([[0.0, 0, 0], [10, 0, 0], [10, 10, 0]])
    pieces = dashes(path, [4.0, 2.0])
    lengths = [np.linalg.norm(np.diff(piece, axis=0), axis=1).sum() for piece in pieces]
    assert lengths == pytest.approx([4, 4, 4, 2])
    assert pieces[1] == pytest.approx(np.array([[6, 0, 0], [10, 0, 0]]))
    assert pieces[2] == pytest.approx(np.array([[10, 2, 0], [10, 6, 0]]))
    assert dashes(path, []) == [path]


def test_a_window_without_a_screen_is_one_clear_line(monkeypatch):
    monkeypatch.setattr(sys, "platform", "linux")
    monkeypatch.delenv("DISPLAY", raising=False)
    with pytest.raises(NoScreenError, match="no screen.*--picture"):
        show(PLAN)
