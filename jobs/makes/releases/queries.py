"""What releases have cost and sold so far."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from dateutil.relativedelta import relativedelta
from django.db.models import Sum

from jobs.makes.models import Cost, Release, Sale
from studio.shop import clock


@dataclass
class Sums:
    """Money spent, copies sold, and what was left of them; amounts in minor units."""

    costs: int = 0
    copies: int = 0
    earned: int = 0


def sums_of(releases: Iterable[Release]) -> dict[int, Sums]:
    """By key of the release, in two queries."""
    keys = [release.pk for release in releases]
    sums: dict[int, Sums] = defaultdict(Sums)
    spent = Cost.objects.filter(release__in=keys).order_by().values_list("release")
    for key, total in spent.annotate(total=Sum("amount")):
        sums[key].costs = total
    sold = Sale.objects.filter(release__in=keys).order_by().values_list("release")
    for key, copies, net in sold.annotate(copies_sold=Sum("copies"), left=Sum("net")):
        sums[key].copies, sums[key].earned = copies, net
    return sums


@dataclass(frozen=True)
class FirstYear:
    """What another release sold from the day it came out; ``over`` once that year is."""

    release: Release
    copies: int
    over: bool


def last_first_year(release: Release) -> FirstYear | None:
    """The first year of the release published last before this one. Two queries, or one."""
    others = Release.objects.filter(published_on__lte=release.published_on or clock.today())
    last = others.exclude(pk=release.pk).order_by("-published_on", "-pk").first()
    if last is None or last.published_on is None:
        return None
    ends: date = last.published_on + relativedelta(years=1)
    sold = last.sales.filter(day__gte=last.published_on, day__lt=ends)
    copies = sold.order_by().aggregate(total=Sum("copies"))["total"] or 0
    return FirstYear(last, copies, over=ends <= clock.today())
