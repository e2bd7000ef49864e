"""Settings of a workshop's own server. Everything it owns lives under one private folder.

Environment: see ``.env.example``. Bare defaults run on this computer alone, with SQLite and a queue in files.
"""

from __future__ import annotations

from pathlib import Path
from urllib.parse import unquote, urlsplit

import fontpkg_inter
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured
from django.core.management.utils import get_random_secret_key
from django.utils.translation import gettext_lazy as _
from kombu.entity import Queue

from fitouts.config import env

BASE_DIR = Path(__file__).resolve().parent.parent.parent
HOME = env.folder("LOOMWRIGHT_HOME", BASE_DIR / ".loomwright")
"""Database, queue, documents, photos, secret key."""

# --- Safety -----------------------------------------------------------------------------------------

DEBUG = env.flag("DEBUG")


def _secret_key() -> str:
    given = env.text("SECRET_KEY")
    if given:
        return given
    return env.kept_secret(HOME / "secret_key", get_random_secret_key)


SECRET_KEY = _secret_key()
PUBLIC_URL = env.text("PUBLIC_URL").rstrip("/")
"""Address that customers can reach. Unset: no link and no code is ever printed on a paper."""
ALLOWED_HOSTS = env.names("ALLOWED_HOSTS", ("127.0.0.1", "localhost", "[::1]"))
if PUBLIC_URL:
    ALLOWED_HOSTS.append(urlsplit(PUBLIC_URL).hostname or "")
CSRF_TRUSTED_ORIGINS = [PUBLIC_URL] if PUBLIC_URL else []
SECURE_HTTPS = PUBLIC_URL.startswith("https://")
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = SECURE_HTTPS
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if SECURE_HTTPS else None
SECURE_HSTS_SECONDS = 31536000 if SECURE_HTTPS else 0
SECURE_SSL_REDIRECT = SECURE_HTTPS
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 12 * 3600
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
DATA_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024
DATA_UPLOAD_MAX_NUMBER_FIELDS = 2000
DATA_UPLOAD_MAX_NUMBER_FILES = 10
FILE_UPLOAD_HANDLERS = [
    "fitouts.uploads.SizeLimit",
    "fitouts.uploads.StraightToFolder",
    "django.core.files.uploadhandler.MemoryFileUploadHandler",
    "django.core.files.uploadhandler.TemporaryFileUploadHandler",
]
FILE_UPLOAD_PERMISSIONS = 0o600
FILE_UPLOAD_DIRECTORY_PERMISSIONS = 0o700

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [NONE],
        "script-src": [SELF],
        "style-src": [SELF],
        "img-src": [SELF, "data:"],
        "font-src": [SELF],
        "connect-src": [SELF],
        "form-action": [SELF],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "manifest-src": [SELF],
    },
}

# --- Apps -------------------------------------------------------------------------------------------

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "django.forms",
    "django_tables2",
    "django_filters",
    "django_htmx",
    "simple_history",
    "axes",
    "csp",
    "catalog",
    "fitouts",
    "quoting",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.locale.LocaleMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "simple_history.middleware.HistoryRequestMiddleware",
    "fitouts.middleware.WorkshopMiddleware",
    "catalog.recent.RecentItemsMiddleware",
    "axes.middleware.AxesMiddleware",
]

ROOT_URLCONF = "fitouts.config.urls"
WSGI_APPLICATION = "fitouts.config.wsgi.application"
FORM_RENDERER = "fitouts.renderer.PageRenderer"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "fitouts.context.workshop",
            ],
            "builtins": ["django.templatetags.i18n", "catalog.templatetags.quantities"],
        },
    }
]

DJANGO_TABLES2_TEMPLATE = "components/table.html"
DJANGO_TABLES2_TABLE_ATTRS = {"class": "ledger"}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- Database ---------------------------------------------------------------------------------------


