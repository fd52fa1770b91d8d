"""What the owner of the demo studio has and dreams of. All of it is invented."""

from typing import Any, NamedTuple

from jobs.makes.models import Cloth, State

Kind = Cloth.Kind


class Stuff(NamedTuple):
    """Cloth as it is written down, bought so many days ago."""

    name: str
    kind: str
    colour: str
    width: str
    length: str
    ago: int
    facts: dict[str, Any] = {}


STUFFS = [
    Stuff("Sand linen", Kind.WOVEN, "ivory", "150 cm", "1.9 m", 200,
          {"fibre": "linen", "shrink_along": 7, "shrink_across": 3, "price": 3800}),
    Stuff("Sky plaid", Kind.WOVEN, "sky", "150 cm", "2.5 m", 320,
          {"fibre": "cotton", "washed": True, "one_way": True, "price": 2990}),
    Stuff("Navy wool", Kind.SUITING, "navy", "148 cm", "4.3 m", 400,
          {"fibre": "wool", "washed": True, "price": 11200}),
    Stuff("Rust corduroy", Kind.VELVET, "rust", "140 cm", "2.4 m", 150,
          {"fibre": "cotton", "one_way": True, "price": 3600}),
    Stuff("Grey jersey", Kind.KNIT, "grey", "160 cm", "3.2 m", 260,
          {"fibre": "viscose and elastane", "washed": True, "price": 4200}),
    Stuff("Moss cotton", Kind.WOVEN, "moss", "115 cm", "4.5 m", 2400,
          {"fibre": "cotton", "washed": True, "note": "the oldest piece on the shelf"}),
]  # fmt: skip


class Drawn(NamedTuple):
    """A pattern with the lengths it asks for, by width."""

    name: str
    garment: str
    kinds: list[str]
    needs: dict[str, str]
    minutes: int
    stops: bool = True
    widest: str = ""


DRAWER = [
    Drawn("Shell top", "top", [Kind.WOVEN, Kind.SHEER], {"150 cm": "1.6 m"}, 250, widest="68 cm"),
    Drawn("Wrap dress", "dress", [Kind.WOVEN, Kind.KNIT], {"115 cm": "3.6 m", "150 cm": "2.7 m"},
          540, widest="112 cm"),
    Drawn("Gathered skirt", "skirt", [], {"115 cm": "2.4 m", "140 cm": "2.1 m"}, 200, stops=False),
    Drawn("Pyjama trousers", "trousers", [Kind.WOVEN], {"115 cm": "2.5 m"}, 300, widest="76 cm"),
    Drawn("Work coat", "coat", [Kind.DENIM, Kind.SUITING, Kind.VELVET], {"150 cm": "2.6 m"}, 900),
]  # fmt: skip


class Thought(NamedTuple):
    """A make: its words, how much it excites, what it would be made of, and how far it is."""

    words: str
    heat: int | None = None
    pattern: str = ""
    cloth: str = ""
    length: str = ""
    state: State = State.IDEA
    facts: dict[str, Any] = {}


WALL = [
    Thought("Something for the garden, with deep pockets", 2),
    Thought("Quilt of all the shirting scraps"),
    Thought("Velvet bag for the choir folder", 3, cloth="Rust corduroy"),
    Thought("Wrap dress for the long weekend", 5, "Wrap dress", "Sky plaid",
            facts={"season": "summer"}),
    Thought("Pyjamas out of the oldest cloth", 2, "Pyjama trousers", "Moss cotton"),
    Thought("Shell top in linen", 4, "Shell top", "Sand linen", state=State.LINED_UP),
    Thought("Skirt for the autumn concert", 4, "Gathered skirt", "Rust corduroy", "2.1 m",
            State.LINED_UP, {"minutes": 200, "season": "autumn", "occasion": "concert"}),
    Thought("Jersey dress, sleeves to the wrist", 5, "Wrap dress", "Grey jersey", "2.9 m",
            State.UNDER_WAY),
]  # fmt: skip

MADE = [
    ("Navy trousers with a high waist", "trousers", "navy", "1.5 m", "Sew the fly first.", "often"),
    ("Linen apron for Wren", "top", "ivory", "", "", "given"),
    ("Moss skirt, gathered", "skirt", "moss", "", "Fewer gathers next time.", "rarely"),
    ("Plum dress on a whim", "dress", "plum", "", "", ""),
]  # fmt: skip
"""Words, shape, colour, what was cut of the navy wool, what was learnt, and what became of it."""

STAGES = [("Draft", 2400, True), ("Toile", 2700, True), ("Grade", 2700, True),
          ("Test", 3600, False), ("Write up", 1200, False), ("Publish", 360, False)]  # fmt: skip
TESTERS = [("M.", "38", 40, 20), ("Ada", "44", 40, 12), ("J. K.", "50", 38, None)]
"""First names or initials, size, and days since the pattern was sent and came back."""
