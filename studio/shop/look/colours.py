"""Colour words as people say them at a counter, and the calm dye a drawing has for each."""

import re

DYES = {
    "anthracite": "#45474b", "apricot": "#e3b184", "aqua": "#7fb8b5", "beige": "#cfc0a3",
    "black": "#3a383a", "blue": "#4d6e9e", "bordeaux": "#6d2f3c", "bottle green": "#2f5344",
    "brass": "#b39449", "bronze": "#8a6a3c", "brown": "#7a5a42", "burgundy": "#6d2f3c",
    "camel": "#bf9a69", "champagne": "#e6d8bb", "charcoal": "#55565a", "chocolate": "#5d4335",
    "copper": "#a9643f", "coral": "#d98672", "cream": "#efe5cd", "crimson": "#9c3440",
    "denim": "#52709a", "ecru": "#e3d8bd", "emerald": "#3c7a5e", "forest": "#3c5a45",
    "fuchsia": "#b5517f", "gold": "#c2a14d", "graphite": "#55565a", "green": "#5f8160",
    "grey": "#94979b", "gray": "#94979b", "indigo": "#46507f", "ivory": "#efe5cd",
    "khaki": "#8d8562", "lavender": "#a79cc0", "lemon": "#e6d77f", "lilac": "#b6a3c4",
    "lime": "#a5b85e", "magenta": "#a84a7c", "maroon": "#6d2f3c", "mauve": "#a5869b",
    "mint": "#a3c9b2", "moss": "#71824f", "mustard": "#c39a3c", "navy": "#33486a",
    "ochre": "#b98a3e", "olive": "#75753f", "orange": "#cf8647", "oyster": "#ddd3c4",
    "peach": "#e5b798", "petrol": "#2f5f6b", "pink": "#d9a0ae", "plum": "#75425f",
    "purple": "#71528a", "red": "#a8403f", "rose": "#cf9091", "rust": "#b2643a",
    "sage": "#96a888", "salmon": "#dd9c86", "sand": "#cdbb98", "scarlet": "#b23c36",
    "silver": "#b3b6ba", "sky": "#8db4cf", "slate": "#64707c", "stone": "#bdb3a3",
    "tan": "#b8946a", "taupe": "#94856f", "teal": "#3f7a78", "terracotta": "#b56b4c",
    "turquoise": "#5ba5a5", "violet": "#71528a", "white": "#f4f1ea", "wine": "#6d2f3c",
    "yellow": "#dcc263",
}  # fmt: skip
PLAIN = "#d5cab6"
"""Cloth whose colour nobody has said; the drawing then has a basted outline as well."""

SHADES = {
    "dark": -0.3,
    "deep": -0.22,
    "midnight": -0.35,
    "light": 0.35,
    "pale": 0.45,
    "pastel": 0.4,
}
WORDS = re.compile(
    r"(?<![a-z])(" + "|".join(sorted(DYES, key=len, reverse=True)) + r")(?![a-z])", re.IGNORECASE
)
SHADE = re.compile(r"(?<![a-z])(" + "|".join(SHADES) + r")(?![a-z])", re.IGNORECASE)


def channels(colour: str) -> tuple[int, int, int]:
    red, green, blue = (int(colour[at : at + 2], 16) for at in (1, 3, 5))
    return red, green, blue


def shaded(colour: str, by: float) -> str:
    """Towards white for a ``by`` of up to 1, towards black for one of down to -1."""
    goal = 255 if by > 0 else 0
    return "#" + "".join(
        f"{round(part + (goal - part) * abs(by)):02x}" for part in channels(colour)
    )


def dye(words: str) -> str:
    """The dye of the first colour in ``words``, or nothing: ``navy, faded`` is ``#33486a``."""
    named = WORDS.search(words)
    if not named:
        return ""
    colour = DYES[named[1].lower()]
    shade = SHADE.search(words[: named.start()])
    return shaded(colour, SHADES[shade[1].lower()]) if shade else colour


def luminance(colour: str) -> float:
    """Relative luminance from 0 to 1 (WCAG 2.2, definition of relative luminance)."""

    def linear(part: int) -> float:
        share = part / 255
        return share / 12.92 if share <= 0.04045 else ((share + 0.055) / 1.055) ** 2.4

    red, green, blue = (linear(part) for part in channels(colour))
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours, from 1 to 21 (WCAG 2.2, definition of contrast ratio)."""
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)
