"""Plant C's deliveries of onion powder, and its second incident: "8.0 %" on a certificate against a limit of 7.5 %.

The certificate's figure is on dry basis, the limit on wet basis: 8.0 dry is 7.41 wet, and the lot conforms. It was held
at sight; our own determination, two days later, says the same as the certificate.
"""

from __future__ import annotations

from datetime import timedelta

from isohume.outlets.demo.cardamom_quay.plant import Quay
from isohume.outlets.demo.live.days import WEEK, Day
from isohume.outlets.site.incoming.actions.decide_supplier_lot import DecideSupplierLot
from isohume.outlets.site.incoming.actions.determine_supplier_lot import DetermineSupplierLot
from isohume.outlets.site.incoming.actions.receive_supplier_lot import ReceiveSupplierLot
from isohume.outlets.site.incoming.models import SupplierLot
from isohume.outlets.site.ledger.actions import perform

METHOD = "Oven, 102 degC, 4 h; WI-9"
BALANCE = {"check_nominal_g": "20.0000", "check_read_g": "20.0002", "check_limit_g": "0.0010"}
U_PERCENT = "0.04"
ON_DRY_BASIS, FOUND = "8.0", (0.0738, 0.0743)  # 8.0/108 = 7.41 % wet basis; found 7.38 and 7.43
DELIVERY = 3
AT_SIGHT = "The certificate says 8.0 %, the limit is 7.5 %"


def delivered(day: Day, quay: Quay) -> None:
    """A delivery a week; the last one comes three working days before the last day, and is held at sight."""
    if day.left % WEEK != DELIVERY:
        return
    last, made = day.left == DELIVERY, (day.on - timedelta(days=6)).isoformat()
    moisture = ON_DRY_BASIS if last else f"{day.dice.gauss(6.8, 0.12):.1f}"
    basis = "dry" if last else "wet"
    by = day.by("analyst", day.at(9, 40))
    received = ReceiveSupplierLot(
        by.person.site, quay.onion, f"LM-{day.on:%m%d}", f"Certificate of {made}: moisture {moisture} %, {basis} basis",
        certificate_moisture=moisture, certificate_basis=basis, certificate_u_moisture=U_PERCENT,
    )  # fmt: skip
    lot = perform(received, by)
    if last:
        perform(DecideSupplierLot(lot, "hold", AT_SIGHT), day.by("manager", day.at(9, 50)))


def determined(day: Day) -> None:
    """Our own determination: of the held lot two days later, of the others on the day they came."""
    waits = SupplierLot.objects.filter(state="waits").first()
    if waits is not None:
        found = float(waits.certificate_moisture) / 100 + day.dice.gauss(0.0, 0.0004)
        _weighed(day, waits, (found - 0.0003, found + 0.0003))
        decided = DecideSupplierLot(waits, "accept", "Agrees with its certificate, and is inside the limit")
        perform(decided, day.by("manager", day.at(14, 40)))
    elif day.left == 1:
        _weighed(day, SupplierLot.objects.get(state="on hold"), FOUND)


def _weighed(day: Day, lot: SupplierLot, wet: tuple[float, float]) -> None:
    """Two dishes of about five grams."""
    dishes = []
    for k, share in enumerate(wet):
        dish, taken = 31.2040 + 0.4 * k, 5.0120 + 0.0180 * k
        dry = f"{dish + taken * (1.0 - share):.4f}"
        dishes.append({"dish_g": f"{dish:.4f}", "with_sample_g": f"{dish + taken:.4f}", "with_dry_g": dry})
    found = DetermineSupplierLot(lot, METHOD, u_moisture=U_PERCENT, dishes=dishes, balance=BALANCE)
    perform(found, day.by("analyst", day.at(14, 20)))
