"""Forms of a purveyor's own: read, mapped to our fields, filled and bundled."""
