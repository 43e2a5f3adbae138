
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='ColumnMapping',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('name', models.CharField(max_length=80)),
                ('columns', models.JSONField(default=dict)),
            ],
        ),
        migrations.CreateModel(
            name='HandOver',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('text', models.CharField(max_length=1000)),
                ('at', models.DateTimeField()),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='ImportedFile',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('sha256', models.CharField(max_length=64)),
                ('name', models.CharField(max_length=200)),
                ('rows', models.PositiveIntegerField()),
                ('at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='InProcessReading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('where', models.CharField(max_length=120)),
                ('a_w', models.CharField(max_length=16)),
                ('target_low', models.CharField(blank=True, max_length=16)),
                ('target_high', models.CharField(blank=True, max_length=16)),
                ('advice', models.CharField(max_length=40)),
                ('reasons', models.JSONField(default=list)),
                ('read_at', models.DateTimeField()),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='Lot',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=60)),
                ('key', models.CharField(max_length=60)),
                ('description', models.CharField(blank=True, max_length=200)),
                ('produced_on', models.DateField(null=True)),
                ('received_at', models.DateTimeField()),
                ('customer', models.CharField(blank=True, max_length=120)),
                ('state', models.CharField(choices=[('open', 'open'), ('judged', 'judged'), ('on hold', 'on hold'), ('released', 'released'), ('rejected', 'rejected')], default='open', max_length=12)),
                ('entered_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='Portion',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=20)),
                ('cover', models.CharField(choices=[('open', 'open'), ('lidded', 'lidded'), ('film-wrapped', 'film-wrapped')], max_length=12)),
                ('covered_at', models.DateTimeField()),
                ('prepared_at', models.DateTimeField()),
                ('temperature_c', models.CharField(blank=True, max_length=12)),
                ('temperature_at', models.DateTimeField(null=True)),
                ('done', models.BooleanField(default=False)),
                ('discarded_reason', models.CharField(blank=True, max_length=300)),
            ],
        ),
        migrations.CreateModel(
            name='Run',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('instrument_number', models.CharField(blank=True, max_length=40)),
                ('a_w', models.CharField(max_length=16)),
                ('sample_temperature_c', models.CharField(blank=True, max_length=12)),
                ('block_temperature_c', models.CharField(blank=True, max_length=12)),
                ('read_at', models.DateTimeField()),
                ('override_reason', models.CharField(blank=True, max_length=1000)),
                ('void_reason', models.CharField(blank=True, max_length=1000)),
                ('voided_at', models.DateTimeField(null=True)),
                ('correction_reason', models.CharField(blank=True, max_length=300)),
                ('imported_row', models.PositiveIntegerField(null=True)),
                ('plausibility', models.CharField(blank=True, max_length=300)),
                ('entered_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='Sample',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('code', models.CharField(max_length=60)),
                ('position', models.CharField(max_length=120)),
                ('component', models.CharField(blank=True, max_length=60)),
                ('sealed', models.BooleanField()),
                ('temperature_c', models.CharField(blank=True, max_length=12)),
                ('received_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='SecondKeying',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('a_w', models.CharField(max_length=16)),
                ('agrees', models.BooleanField()),
                ('words', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
            ],
            options={
                'abstract': False,
            },
        ),
    ]
