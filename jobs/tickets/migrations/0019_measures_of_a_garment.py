from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('tickets', '0018_told_of_new_days'),
    ]

    operations = [
        migrations.AddField(
            model_name='garment',
            name='measures',
            field=models.JSONField(blank=True, default=dict, verbose_name='laid flat'),
        ),
    ]
