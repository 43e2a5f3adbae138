
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='Check',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('opening', 'opening'), ('closing', 'closing')], max_length=10)),
                ('limit', models.CharField(max_length=12)),
                ('u_instrument', models.CharField(max_length=12)),
                ('passed', models.BooleanField()),
                ('may_measure', models.BooleanField()),
                ('covers_low', models.FloatField(null=True)),
                ('covers_high', models.FloatField(null=True)),
                ('first_read_at', models.DateTimeField()),
                ('last_read_at', models.DateTimeField()),
                ('until', models.DateTimeField()),
                ('result', models.JSONField()),
                ('hints', models.JSONField(default=list)),
                ('note', models.CharField(blank=True, max_length=300)),
                ('voided_at', models.DateTimeField(null=True)),
                ('void_reason', models.CharField(blank=True, max_length=300)),
                ('entered_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='CheckReading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('temperature_c', models.CharField(max_length=12)),
                ('a_w', models.CharField(max_length=16)),
                ('read_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='Cleaning',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('what', models.CharField(max_length=300)),
                ('at', models.DateTimeField()),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='StartSheet',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('room_temperature_c', models.CharField(max_length=12)),
                ('room_rh_percent', models.CharField(max_length=12)),
                ('warmed_up_since', models.DateTimeField()),
                ('block_temperature_c', models.CharField(max_length=12)),
                ('may_start', models.BooleanField()),
                ('reasons', models.JSONField(default=list)),
                ('at', models.DateTimeField()),
            ],
            options={
                'abstract': False,
            },
        ),
    ]
