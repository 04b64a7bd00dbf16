"""A drawing as a PNG picture, with the fonts that are shipped here and no others: the same bytes on every machine."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO
from typing import TYPE_CHECKING

from barnloom.viewer.drawing import Drawing, Text
from barnloom.viewer.lettering import FONT_FOLDER, drawable
from barnloom.viewer.svg import to_svg

if TYPE_CHECKING:
    from PIL.Image import Image

PIXELS_PER_INCH = 144.0
_SHEET = """
#set document(date: none)
#set page(width: float(sys.inputs.width) * 1in, height: float(sys.inputs.height) * 1in, margin: 0pt, fill: none)
#image(bytes(sys.inputs.drawing), format: "svg", width: 100%, height: 100%)
"""


def to_image(drawing: Drawing, *, width_px: int = 1600) -> Image:
    """
    Draw on a transparent ground; signs that the fonts lack come out as a visible box.

    Parameters
    ----------
    drawing : Drawing
        In inches.
    width_px : int
        Width of the image; the height follows from the drawing's bounds.
    """
    import typst
    from PIL import Image

    height_px = round(width_px * drawing.bounds.height_in / drawing.bounds.width_in)
    items = tuple(replace(i, text=drawable(i.text)) if isinstance(i, Text) else i for i in drawing.items)
    svg = to_svg(replace(drawing, items=items), width_mm=width_px / PIXELS_PER_INCH * 25.4)
    page = typst.compile(
        _SHEET.encode(),
        format="png",
        ppi=PIXELS_PER_INCH,
        font_paths=typst.Fonts(False, False, [str(FONT_FOLDER)]),
        sys_inputs={
            "drawing": svg,
            "width": str(width_px / PIXELS_PER_INCH),
            "height": str(height_px / PIXELS_PER_INCH),
        },
    )
    return Image.open(BytesIO(page)).convert("RGBA")


def to_png(image: Image) -> bytes:
    """Return the image on white as an 8-bit RGB PNG."""
    from PIL import Image

    ground = Image.new("RGBA", image.size, "white")
    ground.alpha_composite(image.convert("RGBA"))
    file = BytesIO()
    ground.convert("RGB").save(file, format="PNG")
    return file.getvalue()
