"""The day-by-day oracle for every kind of rule, its generator and its histories by hand."""
