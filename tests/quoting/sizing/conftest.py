"""Drawn examples take as long as a shared machine takes."""

from hypothesis import settings

settings.register_profile("sizing", deadline=None)
settings.load_profile("sizing")
