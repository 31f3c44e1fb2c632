"""The tests mirror the code; names are sentences."""
