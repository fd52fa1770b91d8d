"""Invented people of an invented town. Any likeness to anybody is chance."""

from random import Random

from clients.models import Client

FIRST = [
    "Aoife", "Bettina", "Ciara", "Dervla", "Edith", "Fionn", "Greta", "Hanneke", "Ines", "José",
    "Kwame", "Lotte", "Malin", "Niamh", "Orla", "Pádraig", "Quirin", "Rosalind", "Søren",
    "Tamsin", "Una", "Viola", "Wanda", "Ximena", "Yusuf", "Zoë",
]  # fmt: skip
LAST = [
    "Alderbrook", "Birchwood", "Candlemere", "Dunnock", "Elderflower", "Fennimore", "Gorsefield",
    "Hazelhurst", "Ivybridge", "Juniper", "Kestrelmoor", "Lindenbaum", "Marigold", "Nettleship",
    "Oatcroft", "Plumtree", "Quillfeather", "Rowanstead", "Sorrel", "Thistlewood", "Umberley",
    "Violetta", "Wrenfield", "Yarrow",
]  # fmt: skip
STREETS = (
    "Mill Lane",
    "Harbour Row",
    "Fuller's Hill",
    "Weavers' Walk",
    "Orchard Close",
    "The Green",
)
NOTES = (
    "",
    "",
    "",
    "Brings her own thread.",
    "Ring after four.",
    "Left leg a little shorter.",
    "Sings in the choir; two concerts a year.",
)


def people(count: int, dice: Random) -> list[Client]:
    """``count`` clients with different names; most have a phone, some an e-mail address."""
    names = [f"{first} {last}" for first in FIRST for last in LAST]
    return [_person(name, index, dice) for index, name in enumerate(dice.sample(names, count))]


def _person(name: str, index: int, dice: Random) -> Client:
    word = name.rsplit(maxsplit=1)[-1].lower()
    way = dice.choices(Client.Way.values, weights=[5, 3, 2])[0]
    written = way == Client.Way.EMAIL or dice.random() < 0.4
    return Client(
        name=name,
        phone=f"085 555 {1000 + index * 37 % 9000:04d}",
        email=f"{word}{index}@example.org" if written else "",
        street=f"{dice.randint(1, 60)} {dice.choice(STREETS)}" if dice.random() < 0.6 else "",
        city="Larkfield" if dice.random() < 0.8 else "Upper Larkfield",
        way=way,
        notes=dice.choice(NOTES),
    )
