"""Road maps: read once from an extract of open street data, then asked for travel minutes."""
