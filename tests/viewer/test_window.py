"""The window: what keys and clicks do, in one that is drawn without a screen."""

from __future__ import annotations

import os
import subprocess
import sys

import numpy as np
import pytest
from test_look import planned

from barnloom.model.building import Role
from barnloom.viewer import pictures
from barnloom.viewer.look import BEHIND, Look, before_the_eye
from barnloom.viewer.pointing import Thing
from barnloom.viewer.window import Window

SIZE = (560, 400)
_PROBE = "import pyvista; pyvista.Plotter(off_screen=True).screenshot()"


@pytest.fixture(scope="module")
def drawable():
    """Let VTK draw without a screen; skips where it cannot, which a child process tries, as it may crash."""
    for environment in pictures._environments():
        if not subprocess.run(
            [sys.executable, "-c", _PROBE], env=environment, capture_output=True, check=False
        ).returncode:
            with pytest.MonkeyPatch.context() as patch:
                for name, value in environment.items():
                    patch.setenv(name, value)
                yield
            return
    why = "3D cannot be drawn here"
    assert "CI" not in os.environ, why
    pytest.skip(why)


class Shown:
    """A window and what a person does with it."""

    def __init__(self, look: Look) -> None:
        import pyvista as pv

        self.plan = planned("sail-loft")
        self.plotter = pv.Plotter(off_screen=True, window_size=SIZE, lighting="none")
        self.window = Window(self.plan, self.plotter, look)
        self.plotter.render()

    def press(self, key: str) -> Look:
        self.plotter.iren.interactor.SetKeySym(key)
        self.plotter.iren.interactor.InvokeEvent("KeyPressEvent")
        return self.window.look

    def pixel(self, place) -> tuple[float, float]:
        renderer = self.plotter.renderer
        renderer.SetWorldPoint(*place, 1.0)
        renderer.WorldToDisplay()
        x, y, _ = renderer.GetDisplayPoint()
        return x, y

    def press_mouse(self, x: float, y: float) -> str:
        """Press and release the left button; return what the window says."""
        interactor = self.plotter.iren.interactor
        interactor.SetEventInformation(round(x), round(y))
        interactor.InvokeEvent("LeftButtonPressEvent")
        interactor.InvokeEvent("LeftButtonReleaseEvent")
        return self.said

    @property
    def said(self) -> str:
        return self.plotter.actors["said"].GetText(2)

    def drawn(self) -> np.ndarray:
        return np.asarray(self.plotter.screenshot(return_img=True)).astype(int)


@pytest.fixture
def shown(drawable):
    each = Shown(Look())
    yield each
    each.plotter.close()


def test_keys_go_round_and_come_back(shown):
    circuits = [circuit.id for circuit in shown.plan.building.circuits]
    assert [shown.press("k").circuits for _ in range(len(circuits) + 1)] == [*((name,) for name in circuits), ()]
    assert [shown.press("l").storeys for _ in range(3)] == [("SHOP",), ("LOFT",), ()]
    hidden = [shown.press("h").without_roles for _ in range(5)]
    assert Role.STUD in hidden[0]
    assert Role.JOIST in hidden[1]
    assert {Role.STUD, Role.JOIST} <= set(hidden[2])
    assert set(hidden[3]) == set(Role)
    assert hidden[4] == ()
    assert shown.window.look == Look()


def test_what_a_key_hides_is_gone_from_the_window_and_comes_back(shown):
    whole = shown.drawn()
    shown.press("l")
    shown.press("l")
    assert "storey LOFT" in shown.said
    loft = shown.drawn()
    assert np.abs(loft - whole).mean() > 0.5
    assert (loft < 250).sum() < (whole < 250).sum()
    shown.press("l")
    assert np.abs(shown.drawn() - whole).mean() < 0.05


def test_cut_open_takes_the_walls_that_stand_before_the_eye_as_it_is_now(shown):
    assert shown.press("x").without == ("EAST", "GABLE-E", "KNEE-S", "SOUTH")
    assert shown.press("x").without == ()
    shown.plotter.camera.azimuth = 180
    assert shown.press("x").without == before_the_eye(shown.plan, BEHIND) == ("GABLE-W", "KNEE-N", "NORTH", "WEST")


def test_from_below_and_back_up(shown):
    assert shown.press("d").view.elevation_deg < 0
    assert shown.plotter.camera.position[2] < shown.plotter.camera.focal_point[2]
    assert shown.press("d") == Look()
    assert shown.plotter.camera.position[2] > shown.plotter.camera.focal_point[2]


def test_a_click_says_what_is_there(shown):
    laid = shown.window._laid
    for box in laid.plan.building.boxes:
        found = shown.window.click(*shown.pixel(box.at))
        assert found is not None
        assert found.kind in {"box", "hole"}
        if found == Thing("box", box.id):
            assert f"{box.kind} {box.id}:" in shown.said
    for bore, places in zip(laid.plan.bores, laid.rings, strict=True):
        found = shown.window.click(*shown.pixel(places[0]))
        assert found is not None
        assert found.kind == "hole"
        if found.id == bore.id:
            assert f"hole {bore.id}:" in shown.said
    panel = laid.plan.building.boxes[0]
    assert "panel PANEL: " in shown.press_mouse(*shown.pixel(panel.at))
    assert "PANEL" not in shown.press_mouse(3, SIZE[1] / 2)


def test_a_click_still_meets_after_turning_and_coming_nearer(shown):
    shown.plotter.camera.azimuth = 70
    shown.plotter.camera.elevation = -20
    shown.plotter.camera.zoom(2.5)
    shown.plotter.reset_camera_clipping_range()
    shown.plotter.render()
    boxes = [b for b in shown.window._laid.plan.building.boxes if b.kind != "stub"]
    found = [shown.window.click(*shown.pixel(box.at)) for box in boxes]
    assert all(thing is not None and thing.kind in {"box", "hole"} for thing in found)
    assert sum(thing == Thing("box", box.id) for thing, box in zip(found, boxes, strict=True)) > 0.6 * len(boxes)


def test_a_window_may_begin_with_a_part(drawable):
    each = Shown(Look(circuits=("BENCH",)))
    assert "circuit BENCH" in each.said
    assert each.press("k").circuits == (each.plan.building.circuits[1].id,)
    each.plotter.close()
