import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("people", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="Method",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="methods", to="people.site"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="MethodVersion",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("version", models.CharField(max_length=20)),
                ("document", models.CharField(blank=True, max_length=200)),
                ("temperature_c", models.CharField(default="25.0", max_length=12)),
                ("temperature_tolerance_c", models.CharField(default="0.5", max_length=12)),
                ("mismatch_limit_c", models.CharField(blank=True, max_length=12)),
                ("check_interval_h", models.CharField(default="24", max_length=12)),
                ("equilibrium_criterion", models.CharField(blank=True, max_length=200)),
                ("portions", models.PositiveSmallIntegerField(default=2)),
                ("open_limit_min", models.PositiveSmallIntegerField(default=10)),
                ("lidded_limit_h", models.PositiveSmallIntegerField(default=4)),
                ("film_limit_h", models.PositiveSmallIntegerField(default=48)),
                ("since", models.DateTimeField()),
                (
                    "method",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="versions", to="register.method"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Budget",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                (
                    "basis",
                    models.CharField(
                        choices=[("own data", "own data"), ("collaborative study", "collaborative study")],
                        max_length=40,
                    ),
                ),
                ("u_other", models.CharField(blank=True, max_length=12)),
                ("s_r", models.CharField(blank=True, max_length=12)),
                ("s_reproducibility", models.CharField(blank=True, max_length=12)),
                ("s_position", models.CharField(blank=True, max_length=12)),
                ("source", models.CharField(max_length=300)),
                ("since", models.DateTimeField()),
                (
                    "method_version",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="budgets", to="register.methodversion"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="Product",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=120)),
                ("form", models.CharField(max_length=40)),
                ("components", models.JSONField(default=list)),
                ("scope_flags", models.JSONField(default=list)),
                ("pack_atmosphere", models.CharField(blank=True, max_length=120)),
                (
                    "method",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="products", to="register.method"
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="products", to="people.site"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="SolutionLot",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=60)),
                ("solution", models.CharField(max_length=60)),
                ("molality", models.CharField(blank=True, max_length=16)),
                ("made_on", models.DateField()),
                ("made_from", models.CharField(blank=True, max_length=300)),
                ("certificate", models.CharField(blank=True, max_length=200)),
                ("expires_on", models.DateField()),
                ("withdrawn_reason", models.CharField(blank=True, max_length=300)),
                (
                    "made_by",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="solution_lots", to="people.site"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Bottle",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("code", models.CharField(max_length=60)),
                ("opened_at", models.DateTimeField(null=True)),
                ("discard_on", models.DateField(null=True)),
                ("discarded_at", models.DateTimeField(null=True)),
                ("discarded_reason", models.CharField(blank=True, max_length=300)),
                (
                    "solution_lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="bottles", to="register.solutionlot"
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="BalanceRecord",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("balance", models.CharField(max_length=60)),
                ("salt_g", models.CharField(max_length=16)),
                ("water_g", models.CharField(max_length=16)),
                ("purity", models.CharField(blank=True, max_length=60)),
                ("check_nominal_g", models.CharField(max_length=16)),
                ("check_read_g", models.CharField(max_length=16)),
                ("check_limit_g", models.CharField(max_length=16)),
                ("check_passed", models.BooleanField()),
                ("weighed_at", models.DateTimeField()),
                (
                    "weighed_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
                    ),
                ),
                (
                    "solution_lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="weighings", to="register.solutionlot"
                    ),
                ),
            ],
            options={
                "abstract": False,
            },
        ),
        migrations.CreateModel(
            name="SpecificationVersion",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("version", models.CharField(max_length=20)),
                ("component", models.CharField(blank=True, max_length=60)),
                ("temperature_c", models.CharField(max_length=12)),
                ("lower", models.CharField(blank=True, max_length=16)),
                ("lower_operator", models.CharField(blank=True, max_length=2)),
                ("upper", models.CharField(blank=True, max_length=16)),
                ("upper_operator", models.CharField(blank=True, max_length=2)),
                ("kind", models.CharField(choices=[("safety", "safety"), ("quality", "quality")], max_length=10)),
                ("guard", models.CharField(default="2", max_length=8)),
                ("allow_conditional", models.BooleanField(default=False)),
                ("expected_a_w", models.CharField(blank=True, max_length=16)),
                ("source", models.CharField(max_length=300)),
                ("since", models.DateTimeField()),
                (
                    "product",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="specifications",
                        to="register.product",
                    ),
                ),
            ],
        ),
        migrations.CreateModel(
            name="Instrument",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("name", models.CharField(max_length=60)),
                ("serial", models.CharField(max_length=60)),
                (
                    "principle",
                    models.CharField(
                        choices=[
                            ("dew-point measurement", "dew-point measurement"),
                            ("electrolyte conductivity", "electrolyte conductivity"),
                            ("polymer permittivity", "polymer permittivity"),
                        ],
                        max_length=60,
                    ),
                ),
                ("measures_surface_temperature", models.BooleanField(default=False)),
                ("location", models.CharField(blank=True, max_length=120)),
                ("warm_up_min", models.PositiveSmallIntegerField(default=30)),
                ("check_limit", models.CharField(default="0.005", max_length=12)),
                ("u_instrument", models.CharField(default="0.0015", max_length=12)),
                ("calibration_due", models.DateField(null=True)),
                ("in_use", models.BooleanField(default=True)),
                ("out_of_use_reason", models.CharField(blank=True, max_length=300)),
                (
                    "site",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="instruments", to="people.site"
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.UniqueConstraint(fields=("site", "name"), name="instrument_name_once"),
                    models.UniqueConstraint(fields=("site", "serial"), name="instrument_serial_once"),
                ],
            },
        ),
        migrations.AddConstraint(
            model_name="method",
            constraint=models.UniqueConstraint(fields=("site", "name"), name="method_name_once"),
        ),
        migrations.AddConstraint(
            model_name="methodversion",
            constraint=models.UniqueConstraint(fields=("method", "version"), name="method_version_once"),
        ),
        migrations.AddConstraint(
            model_name="product",
            constraint=models.UniqueConstraint(fields=("site", "name"), name="product_name_once"),
        ),
        migrations.AddConstraint(
            model_name="solutionlot",
            constraint=models.UniqueConstraint(fields=("site", "code"), name="solution_lot_code_once"),
        ),
        migrations.AddConstraint(
            model_name="bottle",
            constraint=models.UniqueConstraint(fields=("solution_lot", "code"), name="bottle_code_once"),
        ),
        migrations.AddConstraint(
            model_name="specificationversion",
            constraint=models.UniqueConstraint(fields=("product", "version"), name="specification_version_once"),
        ),
    ]
