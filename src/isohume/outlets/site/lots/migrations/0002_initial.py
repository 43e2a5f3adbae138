
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('bench', '0002_initial'),
        ('checks', '0002_initial'),
        ('lots', '0001_initial'),
        ('people', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='deviation',
            name='closed_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='deviation',
            name='failed_check',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='deviations', to='checks.check'),
        ),
        migrations.AddField(
            model_name='deviation',
            name='lot',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='deviations', to='bench.lot'),
        ),
        migrations.AddField(
            model_name='deviation',
            name='opened_by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='deviation',
            name='owner',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='deviations', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='deviation',
            name='run',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='deviations', to='bench.run'),
        ),
        migrations.AddField(
            model_name='deviation',
            name='site',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='deviations', to='people.site'),
        ),
        migrations.AddField(
            model_name='lotrecord',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='lotrecord',
            name='lot',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='records', to='bench.lot'),
        ),
        migrations.AddField(
            model_name='lotrecord',
            name='opening_check',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='records', to='checks.check'),
        ),
        migrations.AddField(
            model_name='lotrecord',
            name='runs',
            field=models.ManyToManyField(related_name='records', to='bench.run'),
        ),
        migrations.AddField(
            model_name='moisturedetermination',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='moisturedetermination',
            name='lot',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='moistures', to='bench.lot'),
        ),
        migrations.AddField(
            model_name='phdetermination',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='phdetermination',
            name='lot',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='phs', to='bench.lot'),
        ),
        migrations.AddIndex(
            model_name='deviation',
            index=models.Index(fields=['site', 'closed_at'], name='deviation_by_state'),
        ),
    ]
