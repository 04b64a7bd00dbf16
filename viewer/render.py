"""Draw lit pictures of a plan: ``python -m barnloom.viewer.render PLAN.json LOOKS.json FOLDER``.

A program of its own, run by `barnloom.viewer.pictures`: where the machine has no OpenGL, VTK takes the process down.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path

from barnloom.routing.plan import Plan
from barnloom.viewer.captions import captions
from barnloom.viewer.drawing import Drawing
from barnloom.viewer.layout import WIDTH_PX, layout
from barnloom.viewer.look import Look, looks_from_json
from barnloom.viewer.png import to_image, to_png
from barnloom.viewer.scene3d import aim, scene


def rendered(plan: Plan, look: Look | None = None) -> bytes:
    """
    Render what a look shows of a plan, and write title, labels and legend over it.

    Returns
    -------
    bytes
        An 8-bit RGB PNG.
    """
    import numpy as np
    import pyvista as pv
    from PIL import Image

    laid = layout(plan, look)
    height_px = round(WIDTH_PX * laid.bounds.height_in / laid.bounds.width_in)
    plotter = pv.Plotter(off_screen=True, window_size=[WIDTH_PX, height_px], lighting="none")
    try:
        plotter.background_color = pv.Color("white")
        plotter.enable_anti_aliasing("ssaa")
        scene(laid, plotter)
        aim(plotter, laid.view, laid.bounds)
        image = Image.fromarray(np.asarray(plotter.screenshot(return_img=True))).convert("RGBA")
    finally:
        plotter.close()
    over = Drawing(title=plan.building.title, items=captions(laid), bounds=laid.bounds)
    image.alpha_composite(to_image(over, width_px=WIDTH_PX))
    return to_png(image)


def main(argv: Sequence[str]) -> int:
    """Read the plan named first and the looks named second, write a picture of each look into the folder."""
    from barnloom.routing.store import read_plan
    from barnloom.viewer.files import write_file

    plan, looks, folder = argv
    read = read_plan(Path(plan))
    for name, look in looks_from_json(Path(looks).read_text(encoding="utf-8")).items():
        write_file(Path(folder) / name, rendered(read, look), replace=True)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
