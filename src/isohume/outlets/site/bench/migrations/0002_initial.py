
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('bench', '0001_initial'),
        ('checks', '0001_initial'),
        ('people', '0001_initial'),
        ('register', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='columnmapping',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='columnmapping',
            name='site',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='mappings', to='people.site'),
        ),
        migrations.AddField(
            model_name='handover',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='handover',
            name='site',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='hand_overs', to='people.site'),
        ),
        migrations.AddField(
            model_name='importedfile',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='importedfile',
            name='mapping',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='bench.columnmapping'),
        ),
        migrations.AddField(
            model_name='importedfile',
            name='site',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='imported_files', to='people.site'),
        ),
        migrations.AddField(
            model_name='inprocessreading',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='inprocessreading',
            name='instrument',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='register.instrument'),
        ),
        migrations.AddField(
            model_name='inprocessreading',
            name='product',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='in_process', to='register.product'),
        ),
        migrations.AddField(
            model_name='lot',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='lot',
            name='product',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='register.product'),
        ),
        migrations.AddField(
            model_name='lot',
            name='site',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='people.site'),
        ),
        migrations.AddField(
            model_name='lot',
            name='specification',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='lots', to='register.specificationversion'),
        ),
        migrations.AddField(
            model_name='portion',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='run',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='run',
            name='corrects',
            field=models.OneToOneField(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='corrected_by', to='bench.run'),
        ),
        migrations.AddField(
            model_name='run',
            name='imported',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='bench.importedfile'),
        ),
        migrations.AddField(
            model_name='run',
            name='instrument',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='register.instrument'),
        ),
        migrations.AddField(
            model_name='run',
            name='method_version',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='register.methodversion'),
        ),
        migrations.AddField(
            model_name='run',
            name='opening_check',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='checks.check'),
        ),
        migrations.AddField(
            model_name='run',
            name='portion',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='runs', to='bench.portion'),
        ),
        migrations.AddField(
            model_name='run',
            name='voided_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='sample',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='sample',
            name='lot',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='samples', to='bench.lot'),
        ),
        migrations.AddField(
            model_name='portion',
            name='sample',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='portions', to='bench.sample'),
        ),
        migrations.AddField(
            model_name='secondkeying',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='secondkeying',
            name='run',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='second_keyings', to='bench.run'),
        ),
        migrations.AddConstraint(
            model_name='columnmapping',
            constraint=models.UniqueConstraint(fields=('site', 'name'), name='mapping_name_once'),
        ),
        migrations.AddConstraint(
            model_name='importedfile',
            constraint=models.UniqueConstraint(fields=('site', 'sha256'), name='imported_once'),
        ),
        migrations.AddIndex(
            model_name='lot',
            index=models.Index(fields=['site', 'state', '-received_at'], name='lot_by_state'),
        ),
        migrations.AddConstraint(
            model_name='lot',
            constraint=models.UniqueConstraint(fields=('site', 'key'), name='lot_code_once'),
        ),
        migrations.AddIndex(
            model_name='run',
            index=models.Index(fields=['instrument', 'read_at'], name='run_by_time'),
        ),
        migrations.AddConstraint(
            model_name='sample',
            constraint=models.UniqueConstraint(fields=('lot', 'code'), name='sample_code_once'),
        ),
        migrations.AddConstraint(
            model_name='portion',
            constraint=models.UniqueConstraint(fields=('sample', 'code'), name='portion_code_once'),
        ),
    ]
