"""Garments, bars and charts as SVG for papers: told apart by tone and hatching, so in grey too.

Each is a picture that a paper names as ``memory:name`` with its words. Lengths are millimetres.
"""

import re
from collections.abc import Iterator
from functools import lru_cache
from html import escape
from pathlib import Path

from studio.shop.look.bars import Bar, Columns
from studio.shop.look.garments import Drawing

SYMBOLS = Path(__file__).parents[1] / "static" / "studio" / "garments.svg"
SYMBOL = re.compile(r'<symbol id="([\w-]+)"[^>]*>(.*?)</symbol>', re.DOTALL)
HANGER = "#574e43"

# The tones of the pages: dark, middle and pale, so that they differ without colour.
TONES = {
    "clients": "#14594f",
    "own": "#d08a55",
    "releases": "#8f8cc4",
    "fittings": "#ffffff",
    "appointments": "#ffffff",
    "free": "#ffffff",
    "lost": "#d8d2c6",
    "over": "#b3261e",
    "coin-1": "#14594f",
    "coin-2": "#7fb3a4",
    "coin-3": "#c3ddd4",
}
STRIPES = {
    "releases": "#ffffff",
    "over": "#ffffff",
    "fittings": "#1f1c18",
    "appointments": "#1f1c18",
}
OTHER = "#999999"
BAR_HIGH = 9.0
LETTERS = 2.9  # 8 pt and a little, in mm


@lru_cache(maxsize=1)
def _symbols() -> dict[str, str]:
    return dict(SYMBOL.findall(SYMBOLS.read_text(encoding="utf-8")))


def _svg(width: float, height: float, body: str) -> bytes:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.2f}mm" height="{height:.2f}mm" '
        f'viewBox="0 0 {width:.2f} {height:.2f}">{body}</svg>'
    ).encode()


@lru_cache(maxsize=512)
def garment_svg(drawing: Drawing) -> bytes:
    """A garment as the pages draw it, with its work as stitches."""
    cloth = _symbols()[drawing.symbol].replace("currentColor", drawing.dye)
    loose = "" if drawing.known else ' stroke-dasharray="3 2"'
    marks = (
        f'<path fill="none" stroke="{drawing.thread}" stroke-width="1.8" stroke-linecap="round" '
        f'stroke-dasharray="3 2" d="{escape(drawing.marks)}"/>'
        if drawing.marks
        else ""
    )
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 80 100">'
        f'<g fill="none" stroke="{HANGER}"{loose}>{cloth}</g>{marks}</svg>'
    ).encode()


def _box(kind: str, x: float, y: float, width: float, height: float) -> str:
    """A part of one tone with an outline, its stripes across it."""
    fill = TONES.get(kind, OTHER)
    box = (
        f'<rect x="{x:.2f}" y="{y:.2f}" width="{max(width, 0.1):.2f}" height="{height:.2f}" '
        f'fill="{fill}" stroke="#1f1c18" stroke-width="0.15"/>'
    )
    return box + "".join(_stripes(STRIPES[kind], x, y, width, height)) if kind in STRIPES else box


def _stripes(colour: str, x: float, y: float, width: float, height: float) -> Iterator[str]:
    """Lines that rise to the right, 2 mm apart, each cut to its box."""
    along = 2.0
    while along < width + height:
        left, right = max(0.0, along - height), min(along, width)
        yield (
            f'<path stroke="{colour}" stroke-width="0.6" d="M{x + left:.2f} '
            f"{y + height - (height - (along - left)):.2f}L{x + right:.2f} "
            f'{y + along - right:.2f}"/>'
        )
        along += 2.0


def strut_svg(kind: str, height: float, width: float = 1.6) -> bytes:
    """The side of a block as high as its time is long."""
    return _svg(width, height, _box(kind, 0.1, 0.1, width - 0.2, height - 0.2))


def key_svg(kind: str) -> bytes:
    return _svg(4, 3, _box(kind, 0.1, 0.1, 3.8, 2.8))


def _share(text: str) -> float:
    return float(text.removesuffix("%")) / 100


def bar_svg(bar: Bar, width: float) -> bytes:
    """Parts laid end to end; a mark stands where the must-do ends."""
    body = [
        _box(piece.kind, width * _share(piece.x), 2, width * _share(piece.width), BAR_HIGH)
        for piece in bar.pieces
    ]
    for at, low, high in ((bar.end, 0.5, BAR_HIGH + 3), (bar.chalk, 0.0, BAR_HIGH + 3)):
        if at:
            x = min(width * _share(at), width - 0.4)
            body.append(f'<path stroke="#000" stroke-width="0.8" d="M{x:.2f} {low}V{high}"/>')
    return _svg(width, BAR_HIGH + 3, "".join(body))


def columns_svg(chart: Columns, width: float, height: float) -> bytes:
    """Columns on one scale, standing on their line, with the first letters of their names."""
    body = [
        _box(
            block.kind,
            width * _share(block.x),
            height * _share(block.y),
            width * _share(block.width),
            height * _share(block.height),
        )
        for block in chart.blocks
    ]
    line = height * (_share(chart.line) if chart.line else 1) - 0.1
    body.append(f'<path stroke="#000" stroke-width="0.3" d="M0 {line:.2f}H{width}"/>')
    body += [
        f'<text x="{width * chart.room * (number + 0.5):.2f}" y="{height + 3.6:.2f}" '
        f'font-family="Studio Inter" font-size="{LETTERS}" text-anchor="middle">'
        f"{escape(column.name[:3])}</text>"
        for number, column in enumerate(chart.columns)
    ]
    return _svg(width, height + 5, "".join(body))
