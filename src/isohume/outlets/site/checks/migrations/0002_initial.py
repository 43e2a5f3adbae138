
import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    initial = True

    dependencies = [
        ('checks', '0001_initial'),
        ('register', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='check',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='check',
            name='instrument',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='checks', to='register.instrument'),
        ),
        migrations.AddField(
            model_name='check',
            name='method_version',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='register.methodversion'),
        ),
        migrations.AddField(
            model_name='check',
            name='voided_by',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='checkreading',
            name='bottle',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='register.bottle'),
        ),
        migrations.AddField(
            model_name='checkreading',
            name='of_check',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='readings', to='checks.check'),
        ),
        migrations.AddField(
            model_name='cleaning',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='cleaning',
            name='instrument',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='cleanings', to='register.instrument'),
        ),
        migrations.AddField(
            model_name='check',
            name='cleaning',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='checks', to='checks.cleaning'),
        ),
        migrations.AddField(
            model_name='startsheet',
            name='by',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.AddField(
            model_name='startsheet',
            name='instrument',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='start_sheets', to='register.instrument'),
        ),
        migrations.AddField(
            model_name='startsheet',
            name='method_version',
            field=models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='register.methodversion'),
        ),
        migrations.AddField(
            model_name='check',
            name='start_sheet',
            field=models.ForeignKey(null=True, on_delete=django.db.models.deletion.PROTECT, related_name='checks', to='checks.startsheet'),
        ),
        migrations.AddIndex(
            model_name='check',
            index=models.Index(fields=['instrument', 'last_read_at'], name='check_by_time'),
        ),
    ]
