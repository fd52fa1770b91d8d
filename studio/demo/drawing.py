"""Photographs, sketches and swatches for the demo studio, drawn by the program itself."""

import io
from random import Random

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image, ImageColor, ImageDraw, ImageFilter

SIZE = (900, 1100)
SCALE = 2  # Drawn at twice the size and shrunk, so that edges are smooth.

CLOTHS = {
    "navy": "#26355a",
    "charcoal": "#45464b",
    "black": "#232225",
    "grey": "#84868a",
    "rust": "#a4512f",
    "moss": "#5d6b3a",
    "ivory": "#e9e0cc",
    "rose": "#c97f86",
    "sky": "#86a9c9",
    "plum": "#5e3352",
}

# Outlines in hundredths of the sheet, from the left shoulder or waist clockwise.
OUTLINES: dict[str, list[tuple[int, int]]] = {
    "trousers": [(34, 14), (66, 14), (73, 86), (56, 86), (50, 40), (44, 86), (27, 86)],
    "skirt": [(38, 22), (62, 22), (78, 80), (22, 80)],
    "dress": [
        (38, 12), (44, 15), (56, 15), (62, 12), (66, 30), (60, 44), (78, 88), (22, 88), (40, 44),
        (34, 30),
    ],
    "top": [
        (40, 16), (60, 16), (72, 22), (86, 58), (76, 62), (67, 40), (67, 80), (33, 80), (33, 40),
        (24, 62), (14, 58), (28, 22),
    ],
    "curtain": [(20, 10), (80, 10), (82, 90), (18, 90)],
}  # fmt: skip
SHAPES = {
    "trousers": ("trouser", "jeans"),
    "skirt": ("skirt",),
    "dress": ("dress", "wedding", "gown"),
    "curtain": ("curtain", "other"),
}


def photograph(kind: str, colour: str, dice: Random) -> SimpleUploadedFile:
    """A garment of ``kind`` laid out on the cutting table, as a camera's JPEG."""
    sheet = _table(dice)
    draw = ImageDraw.Draw(sheet)
    outline = [_place(point, dice) for point in OUTLINES[_shape(kind)]]
    cloth = CLOTHS.get(colour, "#8c7b64")
    shadow = Image.new("L", sheet.size, 0)
    ImageDraw.Draw(shadow).polygon([(x + 18, y + 22) for x, y in outline], fill=110)
    sheet.paste("#2b2118", mask=shadow.filter(ImageFilter.GaussianBlur(16)))
    draw.polygon(outline, fill=cloth, outline="#1c1a18", width=5)
    _chalk(draw, outline)
    _pins(draw, outline, dice)
    file = io.BytesIO()
    sheet.resize(SIZE, Image.Resampling.LANCZOS).save(file, "JPEG", quality=88)
    return SimpleUploadedFile("garment.jpg", file.getvalue(), content_type="image/jpeg")


def sketch(kind: str, colour: str) -> SimpleUploadedFile:
    """A garment of ``kind`` as one draws it in a minute: an outline on white paper, as a PNG."""
    paper = Image.new("RGB", (960, 1200), "white")
    draw = ImageDraw.Draw(paper)
    outline = [(x * 9.6, y * 12) for x, y in OUTLINES[_shape(kind)]]
    draw.polygon(outline, fill=_paler(CLOTHS[colour]))
    draw.line([*outline, *outline[:2]], fill="#1c1a18", width=10, joint="curve")
    return _png("sketch.png", paper.resize((480, 600), Image.Resampling.LANCZOS))


def swatch(colour: str) -> SimpleUploadedFile:
    """A snip of cloth: threads over and under, as a PNG."""
    snip = Image.new("RGB", (240, 240), CLOTHS[colour])
    draw = ImageDraw.Draw(snip)
    for at in range(0, 240, 6):
        draw.line((at, 0, at, 240), fill=_paler(CLOTHS[colour]))
        draw.line((0, at + 3, 240, at + 3), fill="#1c1a18")
    return _png("swatch.png", snip.resize((120, 120), Image.Resampling.LANCZOS))


def _paler(colour: str) -> tuple[int, ...]:
    return tuple((part + 255) // 2 for part in ImageColor.getrgb(colour)[:3])


def _png(name: str, image: Image.Image) -> SimpleUploadedFile:
    file = io.BytesIO()
    image.save(file, "PNG")
    return SimpleUploadedFile(name, file.getvalue(), content_type="image/png")


def _shape(kind: str) -> str:
    words = kind.lower()
    return next((shape for shape, names in SHAPES.items() if any(n in words for n in names)), "top")


def _table(dice: Random) -> Image.Image:
    sheet = Image.new("RGB", (SIZE[0] * SCALE, SIZE[1] * SCALE), "#d9c7a6")
    draw = ImageDraw.Draw(sheet)
    for plank in range(0, sheet.width, 220):
        shade = dice.randint(-8, 8)
        draw.rectangle((plank, 0, plank + 216, sheet.height), fill=_tint((217, 199, 166), shade))
    for mark in range(0, sheet.width, 60):
        draw.line((mark, 0, mark, 60 if mark % 300 == 0 else 30), fill="#6b5b41", width=4)
    return sheet


def _tint(colour: tuple[int, int, int], shade: int) -> tuple[int, int, int]:
    red, green, blue = (max(0, min(255, part + shade)) for part in colour)
    return red, green, blue


def _place(point: tuple[int, int], dice: Random) -> tuple[float, float]:
    x, y = point
    return (
        (x + dice.uniform(-0.7, 0.7)) * SIZE[0] * SCALE / 100,
        (y + dice.uniform(-0.7, 0.7)) * SIZE[1] * SCALE / 100,
    )


def _chalk(draw: ImageDraw.ImageDraw, outline: list[tuple[float, float]]) -> None:
    """A dashed chalk line a hand's breadth above the lowest edge."""
    low = max(y for _, y in outline)
    edge = sorted(x for x, y in outline if low - y < 60)
    y = low - 130
    for x in range(int(edge[0]) + 30, int(edge[-1]) - 30, 46):
        draw.line((x, y, x + 24, y), fill="#fbf7ec", width=8)


def _pins(draw: ImageDraw.ImageDraw, outline: list[tuple[float, float]], dice: Random) -> None:
    for x, y in dice.sample(outline, 3):
        middle = SIZE[0] * SCALE / 2
        inward = x + (middle - x) * 0.12
        draw.line((x, y, inward, y + 40), fill="#e8e8ea", width=6)
        draw.ellipse((x - 13, y - 13, x + 13, y + 13), fill=dice.choice(["#c8372d", "#e7c46a"]))
