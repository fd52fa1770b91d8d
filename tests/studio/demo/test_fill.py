"""The demo studio is filled by the verbs of the program, so what they refuse cannot be in it."""

from datetime import UTC, datetime
from io import BytesIO

import pytest
import time_machine
from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from jobs.billing.models import Invoice, Payment
from jobs.makes.models import Cloth, Make, Pattern, Release, State
from jobs.planning.fitting_in.sheet import fitting_sheet
from jobs.planning.models import Appointment, BenchTime, Declined, Fitting, HoursTaken, Wait
from jobs.planning.own_hours import measured_loss
from jobs.tickets.models import Garment, Ticket
from studio.demo.fill import DemoError, fill
from studio.shop.models import Profile


@pytest.mark.django_db
@pytest.mark.parametrize(
    "now",
    [
        datetime(2026, 3, 29, 12, tzinfo=UTC),  # the Sunday on which the clock leaps forward
        datetime(2026, 11, 25, 18, tzinfo=UTC),
    ],
)
def test_the_week_of_the_demo(now, settings, tmp_path, monkeypatch):
    settings.MEDIA_ROOT = tmp_path
    # Fewer tickets and a plain sheet for each photograph: drawing takes the most time of all.
    monkeypatch.setattr("studio.demo.fill.TICKETS", 100)
    sheet = BytesIO()
    Image.new("RGB", (60, 80)).save(sheet, "JPEG")
    monkeypatch.setattr(
        "studio.demo.life.photograph",
        lambda *_: SimpleUploadedFile("garment.jpg", sheet.getvalue()),
    )
    with time_machine.travel(now, tick=False):
        fill(now)
        with pytest.raises(DemoError):
            fill(now)
        lost = measured_loss(Profile.objects.get())
        fits = fitting_sheet(Profile.objects.get())
    assert Ticket.objects.count() == 101
    dress = Garment.objects.get(kind__concern="child_night")
    assert dress.ticket.is_open
    assert [read.key for read in dress.cautions_read.all()] == ["night"]
    assert sorted(Fitting.objects.values_list("state", flat=True)) == ["booked"] * 4 + ["missed"]
    assert Wait.objects.filter(ended_at=None).count() == 4
    assert Wait.objects.filter(ended_at__isnull=False).exists()
    assert Appointment.objects.filter(kind="own").count() == 2
    assert HoursTaken.objects.exists()
    assert Declined.objects.count() == 2
    assert {"client", "own", "release"} == set(BenchTime.objects.values_list("purpose", flat=True))
    assert not BenchTime.objects.filter(started_at__gte=now).exists()
    assert 5 <= lost.percent <= 20
    _own_sewing(now)
    assert all([fits.fits, fits.nearly, fits.unlinked])
    for model, column in ((Invoice, "issued_on"), (Payment, "day")):
        days = list(model.objects.order_by("number").values_list(column, flat=True))
        assert days == sorted(days)
    assert {day.weekday() for day in days[:-5]} <= set(range(5))


def _own_sewing(now):
    """Half of the studio: what it has, dreams of, made, and is about to sell."""
    finished = Make.objects.filter(state=State.FINISHED)
    assert Make.objects.exclude(state=State.FINISHED).count() == 8
    assert [make.pictures.count() for make in finished] == [1] * 4
    assert {make.finished_on.year for make in finished} == {now.year}
    assert all(make.finished_on <= now.date() for make in finished)
    assert (Cloth.objects.count(), Pattern.objects.count()) == (6, 5)
    for cloth in Cloth.objects.all():
        assert sum(move.mm for move in cloth.moves.all()) == cloth.left_mm > 0
    release = Release.objects.get()
    assert [stage.done_at is not None for stage in release.stages.all()] == [True] * 3 + [False] * 3
    assert BenchTime.objects.filter(stage__release=release).exists()
    assert not BenchTime.objects.filter(purpose="release", stage=None).exists()
    assert BenchTime.objects.filter(make__state=State.UNDER_WAY).exists()
    assert Make.objects.get(planned=True).wear_by > now.date()
