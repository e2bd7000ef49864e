"""Pages of quoting."""

from __future__ import annotations

from quoting.views.archives import archive_urls
from quoting.views.assemblies import assembly_urls
from quoting.views.audit import audit_urls
from quoting.views.bench import bench_urls
from quoting.views.bill import bill_urls
from quoting.views.circuits import circuit_urls
from quoting.views.design import design_urls
from quoting.views.diagram import diagram_urls
from quoting.views.erasure import erasure_urls
from quoting.views.figure import figure_urls
from quoting.views.fleets import fleet_urls
from quoting.views.found import found_urls
from quoting.views.job_changes import job_change_urls
from quoting.views.jobs import job_urls
from quoting.views.names import name_urls
from quoting.views.offers import offer_urls
from quoting.views.outlook import outlook_urls
from quoting.views.outputs import output_urls
from quoting.views.packages import package_urls
from quoting.views.papers import paper_urls
from quoting.views.places import place_urls
from quoting.views.plan import plan_urls
from quoting.views.policy import policy_urls
from quoting.views.proof import proof_urls
from quoting.views.quotes import quote_urls
from quoting.views.sheets import sheet_urls
from quoting.views.steering import steering_urls
from quoting.views.tables import table_urls
from quoting.views.trip import trip_urls
from quoting.views.what_if import what_if_urls

urlpatterns = [
    *archive_urls,
    *erasure_urls,
    *policy_urls,
    *place_urls,
    *bench_urls,
    *job_urls,
    *job_change_urls,
    *name_urls,
    *found_urls,
    *assembly_urls,
    *audit_urls,
    *trip_urls,
    *steering_urls,
    *design_urls,
    *diagram_urls,
    *circuit_urls,
    *bill_urls,
    *output_urls,
    *plan_urls,
    *outlook_urls,
    *offer_urls,
    *what_if_urls,
    *figure_urls,
    *quote_urls,
    *sheet_urls,
    *table_urls,
    *fleet_urls,
    *package_urls,
    *paper_urls,
    *proof_urls,
]
