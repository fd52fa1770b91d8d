"""How tax is charged, the kinds of tax and their rates."""

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_POST

from studio.shop import actions, clock
from studio.shop.access import owner_only
from studio.shop.http import StudioRequest
from studio.shop.models import Profile, TaxClass, TaxRate
from studio.shop.tax_forms import NewTaxForm, TaxClassForm, TaxModeForm, TaxRateForm


@owner_only
def taxes(request: StudioRequest) -> HttpResponse:
    form = TaxModeForm(request.POST or None, instance=Profile.objects.get(pk=1))
    if request.method == "POST" and form.is_valid():
        actions.save_profile(studio=form.instance, fields=list(form.fields))
        messages.success(request, "Taxes: saved.")
        return redirect("studio-settings")
    classes = TaxClass.objects.prefetch_related("rates")
    return render(request, "shop/taxes.html", {"form": form, "classes": classes})


@owner_only
def tax_new(request: StudioRequest) -> HttpResponse:
    form = NewTaxForm(request.POST or None, initial={"valid_from": clock.today()})
    if request.method == "POST" and form.is_valid():
        made = actions.add_tax(tax=form.named_rate())
        messages.success(request, f"“{made.name}” added.")
        return redirect("studio-taxes")
    return render(request, "shop/settings_form.html", {"form": form, "title": "A new tax"})


@owner_only
def tax(request: StudioRequest, pk: int) -> HttpResponse:
    """Name and sentence of a tax; its rates with a form for the next one."""
    tax_class = get_object_or_404(TaxClass, pk=pk)
    form = TaxClassForm(request.POST or None, instance=tax_class)
    if request.method == "POST" and form.is_valid():
        form.save()
        messages.success(request, f"“{tax_class.name}” saved.")
        return redirect("studio-taxes")
    rate_form = TaxRateForm(initial={"valid_from": clock.today()})
    return _show(request, TaxClass.objects.get(pk=pk), form, rate_form)


@owner_only
@require_POST
def rate_new(request: StudioRequest, pk: int) -> HttpResponse:
    tax_class = get_object_or_404(TaxClass, pk=pk)
    rate_form = TaxRateForm(request.POST)
    if rate_form.is_valid():
        try:
            actions.add_rate(tax_class=tax_class, **rate_form.cleaned_data)
        except actions.RateError as error:
            rate_form.add_error("valid_from", str(error))
        else:
            messages.success(request, f"“{tax_class.name}” has a new rate.")
            return redirect("studio-tax", pk=pk)
    return _show(request, tax_class, TaxClassForm(instance=tax_class), rate_form)


def _show(
    request: StudioRequest, tax_class: TaxClass, form: TaxClassForm, rate_form: TaxRateForm
) -> HttpResponse:
    found = {"tax": tax_class, "rates": tax_class.rates.all(), "today": clock.today()}
    return render(request, "shop/tax.html", found | {"form": form, "rate_form": rate_form})


@owner_only
@require_POST
def rate_remove(request: StudioRequest, pk: int) -> HttpResponse:
    rate = get_object_or_404(TaxRate, pk=pk)
    try:
        actions.remove_rate(rate=rate)
    except actions.RateError as error:
        messages.error(request, str(error))
    return redirect("studio-tax", pk=rate.tax_class_id)


@owner_only
@require_POST
def tax_remove(request: StudioRequest, pk: int) -> HttpResponse:
    try:
        actions.remove_tax_class(tax_class=get_object_or_404(TaxClass, pk=pk))
    except actions.TaxClassInUseError as error:
        messages.error(request, str(error))
    return redirect("studio-taxes")
