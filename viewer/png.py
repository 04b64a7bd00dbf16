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

_PIXELS_PER_INCH, _POINTS_PER_INCH, _MM_PER_INCH = 96, 72, 25.4
_SHEET = """
#set document(date: none)
#set page(width: float(sys.inputs.side) * 1pt, height: float(sys.inputs.side) * 1pt, margin: 0pt, fill: none)
#image(bytes(sys.inputs.drawing), format: "svg", width: 100% - 0.01pt, height: 100% - 0.01pt)
"""
"""A pixel is a point here. Typst draws an SVG one row too high wherever a ratio comes out a hair large, and squeezes
it, which loses a row: so a drawing stands on a square, a hair smaller than its page, and is cut to size afterwards."""


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

    bounds = drawing.bounds
    height_px = round(width_px * bounds.height_in / bounds.width_in)
    side_px = max(width_px, height_px)
    side_in = side_px * bounds.width_in / width_px
    square = replace(bounds, right=bounds.left + side_in, bottom=bounds.top - side_in)
    items = tuple(replace(i, text=drawable(i.text)) if isinstance(i, Text) else i for i in drawing.items)
    svg = to_svg(replace(drawing, items=items, bounds=square), width_mm=side_px / _PIXELS_PER_INCH * _MM_PER_INCH)
    page = typst.compile(
        _SHEET.encode(),
        format="png",
        ppi=_POINTS_PER_INCH,
        font_paths=typst.Fonts(False, False, [str(FONT_FOLDER)]),
        sys_inputs={"drawing": svg, "side": str(side_px)},
    )
    return Image.open(BytesIO(page)).convert("RGBA").crop((0, 0, width_px, height_px))


def to_png(image: Image) -> bytes:
    """Return the image on white as an 8-bit RGB PNG."""
    from PIL import Image

    ground = Image.new("RGBA", image.size, "white")
    ground.alpha_composite(image.convert("RGBA"))
    file = BytesIO()
    ground.convert("RGB").save(file, format="PNG")
    return file.getvalue()
