"""Choosing the components of a system by an integer programme, and proving what was chosen. Pure."""
