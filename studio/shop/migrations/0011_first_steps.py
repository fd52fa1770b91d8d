from django.db import migrations, models


def put_away(apps, schema_editor):
    """A studio that has an address saw no more first steps, and sees none now."""
    apps.get_model('shop', 'Profile').objects.exclude(street='').update(steps_away=True)


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0010_own_words_by_code'),
    ]

    operations = [
        migrations.AddField(
            model_name='profile',
            name='steps_away',
            field=models.BooleanField(default=False, verbose_name='first steps put away'),
        ),
        migrations.RunPython(put_away, migrations.RunPython.noop),
    ]
