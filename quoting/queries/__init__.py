"""Which rows, with what beside them."""
