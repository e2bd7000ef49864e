"""Papers: frozen snapshot in, PDF out. ``render.render`` is the way in; nothing here reads a database."""
