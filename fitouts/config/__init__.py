"""The Django project. Re-exports the Celery app so that ``celery -A fitouts.config`` finds it."""

from fitouts.config.celery_app import app as celery_app

__all__ = ["celery_app"]
