
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('people', '0002_initial'),
        ('register', '0001_initial'),
        ('work', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Study',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('formula_version', models.CharField(max_length=20)),
                ('file_name', models.CharField(max_length=200)),
                ('file_sha256', models.CharField(max_length=64)),
                ('columns', models.JSONField(default=dict)),
                ('direction', models.CharField(blank=True, max_length=12)),
                ('temperature_c', models.CharField(blank=True, max_length=12)),
                ('points', models.JSONField(default=list)),
                ('count', models.PositiveIntegerField()),
                ('at', models.DateTimeField()),
                ('result', models.JSONField(null=True)),
                ('result_sha256', models.CharField(blank=True, max_length=64)),
                ('outcome', models.JSONField(default=list)),
                ('fitted_at', models.DateTimeField(null=True)),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('job', models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='work.job')),
                ('product', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='studies', to='register.product')),
                ('site', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='studies', to='people.site')),
            ],
            options={
                'verbose_name_plural': 'studies',
            },
        ),
        migrations.CreateModel(
            name='Isotherm',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField()),
                ('formula_version', models.CharField(max_length=20)),
                ('direction', models.CharField(max_length=12)),
                ('temperature_c', models.CharField(max_length=12)),
                ('model', models.CharField(max_length=40)),
                ('content', models.JSONField()),
                ('digest', models.CharField(max_length=64)),
                ('reason', models.CharField(blank=True, max_length=300)),
                ('since', models.DateTimeField()),
                ('by', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('product', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='isotherms', to='register.product')),
                ('study', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='isotherms', to='studies.study')),
            ],
        ),
        migrations.AddConstraint(
            model_name='study',
            constraint=models.UniqueConstraint(fields=('product', 'file_sha256'), name='studied_once'),
        ),
        migrations.AddConstraint(
            model_name='isotherm',
            constraint=models.UniqueConstraint(fields=('product', 'version'), name='isotherm_version_once'),
        ),
    ]
