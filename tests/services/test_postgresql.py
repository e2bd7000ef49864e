"""The rules that live in the database hold on PostgreSQL as on SQLite: the same tests, run there."""

from __future__ import annotations

import os
import re
import subprocess
import sys

import pytest

from tests import needs
from tests.services.running import ROOT

pytestmark = pytest.mark.service
SAME_TESTS = (
    "tests/quoting/test_snapshots.py",
    "tests/quoting/test_background.py",
    "tests/quoting/test_documents.py",
    "tests/quoting/test_selections_at_once.py",
    "tests/quoting/test_sheets.py",
    "tests/fitouts/test_checks.py",
    "tests/catalog/test_finding.py",
    "tests/catalog/test_bulk.py",
)


def test_frozen_records_background_work_and_papers_on_postgresql():
    environment = {
        **os.environ,
        "DATABASE_URL": needs.database_url(),
        "DJANGO_SETTINGS_MODULE": "fitouts.config.settings_test",
    }
    command = [sys.executable, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--create-db", "-rA", *SAME_TESTS]

    ran = subprocess.run(command, cwd=ROOT, env=environment, capture_output=True, text=True, timeout=300)

    assert ran.returncode == 0, ran.stdout[-6000:] + ran.stderr
    assert "PASSED tests/quoting/test_snapshots.py::test_truncate_is_refused" in ran.stdout  # it was PostgreSQL
    assert int(re.search(r"(\d+) passed", ran.stdout)[1]) > 50
