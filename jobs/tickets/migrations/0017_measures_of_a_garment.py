from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('tickets', '0016_pads_of_paper_tickets'),
    ]

    operations = [
        migrations.AddField(
            model_name='garment',
            name='measures',
            field=models.JSONField(blank=True, default=dict, verbose_name='laid flat'),
        ),
    ]
