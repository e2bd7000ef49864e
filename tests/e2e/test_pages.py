"""Every page as a manager sees it: axe finds nothing, the browser complains of nothing, nothing is too wide."""

from __future__ import annotations

import pytest
from axe_playwright_python.sync_playwright import Axe

from tests.e2e.browsing import DESK, OVERFLOWING, PHONE
from tests.every_url import TABLE

pytestmark = pytest.mark.service

KEYS = """
import json
from catalog.models import Appliance, BulkAction, Component, LabourOperation, Site, Supplier
from fitouts.models import *
from django.core.files.uploadedfile import SimpleUploadedFile
from quoting.models import Revision
from quoting.services import sheets
from catalog import services
by = User.objects.get(role="manager")
site = Site.objects.first()
months = {f: getattr(site, f) for f in ("ghi_kwh_m2_day", "tmin_c", "tmax_c")}
own = {"name": "Own paddock", "country": "AUS", "latitude_deg": -34.0, "longitude_deg": 138.0, "source": "own reading"}
own = services.save_site(own | months, by=by)
job = Fitout.objects.get(stage="quoted")
built = Fitout.objects.get(stage="in_build")
action = BulkAction.objects.create(about="supplier", deed="retire", words="Suppliers, 1 retired", by_id=by.pk)
sheet = sheets.start("supplier", SimpleUploadedFile("s.csv", b"Name,Contact\nAmbry,Pell\n"), by=by)
print(json.dumps({
    "table": "component:battery", "sheet": sheet.pk,
    "bulk_about": "component", "bulk_action": action.pk,
    "kind": "battery", "way": "steady", "site": own.pk, "labour": LabourOperation.objects.first().pk,
    "component": Component.objects.filter(kind="battery").first().pk,
    "appliance": Appliance.objects.first().pk, "supplier": Supplier.objects.first().pk,
    "customer": job.customer_id, "contact": Contact.objects.first().pk, "vehicle": job.vehicle_id,
    "position": job.vehicle.positions.first().pk, "run": job.vehicle.runs.first().pk,
    "instrument": Instrument.objects.first().pk, "person": User.objects.get(role="estimator").pk,
    "job": job.pk, "line": job.requirements.first().pk, "stop": job.stops.first().pk,
    "issued": Revision.objects.get(quote__fitout=job).pk, "built": built.pk,
    "system": InstalledSystem.objects.first().pk,
}))
"""


@pytest.fixture(scope="module")
def addresses(demo) -> dict[str, str]:
    keys = demo.shop.python(KEYS)
    pages = [a for a in TABLE.values() if a.kind in ("page", "part") and a.get[3] == 200]
    found = {a.name: a.url(keys) for a in pages}
    found |= {"refused": "/first-run/", "job in build": f"/jobs/{keys['built']}/"}
    found |= {"which table": "/catalogue/lists/component.csv"}
    return found | {"long list": "/catalogue/?sort=-cost&page=2", "nothing found": "/vehicles/?search=nosuchvehicle"}


@pytest.mark.parametrize(("size", "scheme"), [(DESK, "light"), (PHONE, "dark")])
def test_every_page(demo, sit_down, addresses, size, scheme):
    manager = sit_down("odile")
    manager.page.set_viewport_size(size)
    manager.page.emulate_media(color_scheme=scheme)
    faults: dict[str, list[str]] = {}

    for name, path in addresses.items():
        manager.go(path)
        too_wide = manager.page.evaluate(OVERFLOWING)
        found = Axe().run(manager.page).response["violations"]
        said = [w for w in manager.complaints if name != "refused" or "404" not in w]
        faults[name] = too_wide + [_words(v) for v in found] + said
        manager.complaints.clear()
        manager.shoot(f"{name.replace(':', '-').replace(' ', '-')}-{size['width']}-{scheme}")

    assert {name: words for name, words in faults.items() if words} == {}
    assert len(faults) > 50


def _words(violation: dict) -> str:
    where = "; ".join(str(node["target"][0]) for node in violation["nodes"][:4])
    return f"{violation['id']} ({violation['help']}): {where}"
