"""Tables of words for the codes of the pure code, a file per topic; ``quoting.words`` reads them."""
