"""A second, plain reading of the replay rules, to hold the real one against."""
