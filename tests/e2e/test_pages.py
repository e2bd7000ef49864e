"""Every page as a manager sees it: axe finds nothing, the browser complains of nothing, nothing is too wide."""

from __future__ import annotations

import json
import os

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

from tests.e2e.browsing import BETWEEN, DESK, OVERFLOWING, PHONE, Person
from tests.every_url import TABLE

pytestmark = pytest.mark.service

KEYS = """
import json
from catalog.models import Appliance, Assembly, BulkAction, Component, LabourOperation, SavedFilter, Site, Supplier
from fitouts.models import *
from django.core.files.uploadedfile import SimpleUploadedFile
from quoting.models import Archive, ExistingCircuit, Revision
from fitouts.services import fitouts, senses, space
from quoting.services import background, circuit_changes, designs, existing, fleets, quotes, selections, sheets, swaps
from catalog import saved_filters, services
by = User.objects.get(role="manager")
site = Site.objects.first()
months = {f: getattr(site, f) for f in ("ghi_kwh_m2_day", "tmin_c", "tmax_c")}
own = {"name": "Own paddock", "country": "AUS", "latitude_deg": -34.0, "longitude_deg": 138.0, "source": "own reading"}
own = services.save_site(own | months, by=by)
job = Fitout.objects.get(stage="quoted", kind="new")
built = Fitout.objects.get(stage="in_build")
upgrade, fault = (Fitout.objects.filter(kind=kind).earliest("pk") for kind in ("upgrade", "fault"))
towing = Fitout.objects.exclude(trailer=None).get()
if not Revision.objects.filter(quote__fitout=towing).exists():
    quotes.draft(towing, by=by)
blown = fitouts.open_job(job.customer, job.vehicle, "A fuse blows", by=by, kind="fault")
fitouts.move(blown, "surveyed", by=by)
quotes.draft(blown, by=by)
action = BulkAction.objects.create(about="supplier", deed="retire", words="Suppliers, 1 retired", by_id=by.pk)
sheet = sheets.start("supplier", SimpleUploadedFile("s.csv", b"Name,Contact\\nAmbry,Pell\\n"), by=by)
if not SavedFilter.objects.filter(owner_id=by.pk).exists():
    saved_filters.keep(user=by, page="job_list", name="Still open", query="stage=open")
feed = next(c for c in designs.appraisal_of(job.designs.first()).circuits if c.role == "distribution")
circuit_changes.settle(job, feed.key, feed.name, {"run_m": feed.run_m + 0.1}, "Measured along the sill", by=by)
lying = {"circuit": "battery_main", "name": "Battery main", "area_mm2": 35.0, "rating_a": 150.0, "form": "fuse"}
lying = existing.write_down(ExistingCircuit(fitout=job), lying, by=by)
trucks = list(Vehicle.objects.filter(registration__in=["ASC 102", "ASC 103", "ASC 104"]).select_related("customer"))
fleet = fleets.start(trucks, name="Tree-survey trucks", by=by, package=JobPackage.objects.get(model=trucks[0].model))
background.run(fleet.job_id)
offers = selections.ask(job, by=by)
background.run(offers.job_id)
offers.refresh_from_db()
chosen = offers.proposals.first()
swapped = swaps.swap(chosen, "battery", next(o for o in swaps.swap_options(chosen, "battery") if o.fits).part, by=by)
print(json.dumps({
    "circuit": feed.key, "lying": lying.pk,
    "table": "component:battery", "sheet": sheet.pk, "format": "csv", "list": "component",
    "bulk_about": "component", "bulk_action": action.pk,
    "kind": "battery", "way": "steady", "site": own.pk, "labour": LabourOperation.objects.first().pk,
    "component": Component.objects.filter(kind="battery").first().pk,
    "appliance": Appliance.objects.first().pk, "supplier": Supplier.objects.first().pk,
    "assembly": Assembly.objects.first().pk, "package": JobPackage.objects.first().pk, "fleet": fleet.pk,
    "customer": job.customer_id, "contact": Contact.objects.first().pk, "vehicle": job.vehicle_id,
    "position": job.vehicle.positions.first().pk, "run": job.vehicle.runs.first().pk,
    "roof_area": (job.vehicle.roof_areas.first() or space.add_area(
        job.vehicle, by=by, name="Canopy", length_m=2.0, width_m=1.2)).pk,
    "battery_space": (job.vehicle.battery_spaces.first() or space.add_space(
        job.vehicle, by=by, name="Box", length_mm=600, width_mm=300, height_mm=260)).pk,
    "hitch": towing.vehicle.hitches.get().pk, "towing vehicle": towing.vehicle_id, "trailer": towing.trailer_id,
    "instrument": Instrument.objects.first().pk, "person": User.objects.get(role="estimator").pk,
    "proposal": chosen.pk, "swapped proposal": swapped.pk, "role": "battery",
    "figure": "battery.asked_ah", "job": job.pk, "line": job.requirements.first().pk, "stop": job.stops.first().pk,
    "found_part": upgrade.found_parts.first().pk, "defect": upgrade.defects.filter(mended_at=None).first().pk,
    "sense": (job.sense_points.first() or senses.add(
        job, by=by, name="Fresh water", what="tank", position=job.vehicle.positions.first())).pk,
    "issued": Revision.objects.filter(quote__fitout=job).first().pk, "built": built.pk,
    "system": InstalledSystem.objects.first().pk,
    "archive": Archive.objects.create(name="kept.zip").pk,
    "drafted fault": blown.pk, "upgrade": upgrade.pk, "fault": fault.pk, "towing": towing.pk,
    "upgrade quote": Revision.objects.filter(quote__fitout=upgrade).first().pk,
    "fault quote": Revision.objects.filter(quote__fitout=fault).first().pk,
}))
"""
FRAGMENTS = {"find_suggest", "component_names", "appliance_names", "vehicle_names"}
"""What a script asks for while somebody types: no page, and looked at where it is put in, in ``test_desk.py``."""
ELSEWHERE = {
    "hitch_edit": {"vehicle": "towing vehicle"},
    "found_edit": {"job": "upgrade"},
    "defect_edit": {"job": "upgrade"},
    "defect_settle": {"job": "upgrade"},
}
"""Rows of the table that stand with another vehicle or job in the demo."""


