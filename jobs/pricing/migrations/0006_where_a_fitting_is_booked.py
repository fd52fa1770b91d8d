from django.db import migrations, models

CLOSURES = 30
FIT = ("take in", "let out", "taper", "narrow")


def usual_places(apps, schema_editor):
    """As in the list of common practice: the fit is asked, repairs come before it."""
    works = apps.get_model("pricing", "Operation").objects.filter(fitting_first=False)
    for work in works:
        name = work.name.casefold()
        if name.startswith(FIT):
            work.fitting_place = "ask"
        elif work.work_order == CLOSURES or name.startswith("seam repair"):
            work.fitting_place = "before"
        else:
            continue
        work.save(update_fields=["fitting_place"])


class Migration(migrations.Migration):
    dependencies = [("pricing", "0005_words_of_surcharges")]

    operations = [
        migrations.AddField(
            model_name="operation",
            name="fitting_place",
            field=models.CharField(
                choices=[
                    ("after", "After it"),
                    ("before", "Before it"),
                    ("ask", "Ask at drop-off"),
                ],
                default="after",
                max_length=6,
                verbose_name="where a fitting is booked",
            ),
        ),
        migrations.RunPython(usual_places, migrations.RunPython.noop),
    ]