def _database(url: str) -> dict[str, object]:
    if not url:
        return {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": HOME / "workshop.sqlite3",
            "CONN_MAX_AGE": 60,
            "OPTIONS": {
                "timeout": 20,
                "transaction_mode": "IMMEDIATE",
                "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA foreign_keys=ON;",
            },
        }
    parts = urlsplit(url)
    if parts.scheme not in {"postgres", "postgresql"}:
        raise ImproperlyConfigured(f"DATABASE_URL starts with {parts.scheme!r}; only postgresql:// is known.")
    return {
        "ENGINE": "django.db.backends.postgresql",
        "NAME": parts.path.lstrip("/"),
        "USER": unquote(parts.username or ""),
        "PASSWORD": unquote(parts.password or ""),
        "HOST": unquote(parts.hostname or ""),
        "PORT": str(parts.port or ""),
        "CONN_MAX_AGE": 60,
        "CONN_HEALTH_CHECKS": True,
    }


DATABASES = {"default": _database(env.text("DATABASE_URL"))}

# --- People -----------------------------------------------------------------------------------------

AUTH_USER_MODEL = "fitouts.User"
AUTHENTICATION_BACKENDS = [
    "axes.backends.AxesStandaloneBackend",
    "django.contrib.auth.backends.ModelBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "sign_in"
LOGIN_REDIRECT_URL = "bench"
LOGOUT_REDIRECT_URL = "sign_in"
AXES_FAILURE_LIMIT = 8
AXES_COOLOFF_TIME = 0.25
AXES_LOCKOUT_PARAMETERS = [["username", "ip_address"]]
AXES_CLIENT_IP_CALLABLE = "fitouts.proxies.client_address"
AXES_RESET_ON_SUCCESS = True
AXES_LOCKOUT_TEMPLATE = "fitouts/locked_out.html"
AXES_VERBOSE = False

# --- Words, time, numbers ---------------------------------------------------------------------------

LANGUAGE_CODE = "en"
LANGUAGES = [("en", _("English"))]
LOCALE_PATHS = [BASE_DIR / "fitouts" / "locale"]
TIME_ZONE = "UTC"
USE_TZ = True
USE_I18N = True

# --- Files ------------------------------------------------------------------------------------------

STATIC_URL = "static/"
STATIC_ROOT = HOME / "static"
STATICFILES_DIRS = [("fonts", Path(fontpkg_inter.__file__).parent / "files")]
"""The typeface of drawings comes with its package; pages use the system's own."""
STORAGES = {
    "default": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": HOME / "files", "base_url": None},
    },
    "staticfiles": {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"},
}
MEDIA_ROOT = HOME / "files"

# --- Background work --------------------------------------------------------------------------------

REDIS_URL = env.text("REDIS_URL")
CELERY_BROKER_URL = REDIS_URL or "looms-files://localhost/"
"""``looms-files`` is the queue in files with atomic writes, in ``fitouts.config.file_queue``."""
if REDIS_URL:
    CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, object] = {
        "visibility_timeout": env.whole("REDIS_VISIBILITY_TIMEOUT_S", 600, minimum=5, maximum=86400),
        "unacked_restore_interval": 2,
        "unacked_restore_throttle": 1,
    }
else:
    CELERY_BROKER_TRANSPORT_OPTIONS = {"queue_folder": str(HOME / "queue"), "polling_interval": 0.1}
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_ACKS_LATE = True
CELERY_TASK_REJECT_ON_WORKER_LOST = True
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_TASK_DEFAULT_QUEUE = "documents"
CELERY_TASK_QUEUES = [Queue("documents"), Queue("heavy")]  # type: ignore[no-untyped-call]
CELERY_TASK_CREATE_MISSING_QUEUES = False
CELERY_WORKER_ENABLE_REMOTE_CONTROL = False
CELERY_WORKER_SEND_TASK_EVENTS = False
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_WORKER_CANCEL_LONG_RUNNING_TASKS_ON_CONNECTION_LOSS = True
CELERY_TIMEZONE = "UTC"
JOB_LEASE_S = env.whole("JOB_LEASE_S", 120, minimum=5, maximum=3600)
"""How long a worker may hold a job before the sweeper takes it away."""
JOB_ATTEMPTS = 3

# --- Logs -------------------------------------------------------------------------------------------

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "formatters": {"line": {"format": "%(asctime)s %(levelname)s %(name)s %(message)s"}},
    "handlers": {"console": {"class": "logging.StreamHandler", "formatter": "line"}},
    "root": {"handlers": ["console"], "level": env.text("LOG_LEVEL", "WARNING")},
    "loggers": {"loomwright": {"level": "INFO"}, "django.server": {"level": "ERROR"}},
}
