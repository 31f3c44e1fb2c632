"""Forms of the pages of letters."""
