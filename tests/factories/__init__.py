"""Boring makers of rows."""
