
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='TrailLine',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('ref', models.CharField(max_length=80)),
                ('seq', models.BigIntegerField()),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('ref', 'seq'), name='trail_once')],
            },
        ),
    ]
