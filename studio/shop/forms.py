"""Form habits of the house: one renderer, and fields that keep what was typed."""

from django.forms.renderers import TemplatesSetting


class StudioFormRenderer(TemplatesSetting):
    """Fields are rendered with label, hint and message by ``templates/forms/``."""

    form_template_name = "forms/form.html"
    field_template_name = "forms/field.html"
