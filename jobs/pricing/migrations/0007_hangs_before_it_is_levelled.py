import django.core.validators
from django.db import migrations, models

HEM = 40


def usual_days(apps, schema_editor):
    """As in the list of common practice: a hem on the circle or the bias hangs for a day."""
    for work in apps.get_model("pricing", "Operation").objects.filter(work_order=HEM):
        if {"circle", "bias"} & set(work.name.casefold().replace(",", " ").split()):
            work.hang_days = 1
            work.save(update_fields=["hang_days"])


class Migration(migrations.Migration):
    dependencies = [("pricing", "0006_where_a_fitting_is_booked")]

    operations = [
        migrations.AddField(
            model_name="operation",
            name="hang_days",
            field=models.PositiveSmallIntegerField(
                default=0,
                validators=[django.core.validators.MaxValueValidator(14)],
                verbose_name="days to hang",
            ),
        ),
        migrations.RunPython(usual_days, migrations.RunPython.noop),
    ]
