"""Reports on paper: what a scan is, its pages as pictures, and what two people read from it."""
