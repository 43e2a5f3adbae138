from django.db import migrations


def fill(apps, schema_editor):
    """Every check that was recorded before there were charts gives its references their points."""
    Check = apps.get_model("checks", "Check")
    Chart = apps.get_model("charts", "Chart")
    ChartPoint = apps.get_model("charts", "ChartPoint")
    known, waiting, lots = {}, [], {}
    for check in Check.objects.select_related("instrument").order_by("pk").iterator():
        for found in check.result["solutions"]:
            molality = "" if found["molality"] is None else f"{found['molality']:g}"
            key = (check.instrument_id, found["solution"], molality)
            if key not in known:
                known[key], _ = Chart.objects.get_or_create(
                    instrument=check.instrument,
                    solution=found["solution"],
                    molality=molality,
                    product=None,
                    defaults={"site_id": check.instrument.site_id},
                )
            lot = next(iter(found.get("lots", ())), "").partition(" / ")[0][:60]
            seen = lots.setdefault(key, set())
            waiting.append(
                ChartPoint(
                    chart=known[key],
                    of_check=check,
                    at_s=int(check.last_read_at.timestamp()),
                    value=found["deviation"],
                    within=found["within"],
                    lot=lot,
                    new_lot=bool(seen and lot and lot not in seen),
                )
            )
            seen.add(lot)
        if len(waiting) >= 500:
            ChartPoint.objects.bulk_create(waiting)
            waiting.clear()
    ChartPoint.objects.bulk_create(waiting)


class Migration(migrations.Migration):
    dependencies = [("charts", "0001_initial")]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
