"""Ways of cutting a metre that several hands try at once on the same cloth."""

from decimal import Decimal
from uuid import uuid4

from jobs.makes.lengths import parse_cloth
from jobs.makes.models import Cloth, ClothMove
from jobs.makes.shelf import actions
from studio.shop.models import User
from tests.studio.shop.rush_hour import Job

METRE = Decimal(1000)


def guarded(job: Job, turn: int) -> str:
    """As the page does: cut, unless there is too little."""
    cloth = Cloth.objects.order_by("pk")[turn]
    facts = {"by": User.objects.get(), "length": parse_cloth("1", "m"), "form_key": uuid4()}
    job.meet(f"turn {turn}")
    try:
        actions.cut(cloth=cloth, **facts)
    except actions.ShelfError:
        return "refused"
    return "cut"


def unguarded(job: Job, turn: int) -> str:
    """What is left is read, and then the move is written, without transaction or lock."""
    cloth = Cloth.objects.order_by("pk")[turn]
    job.meet(f"turn {turn}")
    if cloth.left_mm < METRE:
        return "refused"
    facts = {"why": ClothMove.Why.CUT, "mm": -METRE, "typed": "1 m", "by": User.objects.get()}
    ClothMove.objects.create(cloth=cloth, day="2026-03-01", form_key=uuid4(), **facts)
    return "cut"
