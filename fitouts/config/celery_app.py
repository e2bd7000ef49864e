"""The Celery app: two queues, small messages, the row in the database is the truth."""

from __future__ import annotations

import os

from celery import Celery
from kombu.transport import TRANSPORT_ALIASES

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "fitouts.config.settings")
TRANSPORT_ALIASES["looms-files"] = "fitouts.config.file_queue:Transport"

app = Celery("loomwright")
app.config_from_object("django.conf:settings", namespace="CELERY")
app.autodiscover_tasks()
