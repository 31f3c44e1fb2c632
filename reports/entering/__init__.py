"""Entering a field test: the form, the pages round it, and what a device keeps of them."""
