from django.db import migrations


class Migration(migrations.Migration):

    dependencies = [
        ('clients', '0004_history'),
    ]

    operations = [
        migrations.DeleteModel(
            name='ClientMerge',
        ),
    ]
