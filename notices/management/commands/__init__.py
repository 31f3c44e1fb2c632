"""One file per command: it parses, calls one action, prints a tally."""
