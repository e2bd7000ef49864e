"""What tests change: eager queue, fast hasher, files in a temporary folder."""

from __future__ import annotations

import os
import tempfile

_HOME = tempfile.mkdtemp(prefix="loomwright-test-")
os.environ["LOOMWRIGHT_HOME"] = _HOME
os.environ.setdefault("SECRET_KEY", "only-for-tests-and-never-served")

from fitouts.config.settings import *  # noqa: E402, F403
from fitouts.config.settings import DATABASES, STORAGES  # noqa: E402

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
CELERY_TASK_ALWAYS_EAGER = True
CELERY_TASK_EAGER_PROPAGATES = False
AXES_ENABLED = False
STORAGES = {**STORAGES, "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"}}
WHITENOISE_AUTOREFRESH = True
LOGGING_CONFIG = None
DATABASES["default"]["CONN_MAX_AGE"] = 0
if "OPTIONS" in DATABASES["default"]:
    DATABASES["default"]["OPTIONS"]["init_command"] = "PRAGMA foreign_keys=ON;"  # type: ignore[index]
