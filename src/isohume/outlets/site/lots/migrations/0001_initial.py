
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
    ]

    operations = [
        migrations.CreateModel(
            name='Deviation',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('kind', models.CharField(choices=[('failed check', 'failed check'), ('out of specification', 'out of specification'), ('keyings differ', 'keyings differ'), ('hold', 'hold')], max_length=30)),
                ('what', models.CharField(max_length=500)),
                ('cause', models.CharField(blank=True, max_length=1000)),
                ('action', models.CharField(blank=True, max_length=1000)),
                ('disposition', models.CharField(blank=True, max_length=10)),
                ('opened_at', models.DateTimeField()),
                ('closed_at', models.DateTimeField(null=True)),
            ],
        ),
        migrations.CreateModel(
            name='LotRecord',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('record', models.CharField(max_length=20, unique=True)),
                ('digest', models.CharField(max_length=64)),
                ('verdict', models.CharField(max_length=30)),
                ('disposition', models.CharField(max_length=10)),
                ('value', models.FloatField(null=True)),
                ('u', models.FloatField(null=True)),
                ('probability', models.FloatField(null=True)),
                ('issued_at', models.DateTimeField()),
            ],
        ),
        migrations.CreateModel(
            name='MoistureDetermination',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('basis', models.CharField(choices=[('wet', 'wet basis'), ('dry', 'dry basis')], max_length=4)),
                ('method', models.CharField(max_length=120)),
                ('dishes', models.JSONField()),
                ('check_nominal_g', models.CharField(max_length=16)),
                ('check_read_g', models.CharField(max_length=16)),
                ('check_limit_g', models.CharField(max_length=16)),
                ('u_wet_basis', models.CharField(blank=True, max_length=16)),
                ('at', models.DateTimeField()),
            ],
            options={
                'abstract': False,
            },
        ),
        migrations.CreateModel(
            name='PhDetermination',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('values', models.JSONField()),
                ('temperature_c', models.CharField(max_length=12)),
                ('method', models.CharField(max_length=120)),
                ('buffers', models.JSONField()),
                ('limit', models.CharField(max_length=12)),
                ('u', models.CharField(blank=True, max_length=12)),
                ('at', models.DateTimeField()),
            ],
            options={
                'abstract': False,
            },
        ),
    ]
