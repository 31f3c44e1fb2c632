"""A registry comes in from a spreadsheet, and goes out as one."""
