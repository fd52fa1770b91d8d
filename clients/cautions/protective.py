"""Garments that keep somebody alive, and lose it when they are altered."""

from clients.cautions.caution import LOCAL, QUOTED, READ, Caution

PROTECTIVE = Caution(
    key="protective",
    title="Protective clothing",
    sentences=(
        (
            "Clothing that protects, motorcycle clothing too, is tested whole: a seam moved or a "
            "badge sewn on may end its conformity."
        ),
        (
            "In the European Union whoever modifies it so that it may no longer conform takes on "
            "the duties of its maker (Regulation (EU) 2016/425)."
        ),
    ),
    advice=f"Refuse the work, or send the garment to its maker. {LOCAL}",
    source="Regulation (EU) 2016/425; its Article 12 speaks of importers and distributors",
    label=QUOTED,
)
FLAME = Caution(
    key="flame",
    title="Flame-resistant clothing",
    sentences=(
        (
            "Flame-resistant, arc and fire-service clothing is mended only with the same cloth, "
            "flame-resistant thread and flame-resistant fastenings."
        ),
        (
            "A garment that is noticeably altered goes out of service; repairs of fire-service "
            "clothing are for the maker or a verified provider (NFPA 1851, NFPA 2113)."
        ),
    ),
    advice=f"Send it to the maker or to a provider whom the employer names. {LOCAL}",
    source="ASTM F1449 and F2757, NFPA 2113 and 1851, as trade pages quote them",
    label=QUOTED,
)
LIFE = Caution(
    key="life",
    title="Life jacket, harness",
    sentences=(
        "An altered life jacket no longer meets what the law asks of it.",
        (
            "The same care is common practice for climbing and car-seat harnesses and for "
            "ballistic vests: no stitch in the webbing, no part taken off."
        ),
    ),
    advice=f"Do not alter it. Send it to the maker. {LOCAL}",
    source="California boating handbook 2023 for life jackets; common practice for the rest",
    label=READ,
)
