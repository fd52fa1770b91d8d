"""A year with something in it."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from io import BytesIO

from django.core.files.base import ContentFile
from PIL import Image

from jobs.makes.models import Make, Picture
from studio.shop import clock
from tests import factories as f

KINDS = ["Dress", "Skirt", "Shirt", "Bag"]
WHOMS = ["me", "my sister", ""]
FATES = ["often", "rarely", "given", ""]


def at(day: date, hour: str = "12:00") -> datetime:
    """A local moment of the studio."""
    return clock.at(day, time.fromisoformat(hour))


def photograph(
    number: int, *, drawn: bool = False, size: tuple[int, int] = (1600, 1200)
) -> Picture:
    """A picture of many colours, about as large as a phone's after it was kept."""
    noise = Image.effect_noise(size, 40 + number % 20)
    image = Image.merge("RGB", [noise, noise.rotate(90).resize(size), Image.new("L", size, 90)])
    jpeg = BytesIO()
    image.save(jpeg, "JPEG", quality=60)
    picture = Picture(width=size[0], height=size[1], drawn=drawn)
    picture.file.save(f"{number}.jpg", ContentFile(jpeg.getvalue()), save=True)
    return picture


def finished(day: date, number: int = 0, **more) -> Make:
    facts = {
        "state": "finished",
        "finished_on": day,
        "kind": KINDS[number % 4],
        "whom": WHOMS[number % 3],
        "fate": FATES[number % 4],
        "pattern": f.PatternFactory(maker="Larkfield Sewing Room", size="14"),
        "changes": "Two centimetres more in the back length; the darts end lower.",
        "learnt": "Press each seam before the next one.",
    }
    return f.MakeFactory(**facts | more)


def full_make(day: date, number: int) -> Make:
    """A make with a photograph, a swatch, the cloth cut for it and the time it took."""
    make = finished(day, number, words=f"Number {number} of the year")
    make.pictures.add(photograph(number))
    cloth = f.ClothFactory(swatch=photograph(1000 + number, size=(600, 600)), fibre="Linen")
    f.ClothPlanFactory(make=make, cloth=cloth)
    f.ClothMoveFactory(
        cloth=cloth, make=make, why="cut", mm=Decimal(-1350), typed="1.35 m", day=day
    )
    f.BenchTimeFactory(
        line=None, purpose="own", make=make, minutes=95, started_at=at(day - timedelta(days=1))
    )
    return make
