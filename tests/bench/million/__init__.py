"""A registry of a million assemblies, and what its days, rule changes and boards cost."""
