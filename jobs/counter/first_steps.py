"""The first steps of a new studio, for Today: what is done, and the doors to what is not."""

from dataclasses import dataclass

from django.db.models import Sum
from django.http import HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobs.billing.documents import unsaid
from jobs.billing.points import is_strict
from jobs.planning.models import PlanRules
from jobs.pricing import verbs
from jobs.pricing.actions import list_itself
from studio.backup.queries import BackupState
from studio.shop import history
from studio.shop.actions import save_profile
from studio.shop.http import StudioRequest, owner_only, say
from studio.shop.locales import show_minutes
from studio.shop.models import DayOff, Entry, Profile, User, WorkingDay


@dataclass(frozen=True)
class FirstStep:
    """One step in words; one that is not done has an address, by its name, and says why."""

    words: str
    done: bool
    door: str = ""
    why: str = ""


# What the set-up leaves open of an invoice's points; the address is a step of its own.
NEEDED = {
    "legal-name": "your legal name",
    "vat-number": "your VAT number",
    "no-tax": "why you charge no tax",
}


def invoices_need(studio: Profile) -> FirstStep:
    """What an invoice would be refused for, where the law refuses it."""
    words = [NEEDED[point.key] for point in unsaid(studio) if point.key in NEEDED]
    if not words or not is_strict(studio.country):
        return FirstStep("What invoices need", True)
    return FirstStep(
        f"Invoices need {' and '.join(words)}", False, "studio-invoices", "Before the first one"
    )


def open_steps(studio: Profile, backup: BackupState) -> list[FirstStep]:
    """The steps that the set-up leaves, done or not. Two queries."""
    looked_at = history.of(list_itself()).exclude(verb=verbs.STARTED.key).exists()
    return [
        FirstStep("Look through the price list", looked_at, "prices", "Yours to change"),
        FirstStep("Your address", bool(studio.street), "studio-profile", "Stands on every paper"),
        invoices_need(studio),
        FirstStep(
            "Days off", DayOff.objects.exists(), "studio-days-off", "Public holidays at one press"
        ),
        FirstStep("The first backup", not backup.missing, "backups", backup.words),
    ]


def first_steps(studio: Profile, backup: BackupState) -> list[FirstStep]:
    """Eight steps, of which the set-up has done three or four. Four queries."""
    minutes = WorkingDay.objects.aggregate(whole=Sum("minutes"))["whole"] or 0
    own = minutes * PlanRules.load().own_percent // 100
    tax = "none charged"
    if studio.tax_mode != Profile.TaxMode.NONE:
        tax = f"{studio.worn_tax}, {studio.get_tax_mode_display().lower()}"
    return [
        FirstStep("Studio and login", True),
        FirstStep(f"Tax: {tax}", True),
        FirstStep(f"Bench hours: {show_minutes(minutes)} a week, {show_minutes(own)} yours", True),
        *open_steps(studio, backup),
    ]


def put_away(*, by: User) -> Entry | None:
    """The list is not shown any more, whatever is open."""
    studio = Profile.objects.get(pk=1)
    studio.steps_away = True
    return save_profile(studio=studio, fields=["steps_away"], by=by)


@owner_only
@require_POST
def first_steps_away(request: StudioRequest) -> HttpResponse:
    entry = put_away(by=request.user)
    if entry:
        say(
            request, "First steps: put away.", undo=reverse("studio-undo"), entry=entry.pk, back="/"
        )
    return redirect("today")
