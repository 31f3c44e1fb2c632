"""A program's due work becomes testers' rounds, kept as rows."""