def more(keys: dict[str, object]) -> dict[str, str]:
    """Pages that say something else with another job, vehicle or question."""
    jobs = {f"{kind} job": f"/jobs/{keys[kind]}/" for kind in ("built", "upgrade", "fault", "drafted fault", "towing")}
    quotes = {f"{kind} quote": f"/revisions/{keys[f'{kind} quote']}/" for kind in ("upgrade", "fault")}
    papers = {f"papers of the {kind}": f"/jobs/{keys[kind]}/papers/" for kind in ("upgrade", "fault")}
    return {
        **jobs,
        **quotes,
        **papers,
        "build of a fault": f"/jobs/{keys['fault']}/build/",
        "vehicle with a joint": f"/vehicles/{keys['towing vehicle']}/",
        "trailer": f"/vehicles/{keys['trailer']}/",
        "a swap by hand": f"/proposals/{keys['swapped proposal']}/",
        "offers within a budget": f"/jobs/{keys['towing']}/offers/",
        "offers not asked for": f"/jobs/{keys['built']}/offers/",
        "offers of a fault": f"/jobs/{keys['fault']}/offers/",
        "refused": "/first-run/",
        "which table": "/catalogue/lists/component.csv",
        "found": "/find/?q=halvard",
        "long list": "/catalogue/?sort=-cost&page=2",
        "nothing found": "/vehicles/?search=nosuchvehicle",
        "an estimate": "/catalogue/sites/estimate/?latitude_deg=-12.4&longitude_deg=130.9&elevation_m=30",
    }


@pytest.fixture(scope="module")
def addresses(demo) -> dict[str, str]:
    keys = demo.shop.python(KEYS)
    pages = [a for a in TABLE.values() if a.kind in ("page", "part") and a.get[3] == 200 and a.name not in FRAGMENTS]
    found = {a.name: a.url(keys | {row: keys[to] for row, to in ELSEWHERE.get(a.name, {}).items()}) for a in pages}
    return found | more(keys)


LOOKS = [(DESK, "light"), (BETWEEN, "light"), (PHONE, "dark")]
NO_CONTRAST = {"rules": {"color-contrast": {"enabled": False}}}
"""Most of what axe takes. It is asked once for each set of colours: those do not change with the width."""


def test_every_page(demo, sit_down, addresses):
    manager = sit_down("odile")
    faults = {name: _faults(manager, name, path) for name, path in addresses.items()}

    wrong = {name: words for name, words in faults.items() if words}
    assert wrong == {}, json.dumps(wrong, indent=1)
    assert len(faults) > 100


def _faults(manager: Person, name: str, path: str) -> list[str]:
    """Of one page, opened once and looked at in three sizes."""
    page, seen = manager.page, set()
    _show(page, *LOOKS[0])
    answer = manager.go(path)
    faults = [f"answers {answer}"] if answer != (404 if name == "refused" else 200) else []
    page.evaluate(Axe().axe_script)
    for size, scheme in LOOKS:
        _show(page, size, scheme)
        look = f"{size['width']} {scheme}"
        faults += [f"{look}: {wide}" for wide in page.evaluate(OVERFLOWING)]
        options = {"resultTypes": ["violations"]} | (NO_CONTRAST if scheme in seen else {})
        found = page.evaluate("options => axe.run(options).then(results => results.violations)", options)
        faults += [f"{look}: {_words(violation)}" for violation in found]
        seen.add(scheme)
        if "E2E_SHOTS" in os.environ:  # pages are long, and so is taking them
            manager.shoot(f"{name.replace(':', '-').replace(' ', '-')}-{size['width']}-{scheme}")
    faults += [said for said in manager.complaints if name != "refused" or "404" not in said]
    manager.complaints.clear()
    return faults


def _show(page: Page, size: dict[str, int], scheme: str) -> None:
    page.set_viewport_size(size)
    page.emulate_media(color_scheme=scheme)


def _words(violation: dict) -> str:
    where = "; ".join(str(node["target"][0]) for node in violation["nodes"][:4])
    return f"{violation['id']} ({violation['help']}): {where}"
