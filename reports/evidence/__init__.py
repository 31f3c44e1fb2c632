"""Evidence files: one PDF that tells a case and carries every letter as it was sent."""
