from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ('shop', '0009_words_of_papers'),
    ]

    operations = [
        migrations.RemoveConstraint(model_name='paperphrase', name='one_text_per_phrase'),
        migrations.AlterModelOptions(name='paperphrase', options={'ordering': ['code', 'pk']}),
        migrations.RemoveField(model_name='paperphrase', name='language'),
        migrations.AddField(
            model_name='paperphrase',
            name='code',
            field=models.CharField(default='', max_length=20),
            preserve_default=False,
        ),
        migrations.AddConstraint(
            model_name='paperphrase',
            constraint=models.UniqueConstraint(models.F('code'), models.F('phrase'), models.F('form'), name='one_text_per_phrase'),
        ),
    ]
