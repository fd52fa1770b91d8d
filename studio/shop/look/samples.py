"""What the developers' page shows of each component: invented garments and hours."""

from typing import Any

from studio.shop.look.bars import Bar, Column, Columns, Part, Point, Trend

GARMENTS = [
    ("Trousers", "navy", ["Hem"]),
    ("Jeans", "denim", ["Taper legs", "Button"]),
    ("Shorts", "sand", ["Replace zip"]),
    ("Skirt", "plum", ["Hem", "Replace zip"]),
    ("Dress", "moss", ["Take in side seams"]),
    ("Evening dress", "ivory", ["Bustle", "Hem"]),
    ("Jacket", "charcoal", ["Shorten sleeves"]),
    ("Coat", "grey", ["Replace lining"]),
    ("Shirt", "white", ["Shorten sleeves"]),
    ("Knitwear", "rust", ["Small patch"]),
    ("Waistcoat", "black", ["Button"]),
    ("Jumpsuit", "teal", ["Take in waist"]),
    ("Children's wear", "sky", ["Patch knee"]),
    ("Pyjamas", "rose", ["Hem"]),
    ("Curtains", "mustard", ["Hem"]),
    ("Cushion", "terracotta", ["Replace zip"]),
    ("Bag", "brown", ["Replace zip"]),
    ("Protective clothing", "orange", []),
    ("Life jacket", "red", []),
    ("Something else", "", ["Hem"]),
]
ICONS = [
    "today", "week", "drop-off", "find", "more", "photo", "thread", "print", "message", "coin",
    "pin",
    "grip", "phone", "mail", "card", "clock", "back", "paper", "bank", "scan", "tick", "cross",
    "plus",
    "minus", "up", "down", "wall", "cloth", "idea", "year", "rail", "tickets", "person", "measure",
    "studio",
]  # fmt: skip
STATES = ["received", "in_work", "ready", "collected", "missed", "cancelled"]
SIZES = ["tile", "small", "middle", "large"]


def everything() -> dict[str, Any]:
    days = [(255, 75, 0, 30), (190, 140, 30, 0), (220, 120, 0, 20), (170, 85, 0, 45), (0, 0, 0, 0)]
    return {
        "garments": [
            {"kind": kind, "colour": colour, "work": work} for kind, colour, work in GARMENTS
        ],
        "sample_work": ["Take in side seams"],
        "sizes": SIZES,
        "icons": ICONS,
        "states": STATES,
        "bar": Bar(
            [
                Part("clients", 255, done=60), Part("own", 45), Part("releases", 30),
                Part("fittings", 30), Part("free", 60),
            ],
            size=420,
            must=230,
            ticks=60,
            about="Bench 7 h",
        ),
        "over_bar": Bar(
            [Part("clients", 300), Part("fittings", 60), Part("over", 70)],
            size=360,
            about="Bench 6 h",
        ),
        "columns": Columns(
            [
                Column(
                    name,
                    [
                        Part("clients", clients), Part("fittings", fittings), Part("own", own),
                        Part("free", free),
                    ],
                    current=name == "Tue",
                )
                for name, (clients, own, fittings, free) in zip(
                    ["Mon", "Tue", "Wed", "Thu", "Fri"], days, strict=True
                )
            ],
            about="Hours of a week by day",
        ),
        "trend": Trend(
            [
                Point(at, value, name, f"{value} cm")
                for at, value, name in [
                    (0, 70.5, "March"), (60, 71, "May"), (150, 72.5, "August"),
                    (240, 72, "November"),
                ]
            ],
            about="Waist over four sheets",
        ),
    }  # fmt: skip
