"""Two parties or two assemblies that are one: found, merged field by field, undone for a month."""
