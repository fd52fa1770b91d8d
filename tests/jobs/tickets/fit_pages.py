"""The fit pages: how each sum is asked, and how its page is read."""

import html
import re

from django.urls import reverse

from studio.shop.models import Profile
from tests.drafts import hem

LET_OUT = {"way": "out", "total": "4", "place": "other", "name1": "Side", "count1": "2",
           "room1": "2", "keep1": "1"}  # fmt: skip
# Filled so that each has an answer, and what that answer must say, reckoned by hand.
ASKED = {
    "alter": (LET_OUT, "4 cm can be let out."),
    "hem": (
        {"garment": "trousers", "floor": "80", "heel": "3", "above": "2", "depth": "4",
         "layers": "1"},
        "Finish at 81 cm, cut at 85 cm.",
    ),
    "circle": (
        {"share": "1", "waist": "72", "skirt_length": "60", "depth": "2", "layers": "2"},
        "The hem is 449 cm round; 12.6 cm has to be eased in.",
    ),
    "flare": (
        {"edge": "32", "depth": "5", "above": "30", "layers": "1"},
        "4 cm has to be eased in all round.",
    ),
    "legs": (
        {"knee": "22", "hem": "20", "new_hem": "16", "down": "44", "instep": "31"},
        "At the hem 2 cm comes off at each seam.",
    ),
    "waist": (
        {"waist": "70", "ease": "1.5", "overlap": "3", "allowance": "1.5", "shorter": "10"},
        "Finished waist 71.5 cm; cut the band 77.5 cm long.",
    ),
    "skirt": (
        {"share": "1", "waist": "110", "skirt_length": "50", "seams": "0", "allowance": "1",
         "depth": "1", "width": "150"},
        # 17.507 cm by 2 pi r; less 1 cm; 17.507 + 50 + 1 = 68.5; two side by side, twice.
        "Cut the waist at 16.5 cm and the hem at 68.5 cm from the middle. It takes 137.1 cm",
    ),
    "buttons": (
        {"opening": "60", "count": "6", "top": "2", "bottom": "8", "diameter": "1.8",
         "thickness": "3 mm"},
        # (60 - 2 - 8) / 5 = 10; 18 + 3 mm = 2.1 cm.
        "Buttons 10 cm apart, buttonholes 2.1 cm long.",
    ),
    "sleeve": (
        {"now": "62", "by": "2", "way": "cuff", "opening": "vent", "high": "10", "buttons": "3"},
        # 4 + 2 x 1.5 + 3/4 in (1.905) have to stay: 8.905 of 10, so 1.0 can go.
        "No: at most 1 cm before the vent is lost.",
    ),
    "zip": (
        {"opening": "20", "above": "1", "ends": "closed", "waist": "70", "hip": "100"},
        # Two edges of 20 add 40 to 70; of 20 one stays free, so 19 of the next that is sold.
        "A zip of 20 cm, shortened to 19 cm with a new stop.",
    ),
    "bustle": (
        {"train": "60", "wide": "160", "floor": "104"},
        # In the middle 60 and 2.5 from hooks at 20; at half of either side 60 x 0.866 = 52.
        "3 points; the middle one 82.5 cm below the waist.",
    ),
    "curtain": (
        {"rail": "200", "drop": "230", "heading": "gathered", "pair": "on", "bolt": "140"},
        # Half of 200 x 1.5 = 150; one of 140 less 10 is 130, half a one more 197; 230 + 2.54 + 18.
        "3 widths, each cut 250.6 cm long.",
    ),
    "pleats": (
        {"finished": "72", "count": "24", "fold": "knife", "depth": "2"},
        # 24 x (3 + 2 x 2) = 168.
        "168 cm of cloth: 24 of 3 cm, folded 2 cm deep.",
    ),
    "gathers": (
        {"finished": "80", "fullness": "2.5", "width": "140", "allowance": "1.5"},
        "200 cm of cloth, 2.5 times as full.",
    ),
    "cloth": (
        {"amount": "2 yd", "width": "60 in", "other": "54 in", "step": "1/8 yd"},
        "Buy 2 1/4 yd.",  # by the chart
    ),
    "patch": (
        {"wide": "2 in", "high": "1 in", "to_seam": "1 in"},
        "Cut a patch of 8.9 cm \N{MULTIPLICATION SIGN} 6.4 cm; it may be fused.",
    ),
}  # fmt: skip


def address(garment, kind="alter"):
    return reverse("fit-sum", args=[garment.pk, kind])


def words(response) -> str:
    shown = re.sub(r"<[^>]+>", " ", response.text.partition("<main")[2])
    return " ".join(html.unescape(shown).split())


def inches(studio: Profile) -> None:
    studio.unit = Profile.Unit.INCH
    studio.save()


def named(work):
    return hem(name=work)


# Work that a sum answers, and so no other: common practice of the trade.
ANSWERED = {
    "alter": "Take in waist", "hem": "Hem", "circle": "Hem, cut on the circle or bias",
    "legs": "Taper legs", "waist": "New waistband", "sleeve": "Shorten sleeves from the cuff",
}  # fmt: skip
# What is wrong, at which field it is told, and in which words.
REFUSED = [
    ("alter", {"total": "wide"}, "total", "Write one number and one unit"),
    ("alter", {"total": ""}, "total", "required"),
    ("alter", {"room1": ""}, "room1", "Measure the allowance beside the stitching."),
    ("alter", {"name1": "", "room1": "", "count1": ""}, "name1", "at least one seam or dart"),
    ("hem", {"floor": "", "finished": ""}, "finished", "or the length to the floor"),
    ("hem", {"floor": "5", "heel": "", "above": "9"}, "above", "above the point"),
    ("hem", {"shoe_break": "full"}, "above", "begins at the shoe top"),
    ("hem", {"garment": "dress", "shoe_break": "full", "above": ""}, "shoe_break", "Only trousers"),
    ("circle", {"depth": "61"}, "depth", "leaves no skirt"),
    ("flare", {"above": "40"}, "above", "narrower than at the hem"),
    ("legs", {"new_hem": "25"}, "new_hem", "only takes away"),
    ("waist", {"shorter": "60"}, "shorter", "49"),
    ("skirt", {"waist": "1", "allowance": "5"}, "waist", "too small"),
    ("zip", {"above": "20"}, "opening", "Nothing of the opening is left"),
    ("bustle", {"hook": "90"}, "hook", "take a second row"),
    ("sleeve", {"high": ""}, "high", "Write how high the opening is."),
    ("curtain", {"bolt": "5"}, "bolt", "more than sixty widths"),
    ("buttons", {"top": "55"}, "opening", "no room between"),
    ("buttons", {"at": "59"}, "opening", "between the first and the last"),
    ("pleats", {"cloth": "72"}, "cloth", "no wider than the finished width"),
    ("gathers", {"cloth": "80"}, "cloth", "nothing to gather"),
    ("gathers", {"fullness": ""}, "fullness", "Write how full, or how wide the cloth is."),
    ("cloth", {"shrinks": "50"}, "shrinks", "49"),
    ("patch", {"wide": "-1"}, "wide", "length"),
]  # fmt: skip
