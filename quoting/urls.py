"""Pages of quoting."""

from __future__ import annotations

from quoting.views.audit import audit_urls
from quoting.views.bench import bench_urls
from quoting.views.design import design_urls
from quoting.views.jobs import job_urls
from quoting.views.papers import paper_urls
from quoting.views.proof import proof_urls
from quoting.views.quotes import quote_urls
from quoting.views.trip import trip_urls

urlpatterns = [*bench_urls, *job_urls, *audit_urls, *trip_urls, *design_urls, *quote_urls, *paper_urls, *proof_urls]
